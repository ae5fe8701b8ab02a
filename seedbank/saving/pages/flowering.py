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
def show(desk: PageRequestDep) -> Response:
    """All that is noted for this year, and what of it must not flower."""
    return _page(desk)


@router.post("/flowering")
def note(sent: SentDep) -> Response:
    """Note that something flowers."""
    desk = sent.desk

    def action(form: FloweringCreate) -> str:
        add_flowering(desk.session, form, today=desk.today)
        return "/flowering"

    filled = sent.form(FloweringCreate, {"year": desk.today.year})
    return sent.act(filled, action, lambda faulty, status: _page(desk, faulty, status))


@router.post("/flowering/{number}/{word}")
def stop(sent: SentDep, number: int, word: str) -> Response:
    """It is cut or pulled (``cut``), or stands after all."""
    desk = sent.desk

    def action() -> str:
        day = desk.today if word == "cut" else None
        form = FloweringChange.model_validate({"stopped_on": day})
        change_flowering(desk.session, number, form, expected=None, today=desk.today)
        return "/flowering"

    return sent.once(action)


def _page(desk: PageRequest, filled: Filled[Any] | None = None, status: int = 200) -> Response:
    year = desk.today.year
    wanted = FloweringFilter(year=year)
    noted = list_flowerings(desk.session, wanted, Paging(_MOST)).items
    kinds = list_kinds(desk.session, KindFilter(), Paging(_MOST_KINDS))
    return desk.show(
        "saving/pages/flowering.html",
        status,
        year=year,
        noted=[one for one in noted if one.what in _NOTED],
        stops=must_not_flower(desk.session, year),
        what=choice_words("stand-noted", _NOTED),
        kinds=[(one.slug, one.name) for one in kinds.items],
        sites=[(one.id, one.name) for one in list_sites(desk.session, Paging(_MOST)).items],
        filled=filled or Filled(),
    )
