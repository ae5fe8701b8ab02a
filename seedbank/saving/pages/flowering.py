"""What flowers this year besides the seed crops: noted, and said to be cut in time."""

from typing import Any

from fastapi import Response

from seedbank.common.catalogue import choice_words
from seedbank.database.queries import Paging
from seedbank.kinds.tables import KindFilter
from seedbank.lots.show_lots import list_kinds
from seedbank.plan.stops import must_not_flower
from seedbank.saving.edit_flowerings import add_flowering, change_flowering, list_flowerings
from seedbank.saving.edit_sites import list_sites
from seedbank.saving.forms import FloweringChange, FloweringCreate
from seedbank.saving.tables import FloweringFilter
from seedbank.science.crossing.crossing_stands import StandIs
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_MOST, _MOST_KINDS = 100, 400
_NOTED = (StandIs.LEFT_TO_RUN, StandIs.SELF_SOWN, StandIs.NEIGHBOUR, StandIs.WILD)


@router.get("/flowering")
def show(request: PageRequestDep) -> Response:
    """All that is noted for this year, and what of it must not flower."""
    return _page(request)


@router.post("/flowering")
def note(sent: SentDep) -> Response:
    """Note that something flowers."""
    request = sent.request

    def action(form: FloweringCreate) -> str:
        add_flowering(request.session, form, today=request.today)
        return "/flowering"

    filled = sent.form(FloweringCreate, {"year": request.today.year})
    return sent.act(filled, action, lambda faulty, status: _page(request, faulty, status))


@router.post("/flowering/{number}/{word}")
def stop(sent: SentDep, number: int, word: str) -> Response:
    """It is cut or pulled (``cut``), or stands after all."""
    request = sent.request

    def action() -> str:
        day = request.today if word == "cut" else None
        form = FloweringChange.model_validate({"stopped_on": day})
        change_flowering(request.session, number, form, expected=None, today=request.today)
        return "/flowering"

    return sent.once(action)


def _page(request: PageRequest, filled: Filled[Any] | None = None, status: int = 200) -> Response:
    year = request.today.year
    wanted = FloweringFilter(year=year)
    noted = list_flowerings(request.session, wanted, Paging(_MOST)).items
    kinds = list_kinds(request.session, KindFilter(), Paging(_MOST_KINDS))
    return request.show(
        "saving/pages/flowering.html",
        status,
        year=year,
        noted=[one for one in noted if one.what in _NOTED],
        stops=must_not_flower(request.session, year),
        what=choice_words("stand-noted", _NOTED),
        kinds=[(one.slug, one.name) for one in kinds.items],
        sites=[(one.id, one.name) for one in list_sites(request.session, Paging(_MOST)).items],
        filled=filled or Filled(),
    )
