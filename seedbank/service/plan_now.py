"""The plan kept last as it stands today, and what it said when it was made.

A plan is kept as its crops; why it is so, and what would help, is remembered in memory until the
next plan or until the service is started anew.
"""

from datetime import date, datetime

from sqlmodel import Session, col, select

from seedbank.service.answers.flowerings import PlanPinAnswer
from seedbank.service.answers.plan_now import PlannedNow, PlanNowAnswer
from seedbank.service.answers.saving_plan import CropNowAnswer, SavingPlanAnswer
from seedbank.service.edit_plan_pins import list_plan_pins
from seedbank.service.kept import Kept
from seedbank.service.kept_plan import note_plan_made, plan_standing
from seedbank.service.plan_saving import WorkedOut, keep_saving_plan
from seedbank.service.show_saving_plan import show_saving_plan
from seedbank.stock.plan_pins import PlanPinFilter
from seedbank.stock.seed_crops import SeedCrop

_MOST_PINS = 200
_TOLD: Kept[SavingPlanAnswer] = Kept()


def keep_plan_told(session: Session, worked: WorkedOut, *, now: datetime) -> SavingPlanAnswer:
    """Keep a plan, and remember what it said."""
    answer = keep_saving_plan(session, worked, now=now)
    if answer.id is not None:
        note_plan_made(session, answer.id)
    return _TOLD.get(session, lambda _: (answer.id,), lambda: answer)


def show_plan_now(session: Session, *, today: date) -> PlanNowAnswer | None:
    """The plan kept last; None: none was made yet."""
    standing = plan_standing(session)
    if standing is None:
        return None
    plan = show_saving_plan(session, standing.id)
    told = _TOLD.last(session)
    said = told[1] if told is not None and told[0] == (standing.id,) else None
    why = {} if said is None else {_key(one): one for one in said.this_year}
    pins = {(one.variety.id, one.year): one for one in show_pins(session, today=today)}
    crops = [one for one in plan.crops if one.sow_in == today.year]
    begun = _begun(session, {one.flowers_in for one in crops})
    return PlanNowAnswer(
        plan=plan,
        standing=standing,
        told=said,
        this_year=[
            PlannedNow(
                crop=one,
                seed_crop=begun.get((one.variety.id, one.flowers_in)),
                pin=pins.get((one.variety.id, one.flowers_in)),
                told=why.get((one.variety.id, one.flowers_in)),
            )
            for one in crops
        ],
    )


def show_pins(session: Session, *, today: date) -> list[PlanPinAnswer]:
    """Pins for this year and those after, by year."""
    page = list_plan_pins(session, PlanPinFilter(), after=None, limit=_MOST_PINS)
    return [one for one in page.items if one.year >= today.year]


def _key(one: CropNowAnswer) -> tuple[int, int]:
    return one.variety.id, one.flowers_in


def _begun(session: Session, years: set[int]) -> dict[tuple[int, int], int | None]:
    """Number of the seed crop on record for a variety and the year it flowers."""
    rows = session.exec(
        select(SeedCrop.variety_id, SeedCrop.flower_year, SeedCrop.id)
        .where(col(SeedCrop.flower_year).in_(years))
        .order_by(col(SeedCrop.id))
    )
    return {(variety, year): number for variety, year, number in rows}
