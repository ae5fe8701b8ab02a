"""A lot put in another place, listed or new."""

from fastapi import Response

from seedbank.lots.edit_places import place_choices
from seedbank.lots.forms import PacketMove
from seedbank.lots.pages.lot import Code
from seedbank.lots.show_lots import show_lot, show_stays
from seedbank.lots.take_in_packet import move_packet
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()


@router.get("/lot/{code}/move")
def moving(request: PageRequestDep, code: Code) -> Response:
    """Choose the place a lot goes to."""
    return _page(request, code, Filled(), 200)


@router.post("/lot/{code}/move")
def move(sent: SentDep, code: Code) -> Response:
    """Put it there."""
    request = sent.request

    def action(form: PacketMove) -> str:
        stay = move_packet(request.session, code, form, today=request.today)
        return f"/lot/{stay.lot}#kept"

    return sent.act(
        sent.form(PacketMove), action, lambda filled, status: _page(request, code, filled, status)
    )


def _page(request: PageRequest, code: str, filled: Filled[PacketMove], status: int) -> Response:
    lot = show_lot(request.session, code, today=request.today)
    return request.show(
        "lots/pages/lot_move.html",
        status,
        lot=lot,
        filled=filled,
        stays=show_stays(request.session, lot.code).items,
        places=place_choices(request.session),
    )
