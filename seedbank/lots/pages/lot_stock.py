"""Seed coming into a lot and leaving it: given away, thrown out, received, counted."""

from collections.abc import Mapping
from typing import Any

from fastapi import Response

from seedbank.common.errors import StockFault
from seedbank.lots.answers import MovementAnswer, TakingForeseen
from seedbank.lots.forms import MovementCreate, MovementKind, StockTakeCreate
from seedbank.lots.move_seed import (
    foresee_taking,
    giving_cautions,
    record_movement,
    record_stock_take,
)
from seedbank.lots.pages.lot import Code
from seedbank.lots.show_lots import show_lot
from seedbank.lots.words import received
from seedbank.verdicts.spare_seed import seed_to_keep_of_lot
from seedbank.web.pages.form_reading import Filled, FormT
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_TAKES = {"give": MovementKind.GIVEN, "discard": MovementKind.DISCARDED}


@router.get("/lot/{code}/give")
def giving(request: PageRequestDep, code: Code) -> Response:
    """Give seed away; with an amount in the address, what would be left."""
    return _taking(request, code, "give")


@router.post("/lot/{code}/give")
def give(sent: SentDep, code: Code) -> Response:
    """Book seed given away."""
    return _take(sent, code, "give")


@router.get("/lot/{code}/discard")
def discarding(request: PageRequestDep, code: Code) -> Response:
    """Throw seed out; with an amount in the address, what would be left."""
    return _taking(request, code, "discard")


@router.post("/lot/{code}/discard")
def discard(sent: SentDep, code: Code) -> Response:
    """Book seed thrown out."""
    return _take(sent, code, "discard")


@router.get("/lot/{code}/receive")
def receiving(request: PageRequestDep, code: Code) -> Response:
    """Put more seed of the same harvest into a lot."""
    return _receive_page(request, code, Filled(), 200)


@router.post("/lot/{code}/receive")
def receive(sent: SentDep, code: Code) -> Response:
    """Book seed that came in."""

    def action(form: MovementCreate) -> str:
        return _booked(_record(sent.request, code, form))

    return sent.act(
        sent.form(MovementCreate),
        action,
        lambda filled, status: _receive_page(sent.request, code, filled, status),
    )


@router.get("/lot/{code}/count")
def counting(request: PageRequestDep, code: Code) -> Response:
    """Count or weigh what the packet really holds."""
    return _show(request, "lots/pages/lot_count.html", code, Filled(), 200)


@router.post("/lot/{code}/count")
def count(sent: SentDep, code: Code) -> Response:
    """Book a stock-take."""
    request = sent.request

    def action(form: StockTakeCreate) -> str:
        taken = record_stock_take(request.session, code, form, today=request.today, now=request.now)
        return _booked(taken)

    return sent.act(
        sent.form(StockTakeCreate),
        action,
        lambda filled, status: _show(request, "lots/pages/lot_count.html", code, filled, status),
    )


def _taking(request: PageRequest, code: str, what: str) -> Response:
    given = {"reason": _TAKES[what].value}
    filled = request.asked(MovementCreate, given)
    if not any(filled.value(name).strip() for name in ("amount.seeds", "amount.grams")):
        return _take_page(request, code, what, Filled(filled.values), 200)
    foreseen = None
    if filled.form is not None:
        try:
            foreseen = foresee_taking(request.session, code, filled.form.amount)
        except StockFault as fault:
            filled = filled.faulted(fault, request.local)
    return _take_page(request, code, what, filled, 422 if filled.errors else 200, foreseen)


def _take(sent: SentDep, code: str, what: str) -> Response:
    return sent.act(
        sent.form(MovementCreate, {"reason": _TAKES[what].value}),
        lambda form: _booked(_record(sent.request, code, form)),
        lambda filled, status: _take_page(sent.request, code, what, filled, status),
    )


def _record(request: PageRequest, code: str, form: MovementCreate) -> MovementAnswer:
    return record_movement(request.session, code, form, today=request.today, now=request.now)


def _booked(movement: MovementAnswer) -> str:
    return f"/lot/{movement.lot}?movement={movement.serial}"


def _take_page(
    request: PageRequest,
    code: str,
    what: str,
    filled: Filled[MovementCreate],
    status: int,
    foreseen: TakingForeseen | None = None,
) -> Response:
    cautions, to_keep = None, None
    if what == "give":
        cautions = giving_cautions(request.session, code)
        to_keep = seed_to_keep_of_lot(request.session, code, today=request.today)
    more = {"what": what, "foreseen": foreseen, "cautions": cautions, "to_keep": to_keep}
    return _show(request, "lots/pages/lot_take.html", code, filled, status, more)


def _receive_page(
    request: PageRequest, code: str, filled: Filled[MovementCreate], status: int
) -> Response:
    return _show(
        request, "lots/pages/lot_receive.html", code, filled, status, {"received": received()}
    )


def _show(
    request: PageRequest,
    template: str,
    code: str,
    filled: Filled[FormT],
    status: int,
    more: Mapping[str, Any] | None = None,
) -> Response:
    lot = show_lot(request.session, code, today=request.today)
    return request.show(template, status, lot=lot, filled=filled, **(more or {}))
