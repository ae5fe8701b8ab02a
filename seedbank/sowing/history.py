"""This gardener's sowings whose outcome is known, as the science of the seedbed reads them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from sqlmodel import Session, col, select

from seedbank.database.find import row_id
from seedbank.facts.field_factors import temperature_curve_for
from seedbank.facts.kind_facts import KindFacts
from seedbank.lots.tables.ledger import Movement
from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.field_shift_prior import SowingConditions
from seedbank.science.sowing.seedling_losses import EatenRecord, patchiness_prior
from seedbank.science.sowing.shift_observation import SowingRecord
from seedbank.science.sowing.soil_warmth import SoilWarmth, judge_soil
from seedbank.science.viability.posterior import fit_posterior
from seedbank.sowing.readiness import Readiness, read_readiness
from seedbank.sowing.tables.emergence import Outcome, outcomes
from seedbank.sowing.tables.sowings import LossCause, Sowing
from seedbank.viability.forecast_viability import Forecast, forecast
from seedbank.viability.tables.stock_columns import day_number

# A sowing nobody finished counts as done when it was last looked at this long after. Our choice.
SETTLED_DAYS = 42
_NO_NODES = WeightedNodes(np.zeros(0), np.zeros(0))
_SEASONS = ("winter", "spring", "summer", "autumn")


@dataclass(frozen=True, slots=True)
class PastSowing:
    """A sowing whose outcome is known: what it says of the seedbed and of the pests.

    ``held`` is what the lot held before it, None where no movement took its seed or nobody had
    counted it.
    """

    sowing_id: int
    lot: str
    kind: str
    sown_on: date
    plants_wanted: int | None
    held: int | None
    record: SowingRecord
    eaten: EatenRecord

    @property
    def fingerprint(self) -> bytes:
        """The same for two sowings only if everything here is the same."""
        viable = self.record.viability
        told = replace(self.record, viability=_NO_NODES)
        rest = repr(replace(self, record=told)).encode()
        return b"|".join((rest, viable.value.tobytes(), viable.weight.tobytes()))


def read_past_sowings(session: Session, *, today: date) -> tuple[PastSowing, ...]:
    """Every sowing finished, or last counted ``SETTLED_DAYS`` or more after it, earliest first.

    The viability of each lot on its sowing day comes from all tests there are by now, later ones
    included: a lot tested in March says what was sown the May before.
    """
    sowings = session.exec(select(Sowing).order_by(col(Sowing.sown_on), col(Sowing.id))).all()
    became = outcomes(session, [row_id(sowing.id) for sowing in sowings])
    done = [sowing for sowing in sowings if _is_known(sowing, became[row_id(sowing.id)])]
    if not done:
        return ()
    lot_ids = sorted({sowing.lot_id for sowing in done})
    known = forecast(session, today=today, lot_ids=lot_ids)
    ready = read_readiness(session, lot_ids)
    alive = _viability_when_sown(known, done)
    held = _held_before(session, done)
    return tuple(
        _past(sowing, became[row_id(sowing.id)], known, ready, viability, held)
        for sowing, viability in zip(done, alive, strict=True)
    )


def sowing_conditions(
    facts: KindFacts, method: str, protection: str, day: date, soil_temp_c: float | None
) -> tuple[SowingConditions, SoilWarmth]:
    """What is known of a sowing beforehand, and whether its soil is warm enough."""
    curve = temperature_curve_for(facts).curve
    soil = judge_soil(curve, soil_temp_c)
    told = curve is not None and soil_temp_c is not None
    year, season = season_of(day)
    shift = soil.shift if told else None
    return SowingConditions(facts.slug, method, protection, year, season, shift), soil


def season_of(day: date) -> tuple[int, str]:
    """Year and quarter; December belongs to the winter it begins."""
    return day.year + (day.month == 12), _SEASONS[day.month % 12 // 3]


def _is_known(sowing: Sowing, outcome: Outcome) -> bool:
    if not outcome.emergences:
        return False
    last = outcome.emergences[-1].on_date
    return sowing.finished_on is not None or (last - sowing.sown_on).days >= SETTLED_DAYS


def _viability_when_sown(known: Forecast, sowings: Sequence[Sowing]) -> list[WeightedNodes]:
    """Each lot's viability on its sowing day: the lots fitted once a sowing, all in one go."""
    lots = np.searchsorted(known.collection.lot_id, [sowing.lot_id for sowing in sowings])
    days = np.array([day_number(sowing.sown_on) for sowing in sowings])
    dose = known.history.dose_at(lots, days)
    tests = known.observations.take(lots, known.observations.width)
    nodes = fit_posterior(known.priors.take(lots), tests, dose).nodes(dose)
    return [WeightedNodes(*each) for each in zip(nodes.probit, nodes.weight, strict=True)]


def _held_before(session: Session, sowings: Sequence[Sowing]) -> dict[int, int]:
    """What the lot held before each sowing, by the movement that took its seed."""
    ids = [sowing.movement_id for sowing in sowings if sowing.movement_id is not None]
    query = select(Movement.id, Movement.balance_seeds, Movement.seeds)
    rows = session.exec(query.where(col(Movement.id).in_(ids)))
    return {
        row_id(number): left - taken
        for number, left, taken in rows
        if left is not None and taken is not None
    }


def _past(
    sowing: Sowing,
    outcome: Outcome,
    known: Forecast,
    ready: Readiness,
    viability: WeightedNodes,
    held: Mapping[int, int],
) -> PastSowing:
    at = int(np.searchsorted(known.collection.lot_id, sowing.lot_id))
    facts = known.facts_of(at)
    conditions, _ = sowing_conditions(
        facts, sowing.method, sowing.protection, sowing.sown_on, sowing.soil_temp_c
    )
    lost = {cause: _lost(outcome, cause, after=False) for cause in LossCause}
    emerged = outcome.units_emerged or 0
    record = SowingRecord(
        conditions,
        sowing.seeds_sown,
        emerged,
        viability,
        eaten=lost[LossCause.EATEN],
        frosted=lost[LossCause.FROST],
        dried_out=lost[LossCause.DRIED_OUT],
        ready=ready.on(sowing.lot_id, sowing.sown_on).share.mean,
        patches=patchiness_prior(sowing.protection),
    )
    return PastSowing(
        row_id(sowing.id),
        known.collection.code[at],
        facts.slug,
        sowing.sown_on,
        sowing.plants_wanted,
        held.get(sowing.movement_id or 0),
        record,
        _eaten(sowing, outcome, emerged),
    )


def _eaten(sowing: Sowing, outcome: Outcome, emerged: int) -> EatenRecord:
    """Seed and seedlings eaten, as one share of what would else have come up.

    Eaten in the soil b of s, eaten once up a of e: a unit is left with chance (1 - b/s)(1 - a/e),
    which e s/(s - b) units with a + b e/(s - b) of them eaten have too.
    """
    sown = sowing.seeds_sown
    in_soil = _lost(outcome, LossCause.EATEN, after=False)
    once_up = min(_lost(outcome, LossCause.EATEN, after=True), emerged)
    if once_up == 0 or in_soil >= sown:
        return EatenRecord(sowing.protection, sown, in_soil)
    scale = sown / (sown - in_soil)
    exposed = max(round(emerged * scale), 1)
    eaten = round(once_up + in_soil * emerged / (sown - in_soil))
    return EatenRecord(sowing.protection, exposed, min(eaten, exposed))


def _lost(outcome: Outcome, cause: LossCause, *, after: bool) -> int:
    return sum(
        loss.units_lost
        for loss in outcome.losses
        if loss.cause is cause and loss.after_emergence is after
    )
