"""Isolation gear: cages, bags, nets."""

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from seedbank.database.run_once import Answer
from seedbank.saving import edit_sites as gear
from seedbank.saving.answers import GearAnswer
from seedbank.saving.forms import GearChange, GearCreate
from seedbank.saving.tables import GearKind
from seedbank.web.api.deps import IdPath, OnceDep, SessionDep
from seedbank.web.api.paging import PageDep, paged
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, sent, tells, tells_page

router = APIRouter(prefix="/isolation-gear", tags=["isolation-gear"])
KindQuery = Annotated[GearKind | None, Query(alias="gear", description="only of this sort")]


@router.get("", responses=tells_page(GearAnswer))
def browse(
    request: Request, session: SessionDep, asked: PageDep, kind: KindQuery = None
) -> Response:
    """List isolation gear by name."""
    return paged(
        request,
        asked,
        lambda page: gear.list_gear(session, kind, after=page.after, limit=page.limit),
    )


@router.post("", status_code=201, responses=tells(GearAnswer, 201, problems=(400, 409, 422)))
def add(
    form: Annotated[GearCreate, body(GearCreate)], once: OnceDep, session: SessionDep
) -> Response:
    """Add isolation gear."""

    def action() -> Answer:
        one = gear.add_gear(session, form)
        return created(one, f"/isolation-gear/{one.id}", one.version)

    return once(action)


@router.get("/{id}", responses=tells(GearAnswer, problems=(404, 422)))
def show(request: Request, id: IdPath, session: SessionDep) -> Response:
    """Show gear of one sort."""
    one = gear.show_gear(session, id)
    return sent(request, one, one.version)


@router.patch("/{id}", responses=tells(GearAnswer, problems=(400, 404, 409, 412, 422, 428)))
def change(
    request: Request,
    id: IdPath,
    form: Annotated[GearChange, body(GearChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Change gear; fields left out stay."""
    one = gear.change_gear(session, id, form, expected=expected)
    return sent(request, one, one.version)


@router.delete(
    "/{id}", status_code=204, responses=tells(None, 204, problems=(400, 404, 409, 412, 422, 428))
)
def delete(id: IdPath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take out gear that isolated no seed crop."""
    gear.delete_gear(session, id, expected=expected)
    return Response(status_code=204)
