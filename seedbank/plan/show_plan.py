"""The plan kept last as it stands today, and what it said when it was made.

A plan is kept as its crops and as what it said: why it is so, and what would help. That is of
its own day and tells nothing any more once the year is over.
"""

from datetime import date

from sqlmodel import Session, col, select

from seedbank.common.answers import read_stored
from seedbank.common.catalogue import text_of
from seedbank.common.errors import NotThere
from seedbank.database.find import row_id
from seedbank.database.queries import Paging
from seedbank.lots.tables.lots import Isolation
from seedbank.plan.answers import (
    CropNowAnswer,
    LastPlanAnswer,
    LastPlanCropAnswer,
    PlannedNow,
    PlanNowAnswer,
    PlanPinAnswer,
    SavingPlanAnswer,
)
from seedbank.plan.edit_plan_pins import list_plan_pins
from seedbank.plan.ground import assumed_site
from seedbank.plan.last_plan import plan_standing
from seedbank.plan.tables import PlanPinFilter, PlanRun, plan_report
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.saving.edit_sites import site_briefs
from seedbank.saving.tables import SeedCrop
from seedbank.science.quantities import Finding


def show_saving_plan(session: Session, number: int) -> LastPlanAnswer:
    """The plan with this number, crops of varieties no longer there left out. Raises NotThere."""
    run = session.get(PlanRun, number)
    if run is None:
        raise NotThere("saving plan", number, field="id")
    planned = [(int(row["variety_id"]), crop) for row in run.choices for crop in row["crops"]]
    varieties = variety_briefs(session, {variety for variety, _ in planned})
    sites = site_briefs(session, {crop["site_id"] for _, crop in planned})
    crops = []
    for variety, crop in planned:
        if variety in varieties:
            site = sites.get(crop["site_id"])
            crops.append(
                LastPlanCropAnswer(
                    variety=varieties[variety],
                    sow_in=crop["year"],
                    flowers_in=crop["flowers_in"],
                    site=site.name
                    if site
                    else text_of(Finding("site-gone"))
                    if crop["site_id"]
                    else assumed_site(),
                    isolation=Isolation(crop["way"]),
                )
            )
    return LastPlanAnswer(
        id=row_id(run.id),
        made_at=run.created_at,
        first_year=run.first_year,
        horizon_years=run.horizon_years,
        crops=sorted(crops, key=lambda one: (one.sow_in, one.variety.id)),
    )


_MOST_PINS = 200


def show_plan_now(session: Session, *, today: date) -> PlanNowAnswer | None:
    """The plan kept last; None: none was made yet."""
    standing = plan_standing(session)
    if standing is None:
        return None
    plan = show_saving_plan(session, standing.id)
    then = _as_made(session, standing.id, today)
    why = {} if then is None else {_key(one): one for one in then.this_year}
    pins = {(one.variety.id, one.year): one for one in show_pins(session, today=today)}
    crops = [one for one in plan.crops if one.sow_in == today.year]
    begun = _begun(session, {one.flowers_in for one in crops})
    return PlanNowAnswer(
        plan=plan,
        standing=standing,
        told=then,
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
    page = list_plan_pins(session, PlanPinFilter(), Paging(_MOST_PINS))
    return [one for one in page.items if one.year >= today.year]


def _as_made(session: Session, number: int, today: date) -> SavingPlanAnswer | None:
    """What a plan said; None: it wasn't kept, is of an earlier year, or of another program's."""
    stored = plan_report(session, number)
    if stored is None:
        return None
    try:
        answer = read_stored(SavingPlanAnswer, stored)
    except (ValueError, TypeError):  # told otherwise by an older program
        return None
    return answer if answer.on.year == today.year else None


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
