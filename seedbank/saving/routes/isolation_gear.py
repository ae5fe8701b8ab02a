"""Isolation gear: cages, bags, nets."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.saving import edit_sites as gear
from seedbank.saving.answers import GearAnswer
from seedbank.saving.forms import GearChange, GearCreate
from seedbank.saving.tables import GearKind
from seedbank.web.api.deps import IdPath, OnceDep, SessionDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, sent, tells, tells_page

router = api_router(prefix="/isolation-gear", tags=["isolation-gear"])
KindQuery = Annotated[GearKind | None, Query(alias="gear", description="only of this sort")]


@router.get("", responses=tells_page(GearAnswer))
def browse(session: SessionDep, paged: PagedDep, kind: KindQuery = None) -> Response:
    """List isolation gear by name."""
    return paged(
        lambda page: gear.list_gear(session, kind, page),
    )


@router.post("", status_code=201, responses=tells(GearAnswer, 201, problems=(400, 409, 422)))
def add(
    form: Annotated[GearCreate, body(GearCreate)], once: OnceDep, session: SessionDep
) -> Response:
    """Add isolation gear."""
    return once(lambda: created(gear.add_gear(session, form), "/isolation-gear/{0.id}"))


@router.get("/{id}", responses=tells(GearAnswer, problems=(404, 422)))
def show(id: IdPath, session: SessionDep) -> Response:
    """Show gear of one sort."""
    return sent(gear.show_gear(session, id))


@router.patch("/{id}", responses=tells(GearAnswer, problems=(400, 404, 409, 412, 422, 428)))
def change(
    id: IdPath,
    form: Annotated[GearChange, body(GearChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Change gear; fields left out stay."""
    return sent(gear.change_gear(session, id, form, expected=expected))


@router.delete(
    "/{id}", status_code=204, responses=tells(None, 204, problems=(400, 404, 409, 412, 422, 428))
)
def delete(id: IdPath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take out gear that isolated no seed crop."""
    gear.delete_gear(session, id, expected=expected)
    return Response(status_code=204)
