"""Choices pinned for the plan, changed and taken out again."""

from collections.abc import Collection, Sequence

from sqlmodel import Session

from seedbank.database.editing import claim_version, put_changes
from seedbank.database.find import named_in
from seedbank.database.queries import Cursor, Page
from seedbank.database.transaction import transaction
from seedbank.kinds.tables.varieties import get_variety
from seedbank.plan.forms.plan_pins import PlanPinChange, PlanPinCreate
from seedbank.plan.tables.plan_pins import PlanPin, PlanPinFilter, find_plan_pin, find_plan_pins
from seedbank.saving.answers.flowerings import PlanPinAnswer
from seedbank.saving.edit_flowerings import variety_briefs
from seedbank.saving.edit_sites import site_briefs, site_named


def list_plan_pins(
    session: Session, wanted: PlanPinFilter, *, after: Cursor | None, limit: int
) -> Page[PlanPinAnswer]:
    """Pins by year. Raises BadValue: the cursor."""
    page = find_plan_pins(session, wanted, after=after, limit=limit)
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
