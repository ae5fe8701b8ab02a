"""Places seed is kept: added, changed, merged into another."""

from typing import Annotated

from fastapi import Path, Response

from seedbank.lots.edit_places import (
    add_place,
    change_place,
    merge_places,
    place_choices,
    show_place,
)
from seedbank.lots.forms import PlaceChange, PlaceCreate, PlaceMerge
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
Number = Annotated[int, Path(ge=1, le=2_147_483_647)]


@router.get("/shelf/place")
def places(request: PageRequestDep) -> Response:
    """The places, and one to add."""
    return _list(request, Filled(), 200)


@router.post("/shelf/place")
def add(sent: SentDep) -> Response:
    """Add a place."""
    request = sent.request
    return sent.act(
        sent.form(PlaceCreate),
        lambda form: f"/shelf?place={add_place(request.session, form).id}",
        lambda filled, status: _list(request, filled, status),
    )


@router.get("/shelf/place/{number}")
def place(request: PageRequestDep, number: Number) -> Response:
    """Change a place, or merge it into another."""
    return _one(request, number, Filled(), 200)


@router.post("/shelf/place/{number}")
def change(sent: SentDep, number: Number) -> Response:
    """Put down what is known of a place."""
    request = sent.request

    def action(form: PlaceChange) -> str:
        changed = change_place(request.session, number, form, expected=sent.version)
        return f"/shelf?place={changed.id}"

    empty = {name: None for name in _UNKNOWABLE if not sent.get(name)}
    given = {**empty, "sealed": sent.get("sealed") == "yes", "notes": sent.get("notes")}
    return sent.act(
        sent.form(PlaceChange, given),
        action,
        lambda filled, status: _one(request, number, filled, status),
    )


@router.post("/shelf/place/{number}/merge")
def merge(sent: SentDep, number: Number) -> Response:
    """Put all that is or was in a place down as in another."""
    request = sent.request
    return sent.act(
        sent.form(PlaceMerge),
        lambda form: f"/shelf?place={merge_places(request.session, number, form).id}",
        lambda filled, status: _one(request, number, filled, status),
    )


_UNKNOWABLE = (
    "temp_winter_c", "temp_summer_c", "rh_winter_pct", "rh_summer_pct", "seed_moisture_pct",
)  # fmt: skip


def _list(request: PageRequest, filled: Filled[PlaceCreate], status: int) -> Response:
    return request.show(
        "overview/pages/places.html", status, filled=filled, places=place_choices(request.session)
    )


def _one(
    request: PageRequest, number: int, filled: Filled[PlaceChange] | Filled[PlaceMerge], status: int
) -> Response:
    place = show_place(request.session, number)
    others = [one for one in place_choices(request.session) if one[0] != number]
    return request.show(
        "overview/pages/place.html", status, filled=filled, place=place, others=others
    )
