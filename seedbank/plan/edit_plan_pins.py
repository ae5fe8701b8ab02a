"""Choices pinned for the plan, and a seed crop begun as the plan kept last has it."""

from collections.abc import Collection, Sequence
from datetime import date, datetime

import numpy as np
from sqlmodel import Session

from seedbank.common.errors import Conflict, NotThere, Refused
from seedbank.database.find import named_in
from seedbank.database.queries import Page, Paging
from seedbank.database.transaction import claim_version, put_changes, transaction
from seedbank.kinds.tables import find_variety, get_variety
from seedbank.plan.answers import PlanPinAnswer
from seedbank.plan.forms import PlanPinChange, PlanPinCreate
from seedbank.plan.last_plan import LastPlanCrop, last_plan_crops, unbegun
from seedbank.plan.stock import PURPOSES
from seedbank.plan.tables import (
    PlanPin,
    PlanPinFilter,
    find_plan_pin,
    find_plan_pins,
    latest_plan_run,
)
from seedbank.saving.answers import SeedCropAnswer
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.saving.edit_sites import site_briefs, site_named
from seedbank.saving.forms import PlannedCropStart, SeedCropCreate
from seedbank.saving.grow_seed_crops import start_seed_crop
from seedbank.verdicts.judge_lots import Judgement, judge_collection
from seedbank.viability.tables.stock_columns import KEEPERS


def list_plan_pins(session: Session, wanted: PlanPinFilter, paging: Paging) -> Page[PlanPinAnswer]:
    """Pins by year. Raises BadValue: the cursor."""
    page = find_plan_pins(session, wanted, paging)
    return Page(_answers(session, page.items), page.next)


def show_plan_pin(session: Session, number: int) -> PlanPinAnswer:
    """One pin. Raises NotThere."""
    return _answers(session, [find_plan_pin(session, number)])[0]


def add_plan_pin(session: Session, form: PlanPinCreate) -> PlanPinAnswer:
    """Pin a choice. Raises Refused: no such variety or site."""
    with transaction(session):
        with named_in("variety_id"):
            get_variety(session, form.variety_id)
        if form.site_id is not None:
            site_named(session, form.site_id)
        pin = PlanPin(**form.model_dump())
        session.add(pin)
        session.flush()
        return _answers(session, [pin])[0]


def change_plan_pin(
    session: Session, number: int, form: PlanPinChange, *, expected: Collection[int] | None
) -> PlanPinAnswer:
    """Change what the form names. Raises NotThere, StaleVersion, Refused: no such site."""
    with transaction(session):
        pin = find_plan_pin(session, number)
        claim_version(session, pin, what="pin", expected=expected)
        if form.site_id is not None:
            site_named(session, form.site_id)
        put_changes(pin, form)
        session.add(pin)
        session.flush()
        return _answers(session, [pin])[0]


def delete_plan_pin(session: Session, number: int, *, expected: Collection[int] | None) -> None:
    """Take out a pin: the plan is free again. Raises NotThere, StaleVersion."""
    with transaction(session):
        pin = find_plan_pin(session, number)
        claim_version(session, pin, what="pin", expected=expected)
        session.delete(pin)
        session.flush()


def _answers(session: Session, pins: Sequence[PlanPin]) -> list[PlanPinAnswer]:
    sites = site_briefs(session, {pin.site_id for pin in pins})
    varieties = variety_briefs(session, {pin.variety_id for pin in pins})
    return [
        PlanPinAnswer(
            **pin.model_dump(exclude={"variety_id", "site_id"}),
            variety=varieties[pin.variety_id],
            site=sites.get(pin.site_id),
        )
        for pin in pins
    ]


def start_planned_crop(
    session: Session, form: PlannedCropStart, *, today: date, now: datetime
) -> SeedCropAnswer:
    """Begin the record of a crop of the kept plan, from the lot that is the variety's best hope.

    Raises NotThere: no such variety, or the plan has no such crop. Conflict: one is on record for
    that year already. Refused: the plan was made without any site.
    """
    with transaction(session):
        variety = find_variety(session, form.variety_id)
        crop = _planned(session, form)
        if crop.site_id is None:
            raise Refused("plan-without-site", "site_id")
        if not unbegun(session, [crop]):
            raise Conflict(
                "seed-crop-on-record",
                "variety_id",
                form.variety_id,
                variety=variety.name,
                flowers_in=crop.flowers_in,
            )
        wanted = SeedCropCreate(
            variety_id=form.variety_id,
            lot=_best_lot(judge_collection(session, today=today), form.variety_id),
            site_id=crop.site_id,
            flower_year=crop.flowers_in,
            purpose=PURPOSES[KEEPERS.index(variety.other_keepers)],
            isolation=crop.isolation,
        )
        return start_seed_crop(session, wanted, today=today, now=now)


def _planned(session: Session, form: PlannedCropStart) -> LastPlanCrop:
    for crop in last_plan_crops(latest_plan_run(session)):
        if (crop.variety_id, crop.flowers_in) == (form.variety_id, form.flower_year):
            return crop
    raise NotThere("planned seed crop", form.variety_id, field="variety_id")


def _best_lot(judged: Judgement, variety_id: int) -> str | None:
    """Code of the lot likeliest to raise the seed parents; None: none holds seed."""
    lots, inputs = judged.forecast.collection, judged.verdicts.inputs
    at = np.flatnonzero((lots.variety_id == variety_id) & inputs.leads & (lots.balance > 0))
    return lots.code[int(at[0])] if at.size else None
