"""Varieties: what the gardener wants kept."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.kinds import edit_varieties as varieties
from seedbank.kinds.answers import KeepersToldAnswer, VarietyAnswer
from seedbank.kinds.forms import KeepersTold, VarietyChange, VarietyCreate
from seedbank.kinds.tables import VarietyFilter
from seedbank.lots.show_lots import list_varieties
from seedbank.web.api.deps import IdPath, OnceDep, SessionDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, done, sent, tells, tells_page

router = api_router(prefix="/varieties", tags=["varieties"])


@router.get("", responses=tells_page(VarietyAnswer))
def browse(
    paged: PagedDep, wanted: Annotated[VarietyFilter, Query()], session: SessionDep
) -> Response:
    """List varieties by name."""
    return paged(lambda page: list_varieties(session, wanted, page))


@router.post("", status_code=201, responses=tells(VarietyAnswer, 201, problems=(400, 409, 422)))
def add(
    form: Annotated[VarietyCreate, body(VarietyCreate)], once: OnceDep, session: SessionDep
) -> Response:
    """Add a variety."""
    return once(lambda: created(varieties.add_variety(session, form), "/varieties/{0.id}"))


@router.post("/other-keepers", responses=tells(KeepersToldAnswer, problems=(400, 409, 422)))
def tell_other_keepers(
    form: Annotated[KeepersTold, body(KeepersTold)], once: OnceDep, session: SessionDep
) -> Response:
    """Say of many varieties at once how many others keep them."""
    return once(lambda: done(varieties.tell_keepers(session, form)))


@router.get("/{id}", responses=tells(VarietyAnswer, problems=(404, 422)))
def show(id: IdPath, session: SessionDep) -> Response:
    """Show one variety."""
    return sent(varieties.show_variety(session, id))


@router.patch("/{id}", responses=tells(VarietyAnswer, problems=(400, 404, 409, 412, 422, 428)))
def change(
    id: IdPath,
    form: Annotated[VarietyChange, body(VarietyChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Change a variety; fields left out stay."""
    return sent(varieties.change_variety(session, id, form, expected=expected))


@router.delete(
    "/{id}", status_code=204, responses=tells(None, 204, problems=(400, 404, 409, 412, 422, 428))
)
def delete(id: IdPath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take out a variety without lots."""
    varieties.delete_variety(session, id, expected=expected)
    return Response(status_code=204)
