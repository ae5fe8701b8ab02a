"""Places seed is kept in."""

from typing import Annotated

from fastapi import Response

from seedbank.lots import edit_places as places
from seedbank.lots.answers import PlaceAnswer
from seedbank.lots.forms import PlaceChange, PlaceCreate, PlaceMerge
from seedbank.lots.show_lots import list_places
from seedbank.web.api.deps import IdPath, OnceDep, SessionDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, sent, tells, tells_page

router = api_router(prefix="/places", tags=["places"])


@router.get("", responses=tells_page(PlaceAnswer))
def browse(session: SessionDep, paged: PagedDep) -> Response:
    """List places by name."""
    return paged(lambda page: list_places(session, page))


@router.post("", status_code=201, responses=tells(PlaceAnswer, 201, problems=(400, 409, 422)))
def add(
    form: Annotated[PlaceCreate, body(PlaceCreate)], once: OnceDep, session: SessionDep
) -> Response:
    """Add a place."""
    return once(lambda: created(places.add_place(session, form), "/places/{0.id}"))


@router.get("/{id}", responses=tells(PlaceAnswer, problems=(404, 422)))
def show(id: IdPath, session: SessionDep) -> Response:
    """Show one place."""
    return sent(places.show_place(session, id))


@router.patch("/{id}", responses=tells(PlaceAnswer, problems=(400, 404, 409, 412, 422, 428)))
def change(
    id: IdPath,
    form: Annotated[PlaceChange, body(PlaceChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Change a place; fields left out stay."""
    return sent(places.change_place(session, id, form, expected=expected))


@router.delete(
    "/{id}", status_code=204, responses=tells(None, 204, problems=(400, 404, 409, 412, 422, 428))
)
def delete(id: IdPath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take out a place no lot was ever kept in."""
    places.delete_place(session, id, expected=expected)
    return Response(status_code=204)


@router.post(
    "/{id}/merge", status_code=201, responses=tells(PlaceAnswer, 201, problems=(400, 404, 422))
)
def merge(
    id: IdPath, form: Annotated[PlaceMerge, body(PlaceMerge)], once: OnceDep, session: SessionDep
) -> Response:
    """Merge a place into another: its lots are put down as kept there, and it is taken out."""
    return once(lambda: created(places.merge_places(session, id, form), "/places/{0.id}"))
