"""This gardener's sowings whose outcome is known, as the science of the seedbed reads them."""

from dataclasses import dataclass, field
from datetime import date

from sqlmodel import Session, col, select

from seedbank.database.find import row_id
from seedbank.emergence.tables import LossCause, Outcome, Sowing, outcomes
from seedbank.facts.field_factors import temperature_curve_for
from seedbank.facts.kinds import KindFacts
from seedbank.science.sowing.emergence import BetaShare
from seedbank.science.sowing.field_shift_prior import SowingConditions
from seedbank.science.sowing.seedling_losses import EatenRecord, patchiness_prior
from seedbank.science.sowing.soil_warmth import SoilWarmth, judge_soil
from seedbank.science.sowing.sowing_evidence import SowingRecord
from seedbank.viability.lot_records import LotRecords
from seedbank.viability.readiness import Readiness, read_readiness

# A sowing nobody finished counts as done when it was last looked at this long after. Our choice.
SETTLED_DAYS = 42
_SEASONS = ("winter", "spring", "summer", "autumn")


@dataclass(frozen=True, slots=True)
class PastSowing:
    """A sowing whose outcome is known: what it says of seed and seedbed, and of the pests.

    ``ready`` is the share of its living seed that was awake; ``movement_id`` that of the movement
    that took its seed, if one did.
    """

    sowing_id: int
    lot_id: int
    lot: str
    facts: KindFacts = field(compare=False)
    sown_on: date
    plants_wanted: int | None
    movement_id: int | None
    record: SowingRecord
    eaten: EatenRecord
    ready: BetaShare


def read_past_sowings(session: Session, records: LotRecords) -> tuple[PastSowing, ...]:
    """Every sowing of seed finished, or last counted ``SETTLED_DAYS`` or more after it, earliest
    first. Planting stock says nothing about seed.
    """
    lots = records.collection
    position = {
        number: at
        for at, number in enumerate(lots.lot_id.tolist())
        if not records.planting_stock[at]
    }
    sowings = session.exec(select(Sowing).order_by(col(Sowing.sown_on), col(Sowing.id))).all()
    sowings = [sowing for sowing in sowings if sowing.lot_id in position]
    became = outcomes(session, [row_id(sowing.id) for sowing in sowings])
    done = [sowing for sowing in sowings if _is_known(sowing, became[row_id(sowing.id)])]
    if not done:
        return ()
    ready = read_readiness(session, {sowing.lot_id for sowing in done})
    return tuple(
        _past(sowing, became[row_id(sowing.id)], records, position[sowing.lot_id], ready)
        for sowing in done
    )


def sowing_conditions(
    facts: KindFacts, method: str, protection: str, day: date, soil_temp_c: float | None
) -> tuple[SowingConditions, SoilWarmth]:
    """What is known of a sowing beforehand, and whether its soil is warm enough."""
    curve = temperature_curve_for(facts).curve
    soil = judge_soil(curve, soil_temp_c)
    known = curve is not None and soil_temp_c is not None
    year, season = season_of(day)
    shift = soil.shift if known else None
    return SowingConditions(facts.slug, method, protection, year, season, shift), soil


def season_of(day: date) -> tuple[int, str]:
    """Year and quarter; December belongs to the winter it begins."""
    return day.year + (day.month == 12), _SEASONS[day.month % 12 // 3]


def _is_known(sowing: Sowing, outcome: Outcome) -> bool:
    if not outcome.emergences:
        return False
    last = outcome.emergences[-1].on_date
    return sowing.finished_on is not None or (last - sowing.sown_on).days >= SETTLED_DAYS


def _past(
    sowing: Sowing, outcome: Outcome, records: LotRecords, at: int, ready: Readiness
) -> PastSowing:
    facts = records.facts_of(at)
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
        eaten=lost[LossCause.EATEN],
        frosted=lost[LossCause.FROST],
        dried_out=lost[LossCause.DRIED_OUT],
        ready=awake.mean,
        patches=patchiness_prior(sowing.protection),
    )
    return PastSowing(
        row_id(sowing.id),
        sowing.lot_id,
        records.collection.code[at],
        facts,
        sowing.sown_on,
        sowing.plants_wanted,
        sowing.movement_id,
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
