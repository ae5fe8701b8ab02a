"""The garden's climate, to tell and to read; and a kind's year in it."""

from datetime import date
from typing import Any

from fastapi import Response

from seedbank.climate.forms import ClimateTyped, ReadingsSent
from seedbank.climate.kind_season import SeasonAsked
from seedbank.common.errors import NotThere
from seedbank.database.queries import Paging
from seedbank.kinds.edit_kinds import show_kind
from seedbank.kinds.tables import KindFilter
from seedbank.lots.show_lots import list_kinds
from seedbank.saving.climate_of_sites import (
    kind_season_at,
    read_climate_at,
    show_climate_at,
    type_climate_at,
)
from seedbank.saving.edit_sites import list_sites
from seedbank.saving.forms import AtSite
from seedbank.science.season.window_state import date_of
from seedbank.season.pages.year_figure import draw_kind_year
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_MOST_KINDS, _MOST_SITES = 400, 100


@router.get("/garden-climate")
def climate(request: PageRequestDep) -> Response:
    """What is known of the climate of the garden, or of a site."""
    asked = request.asked(AtSite)
    if asked.form is None:
        return _page(request, None, asked, 422)
    return _page(request, asked.form.site)


@router.post("/garden-climate")
def tell(sent: SentDep) -> Response:
    """Tell it anew."""
    request, site = sent.request, _site(sent)

    def action(form: ClimateTyped) -> str:
        expected = {int(sent.get("version"))} if sent.get("version").isdecimal() else None
        type_climate_at(request.session, form, site_id=site, expected=expected)
        return _address(site)

    filled = sent.form(ClimateTyped)
    return sent.act(filled, action, lambda faulty, status: _page(request, site, faulty, status))


@router.post("/garden-climate/readings")
def read(sent: SentDep) -> Response:
    """Tell it by daily readings."""
    request, site = sent.request, _site(sent)

    def action(form: ReadingsSent) -> str:
        read_climate_at(request.session, form, site_id=site, expected=None)
        return _address(site)

    filled = sent.form(ReadingsSent)
    return sent.act(filled, action, lambda faulty, status: _page(request, site, faulty, status))


@router.get("/kind/{slug}/season")
def season(request: PageRequestDep, slug: str) -> Response:
    """When to sow a kind, how soon it is up, when it flowers and ripens, what to do with it."""
    kind = show_kind(request.session, slug)
    asked = request.asked(AtSite)
    site = None if asked.form is None else asked.form.site
    answer = kind_season_at(request.session, slug, SeasonAsked(request.today, site))
    sites = list_sites(request.session, Paging(_MOST_SITES)).items
    drawn = draw_kind_year(answer, kind.name, request.local)
    return request.show(
        "season/pages/kind_season.html", kind=kind, answer=answer, sites=sites, drawn=drawn
    )


def _site(sent: Sent) -> int | None:
    """The site told of; None: the garden. Raises NotThere."""
    asked = sent.form(AtSite).form
    if asked is None:
        raise NotThere("site", sent.get("site"), field="site")
    return asked.site


def _address(site: int | None) -> str:
    return "/garden-climate" if site is None else f"/garden-climate?site={site}"


def _page(
    request: PageRequest, site: int | None, filled: Filled[Any] | None = None, status: int = 200
) -> Response:
    sites = list_sites(request.session, Paging(_MOST_SITES)).items
    here = next((one for one in sites if one.id == site), None)
    if site is not None and here is None:
        raise NotThere("site", site, field="site")
    answer = show_climate_at(request.session, site)
    kinds = list_kinds(request.session, KindFilter(), Paging(_MOST_KINDS))
    told = " ".join(f"{one:g}" for one in answer.monthly_c or ())
    return request.show(
        "season/pages/climate.html",
        status,
        answer=answer,
        sites=sites,
        here=here,
        told=told,
        last=_day(answer.last_frost_day, request.today),
        first=_day(answer.first_frost_day, request.today),
        kinds=kinds.items,
        filled=filled or Filled(),
    )


def _day(day: int | None, today: date) -> str:
    return "" if day is None else date_of(min(day, 365), today.year).isoformat()
