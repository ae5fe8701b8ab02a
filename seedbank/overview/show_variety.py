"""One variety with everything that hangs on it: lots, line, plan, seed crops, what crosses."""

from datetime import date

from sqlmodel import Session

from seedbank.climate.kind_season import SeasonAsked
from seedbank.common.answers import FindingAnswer
from seedbank.database.queries import Paging
from seedbank.kinds.edit_varieties import show_variety
from seedbank.overview.answers import VarietyAtHandAnswer
from seedbank.plan.answers import LastPlanCropAnswer, PlanNowAnswer
from seedbank.plan.show_plan import show_pins, show_plan_now
from seedbank.plan.stock import PURPOSES
from seedbank.saving.check_crossing import show_alongside
from seedbank.saving.climate_of_sites import variety_season_at
from seedbank.saving.show_lines import show_drift
from seedbank.saving.show_seed_crops import list_seed_crops, next_steps
from seedbank.saving.tables import SeedCropFilter
from seedbank.season.answers import CropOfSeason
from seedbank.season.to_do import why_running_out
from seedbank.verdicts.answers import VerdictAnswer
from seedbank.verdicts.judge_lots import judge_collection
from seedbank.verdicts.list_verdicts import VerdictFilter, list_verdicts
from seedbank.verdicts.spare_seed import seed_to_keep_of_variety
from seedbank.viability.tables.stock_columns import KEEPERS

_MOST = 200


def show_variety_at_hand(session: Session, number: int, *, today: date) -> VarietyAtHandAnswer:
    """All of a variety. Raises NotThere."""
    variety = show_variety(session, number)
    wanted = VerdictFilter(variety=number)
    lots = list_verdicts(session, wanted, Paging(_MOST), today=today).items
    lots = sorted(lots, key=_hope)
    plan = show_plan_now(session, today=today)
    short = why_running_out(session, number, judge_collection(session, today=today))
    return VarietyAtHandAnswer(
        variety=variety,
        purpose=PURPOSES[KEEPERS.index(variety.other_keepers)],
        held=sum(one.balance_seeds or 0 for one in lots),
        lots_not_counted=sum(one.balance_seeds is None for one in lots),
        to_keep=seed_to_keep_of_variety(session, number, today=today),
        running_out=None if short is None else FindingAnswer.of(short),
        lots=lots,
        drift=show_drift(session, lots[0].lot) if lots else None,
        planned=_planned(plan, number),
        pins=[one for one in show_pins(session, today=today) if one.variety.id == number],
        crops=_crops(session, number, today),
        alongside=show_alongside(session, number),
        season=variety_season_at(session, number, SeasonAsked(today)),
    )


def _hope(one: VerdictAnswer) -> tuple[bool, float, int]:
    seeds = one.balance_seeds
    return seeds == 0, -one.probability_parents_now, -(seeds or 0)


def _planned(plan: PlanNowAnswer | None, number: int) -> list[LastPlanCropAnswer]:
    return [] if plan is None else [one for one in plan.plan.crops if one.variety.id == number]


def _crops(session: Session, number: int, today: date) -> list[CropOfSeason]:
    page = list_seed_crops(session, SeedCropFilter(variety=number), Paging(_MOST))
    crops = page.items[::-1]
    steps = next_steps(session, crops, today)
    return [CropOfSeason(crop=one, next=step) for one, step in zip(crops, steps, strict=True)]
