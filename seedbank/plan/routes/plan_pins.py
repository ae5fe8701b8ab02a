"""Choices pinned for the plan."""

from typing import Annotated

from fastapi import APIRouter, Request, Response

from seedbank.database.run_once import Answer
from seedbank.plan import edit_plan_pins as pins
from seedbank.plan.forms import PlanPinChange, PlanPinCreate
from seedbank.plan.tables import PlanPinFilter
from seedbank.saving.answers import PlanPinAnswer
from seedbank.web.api.deps import IdPath, OnceDep, SessionDep, VarietyQuery, YearQuery
from seedbank.web.api.paging import PageDep, paged
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, sent, tells, tells_page

router = APIRouter(prefix="/plan-pins", tags=["plan-pins"])


@router.get("", responses=tells_page(PlanPinAnswer))
def browse(
    request: Request,
    session: SessionDep,
    asked: PageDep,
    variety: VarietyQuery = None,
    year: YearQuery = None,
) -> Response:
    """List pins by year."""
    wanted = PlanPinFilter(variety_id=variety, year=year)
    return paged(
        request,
        asked,
        lambda page: pins.list_plan_pins(session, wanted, after=page.after, limit=page.limit),
    )


@router.post("", status_code=201, responses=tells(PlanPinAnswer, 201, problems=(400, 409, 422)))
def add(
    form: Annotated[PlanPinCreate, body(PlanPinCreate)], once: OnceDep, session: SessionDep
) -> Response:
    """Pin a seed crop the plan must have, or must not."""

    def action() -> Answer:
        pin = pins.add_plan_pin(session, form)
        return created(pin, f"/plan-pins/{pin.id}", pin.version)

    return once(action)


@router.get("/{id}", responses=tells(PlanPinAnswer, problems=(404, 422)))
def show(request: Request, id: IdPath, session: SessionDep) -> Response:
    """Show one pin."""
    pin = pins.show_plan_pin(session, id)
    return sent(request, pin, pin.version)


@router.patch("/{id}", responses=tells(PlanPinAnswer, problems=(400, 404, 412, 422, 428)))
def change(
    request: Request,
    id: IdPath,
    form: Annotated[PlanPinChange, body(PlanPinChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Change a pin; fields left out stay."""
    pin = pins.change_plan_pin(session, id, form, expected=expected)
    return sent(request, pin, pin.version)


@router.delete(
    "/{id}", status_code=204, responses=tells(None, 204, problems=(400, 404, 412, 422, 428))
)
def delete(id: IdPath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take out a pin: the plan is free again."""
    pins.delete_plan_pin(session, id, expected=expected)
    return Response(status_code=204)
