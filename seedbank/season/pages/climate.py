"""The garden's climate, to tell and to read; and a kind's year in it."""

from datetime import date
from typing import Any

from fastapi import Response

from seedbank.climate.forms import ClimateTyped, ReadingsSent
from seedbank.climate.kind_season import SeasonAsked
from seedbank.climate.state_climate import read_climate, show_climate, type_climate
from seedbank.database.queries import Paging
from seedbank.kinds.edit_kinds import show_kind
from seedbank.kinds.tables import KindFilter
from seedbank.lots.show_lots import list_kinds
from seedbank.saving.climate_of_sites import kind_season_at
from seedbank.science.season.window_state import date_of
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_MOST_KINDS = 400


@router.get("/garden-climate")
def climate(request: PageRequestDep) -> Response:
    """What is known of the garden's climate."""
    return _page(request)


@router.post("/garden-climate")
def tell(sent: SentDep) -> Response:
    """Tell it anew."""
    request = sent.request

    def action(form: ClimateTyped) -> str:
        expected = {int(sent.get("version"))} if sent.get("version").isdecimal() else None
        type_climate(request.session, form, expected=expected)
        return "/garden-climate"

    filled = sent.form(ClimateTyped)
    return sent.act(filled, action, lambda faulty, status: _page(request, faulty, status))


@router.post("/garden-climate/readings")
def read(sent: SentDep) -> Response:
    """Tell it by daily readings."""
    request = sent.request

    def action(form: ReadingsSent) -> str:
        read_climate(request.session, form, site_id=None, expected=None)
        return "/garden-climate"

    filled = sent.form(ReadingsSent)
    return sent.act(filled, action, lambda faulty, status: _page(request, faulty, status))


@router.get("/kind/{slug}/season")
def season(request: PageRequestDep, slug: str) -> Response:
    """When to sow a kind, how soon it is up, when it flowers and ripens, what to do with it."""
    kind = show_kind(request.session, slug)
    answer = kind_season_at(request.session, slug, SeasonAsked(request.today))
    return request.show("season/pages/kind_season.html", kind=kind, answer=answer)


def _page(request: PageRequest, filled: Filled[Any] | None = None, status: int = 200) -> Response:
    answer = show_climate(request.session)
    kinds = list_kinds(request.session, KindFilter(), Paging(_MOST_KINDS))
    told = " ".join(f"{one:g}" for one in answer.monthly_c or ())
    return request.show(
        "season/pages/climate.html",
        status,
        answer=answer,
        told=told,
        last=_day(answer.last_frost_day, request.today),
        first=_day(answer.first_frost_day, request.today),
        kinds=kinds.items,
        filled=filled or Filled(),
    )


def _day(day: int | None, today: date) -> str:
    return "" if day is None else date_of(min(day, 365), today.year).isoformat()
