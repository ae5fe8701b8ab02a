"""The shelf: places and their packets, sorted, filtered and ticked; and work on those ticked."""

import re
from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from fastapi import Response
from starlette.responses import RedirectResponse

from seedbank.common.errors import Refused, StockFault
from seedbank.lots.edit_places import place_choices
from seedbank.lots.words import origins
from seedbank.overview.answer_shelf import codes_on_shelf
from seedbank.overview.answers import ShelfAnswer
from seedbank.overview.forms import BatchCreate, ShelfAsked, ShelfOrder, ShelfQuestion
from seedbank.overview.show_shelf import show_shelf
from seedbank.overview.tables import BatchWork
from seedbank.overview.undo_batch import undo_batch
from seedbank.overview.work_on_lots import show_batch, work_on_lots
from seedbank.web.pages.form_reading import Filled, typed_codes
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_ASKED = tuple(ShelfQuestion.model_fields)
_NARROWING = ("kind", "origin", "other_keepers", "year_from", "year_to", "seeds_to")
_NUMBER = re.compile(r"[1-9]\d{0,8}")
_LABEL = "label"


@router.get("/shelf")
def shelf(request: PageRequestDep) -> Response:
    """Packets that answer to what is asked; those ticked stay ticked on whatever page."""
    return _page(request)


@router.get("/shelf/work")
def asking(request: PageRequestDep) -> Response:
    """Ask what the work on the packets ticked still needs to know."""
    query = request.http.query_params
    lots, everything = query.getlist("lot"), bool(query.get("all"))
    work = query.get("work", "")
    if not lots and not everything:
        fault = Refused("batch-nothing-ticked", "lot", None)
        return _page(request, 422, fault)
    if work == _LABEL:
        if everything:
            lots = codes_on_shelf(request.session, _question(request), today=request.today)
        return RedirectResponse("/labels?" + urlencode([("lot", lot) for lot in lots]), 303)
    _check(work)
    asked = {name: query.get(name, "") for name in _ASKED} if everything else {}
    number = len(lots)
    if everything:
        number = len(codes_on_shelf(request.session, _question(request), today=request.today))
    told = {"work": work, "number": number, "codes": "" if everything else " ".join(lots)}
    return _work_page(request, Filled(), 200, {**told, "asked": asked})


@router.post("/shelf/work")
def work(sent: SentDep) -> Response:
    """Do it to all of them."""
    request, lots = sent.request, typed_codes(sent.get("lot"))
    _check(sent.get("work"))
    asked = {name: sent.get(f"among.{name}") for name in _ASKED}
    given: dict[str, Any] = {"lots": lots} if lots else {}
    if not lots and sent.get("all") and not any(asked.values()):
        given["among"] = {}

    def action(form: BatchCreate) -> str:
        done = work_on_lots(request.session, form, today=request.today, now=request.now)
        place = f"&place={form.place_id}" if form.place_id else ""
        return f"/shelf?batch={done.id}{place}"

    return sent.act(
        sent.form(BatchCreate, given),
        action,
        lambda filled, status: _again(sent, filled, status, lots, asked),
    )


@router.post("/shelf/undo/{number}")
def undo(sent: SentDep, number: int) -> Response:
    """Undo work on many packets."""
    request = sent.request

    def action() -> str:
        done = undo_batch(request.session, number, today=request.today, now=request.now)
        return f"/shelf?batch={done.id}"

    try:
        return sent.once(action)
    except StockFault as fault:
        return _page(request, 409, fault)


def _check(work: str) -> None:
    if work not in tuple(BatchWork):
        raise Refused("batch-work-unsaid", "work", work)


def _question(request: PageRequest) -> ShelfQuestion:
    form = request.asked(ShelfQuestion).form
    if form is None:
        raise Refused("batch-question-misread", "lot", None)
    return form


def _page(request: PageRequest, status: int = 200, fault: StockFault | None = None) -> Response:
    query = request.http.query_params
    order = query.get("order", "")
    sort = order.removeprefix("-")
    known = {"falling": order.startswith("-")} | (
        {"sort": sort} if sort in tuple(ShelfOrder) else {}
    )
    filled = request.asked(ShelfAsked, known)
    answer: ShelfAnswer | None = None
    if filled.form is not None:
        try:
            answer = show_shelf(
                request.session, filled.form.question, filled.form.view, today=request.today
            )
        except StockFault as refused:
            filled = filled.faulted(refused, request.local)
    ticked = dict.fromkeys(query.getlist("lot"))
    shown = {one.lot.code for one in answer.items} if answer else set()
    batch = query.get("batch", "")
    places = {one.place.id: one for one in answer.places if one.place} if answer else {}
    place = filled.value("place")
    return request.show(
        "overview/pages/shelf.html",
        422 if filled.errors else status,
        filled=filled,
        answer=answer,
        order=order or "alive",
        ticked=ticked,
        elsewhere=[code for code in ticked if code not in shown],
        everything=bool(query.get("all")),
        here=places.get(int(place)) if _NUMBER.fullmatch(place) else None,
        asked={name: filled.value(name) for name in _ASKED if filled.value(name)},
        fault=fault,
        done=show_batch(request.session, int(batch)) if _NUMBER.fullmatch(batch) else None,
        origins=origins(),
        narrowed=any(filled.value(name) for name in _NARROWING),
    )


def _again(
    sent: Sent, filled: Filled[BatchCreate], status: int, lots: list[str], asked: dict[str, str]
) -> Response:
    told = {"work": sent.get("work"), "number": len(lots), "codes": " ".join(lots), "asked": asked}
    return _work_page(sent.request, filled, status, told)


def _work_page(
    request: PageRequest, filled: Filled[BatchCreate], status: int, told: Mapping[str, Any]
) -> Response:
    return request.show(
        "overview/pages/work.html",
        status,
        filled=filled,
        places=place_choices(request.session),
        **told,
    )
