"""What this gardener's own sowings teach: the seedbed's shift, the pests, the usual thickness.

Learning takes tenths of a second, so what was learned is kept in memory for each database and used
again while nothing it rests on has changed. Where something has, the sowings are read again; if
they say what they said, so does the garden, and of those that say something else only their own
likelihoods are worked out.

This gardener's sowings whose outcome is known, as the science of the seedbed reads them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from sqlmodel import Session, col, select

from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import Changes, changes
from seedbank.database.find import row_id
from seedbank.database.lanes import JUDGEMENTS
from seedbank.database.transaction import let_go
from seedbank.facts.field_factors import published_shift_prior, temperature_curve_for
from seedbank.facts.kinds import KindFacts
from seedbank.lots.tables.ledger import Movement
from seedbank.science.sowing.emergence import BetaShare, WeightedNodes
from seedbank.science.sowing.field_shift_learning import FieldShiftModel, learn_shift
from seedbank.science.sowing.field_shift_prior import PROTECTIONS, SowingConditions
from seedbank.science.sowing.patches import Patches
from seedbank.science.sowing.seedling_losses import (
    EatenRecord,
    PestLoss,
    learn_pest_loss,
    patchiness_prior,
)
from seedbank.science.sowing.shift_observation import ShiftTable, SowingRecord, tabulate
from seedbank.science.sowing.soil_warmth import SoilWarmth, judge_soil
from seedbank.science.viability.posterior import fit_posterior
from seedbank.sowing.sowable_lots import Readiness, read_readiness
from seedbank.sowing.tables import SOWN, LossCause, Outcome, Sowing, outcomes
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
    counted it. ``ready`` is the share of its living seed that was awake.
    """

    sowing_id: int
    lot: str
    kind: str
    sown_on: date
    plants_wanted: int | None
    held: int | None
    record: SowingRecord
    eaten: EatenRecord
    ready: BetaShare

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
    # Planting stock says nothing about seed.
    pieces = set(known.collection.lot_id[known.planting_stock].tolist())
    done = [sowing for sowing in done if sowing.lot_id not in pieces]
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
    dose = known.storage.doses_at(lots, days)
    tests = known.observations.take(lots)
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
    awake = ready.on(sowing.lot_id, sowing.sown_on).share
    record = SowingRecord(
        conditions,
        sowing.seeds_sown,
        emerged,
        viability,
        eaten=lost[LossCause.EATEN],
        frosted=lost[LossCause.FROST],
        dried_out=lost[LossCause.DRIED_OUT],
        ready=awake.mean,
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
        awake,
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


@dataclass(frozen=True, slots=True, eq=False)
class Garden:
    """The garden as its sowings show it.

    ``pests`` and ``patches`` go by protection. Patchiness is the published start for all: counts
    are kept by sowing, not by station. ``seeds_per_plant`` holds, by kind, the seeds sown for
    each plant wanted in earlier sowings, ``likelihoods`` what each sowing says of its shift.
    """

    shift_model: FieldShiftModel
    pests: Mapping[str, PestLoss]
    patches: Mapping[str, Patches]
    seeds_per_plant: Mapping[str, tuple[float, ...]]
    sowings: tuple[PastSowing, ...]
    likelihoods: tuple[ShiftTable, ...]


_GARDEN: CacheRegion[Garden] = CacheRegion(lane=JUDGEMENTS)


def garden_state(session: Session, today: date) -> Changes:
    """What ``learn_garden`` was asked in: the day, and the changes it rests on."""
    return (today, *changes(session, SOWN))


def learn_garden(session: Session, *, today: date) -> Garden:
    """What the sowings teach, learned anew only when something they rest on has changed."""

    def learn() -> Garden:
        sowings = read_past_sowings(session, today=today)
        last = _GARDEN.last(session)
        known = {} if last is None else _by_fingerprint(last)
        told = [one.fingerprint for one in sowings]
        if last is not None and told == list(known):
            return last
        let_go(session)
        each = zip(told, sowings, strict=True)
        return learn_from(sowings, [known.get(so) or tabulate(one.record) for so, one in each])

    return _GARDEN.get(session, garden_state(session, today), learn)


def learn_from(
    sowings: Sequence[PastSowing], likelihoods: Sequence[ShiftTable] | None = None
) -> Garden:
    """What these sowings teach; ``likelihoods`` are what each says, where known already."""
    if likelihoods is None:
        likelihoods = [tabulate(sowing.record) for sowing in sowings]
    eaten = [sowing.eaten for sowing in sowings]
    rates: dict[str, list[float]] = {}
    for sowing in sowings:
        if sowing.plants_wanted:
            rate = sowing.record.sown / sowing.plants_wanted
            rates.setdefault(sowing.kind, []).append(rate)
    records = [sowing.record for sowing in sowings]
    return Garden(
        shift_model=learn_shift(published_shift_prior(), records, likelihoods),
        pests={protection: learn_pest_loss(protection, eaten) for protection in PROTECTIONS},
        patches={protection: patchiness_prior(protection) for protection in PROTECTIONS},
        seeds_per_plant={kind: tuple(each) for kind, each in rates.items()},
        sowings=tuple(sowings),
        likelihoods=tuple(likelihoods),
    )


def _by_fingerprint(garden: Garden) -> dict[bytes, ShiftTable]:
    each = (one.fingerprint for one in garden.sowings)
    return dict(zip(each, garden.likelihoods, strict=True))
