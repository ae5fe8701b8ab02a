"""Choices pinned for the plan."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.plan import edit_plan_pins as pins
from seedbank.plan.answers import PlanPinAnswer
from seedbank.plan.forms import PlanPinChange, PlanPinCreate
from seedbank.plan.tables import PlanPinFilter
from seedbank.web.api.deps import IdPath, OnceDep, SessionDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, sent, tells, tells_page

router = api_router(prefix="/plan-pins", tags=["plan-pins"])


@router.get("", responses=tells_page(PlanPinAnswer))
def browse(
    paged: PagedDep, wanted: Annotated[PlanPinFilter, Query()], session: SessionDep
) -> Response:
    """List pins by year."""
    return paged(lambda page: pins.list_plan_pins(session, wanted, page))


@router.post("", status_code=201, responses=tells(PlanPinAnswer, 201, problems=(400, 409, 422)))
def add(
    form: Annotated[PlanPinCreate, body(PlanPinCreate)], once: OnceDep, session: SessionDep
) -> Response:
    """Pin a seed crop the plan must have, or must not."""
    return once(lambda: created(pins.add_plan_pin(session, form), "/plan-pins/{0.id}"))


@router.get("/{id}", responses=tells(PlanPinAnswer, problems=(404, 422)))
def show(id: IdPath, session: SessionDep) -> Response:
    """Show one pin."""
    return sent(pins.show_plan_pin(session, id))


@router.patch("/{id}", responses=tells(PlanPinAnswer, problems=(400, 404, 412, 422, 428)))
def change(
    id: IdPath,
    form: Annotated[PlanPinChange, body(PlanPinChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Change a pin; fields left out stay."""
    return sent(pins.change_plan_pin(session, id, form, expected=expected))


@router.delete(
    "/{id}", status_code=204, responses=tells(None, 204, problems=(400, 404, 412, 422, 428))
)
def delete(id: IdPath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take out a pin: the plan is free again."""
    pins.delete_plan_pin(session, id, expected=expected)
    return Response(status_code=204)
