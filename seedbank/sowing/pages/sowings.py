"""Sowings: what is expected of one, what came up, what was lost, and how well it was foretold."""

from datetime import date
from typing import Annotated

from fastapi import Path, Query, Response

from seedbank.common.errors import Refused
from seedbank.database.queries import Paging
from seedbank.emergence.tables import SowingFilter
from seedbank.sowing.answers import SowingAnswer
from seedbank.sowing.forms import EmergenceCreate, LossCreate, SowingFinish
from seedbank.sowing.record_sowing import (
    count_emergence,
    count_losses,
    delete_sowing,
    finish_sowing,
)
from seedbank.sowing.show_sowings import foretell_sowing, list_sowings, show_sowing
from seedbank.sowing.words import losses, methods, protections
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
Number = Annotated[int, Path(ge=1, le=2_147_483_647)]
_MOST = 40


@router.get("/sowing")
def browse(
    request: PageRequestDep,
    year: Annotated[int | None, Query(ge=1900, le=2199)] = None,
    lot: Annotated[str | None, Query(max_length=40)] = None,
) -> Response:
    """Sowings still coming up, then the finished ones of one year; or all those of one lot."""
    year = year or request.today.year
    finished = SowingFilter(
        lot=lot or None,
        open=False,
        sown_from=None if lot else date(year, 1, 1),
        sown_to=None if lot else date(year, 12, 31),
    )
    still, done = (
        list_sowings(request.session, wanted, Paging(_MOST))
        for wanted in (SowingFilter(lot=lot or None, open=True), finished)
    )
    return request.show(
        "sowing/pages/sowings.html",
        still=still,
        done=done,
        year=year,
        lot=lot or "",
        methods=methods(),
    )


@router.get("/sowing/{number}")
def show(request: PageRequestDep, number: Number) -> Response:
    """One sowing: to count while it is open, to read once it is finished."""
    return _page(request, number)


@router.post("/sowing/{number}/count")
def count(sent: SentDep, number: Number) -> Response:
    """Record how many have come up by a day."""
    request = sent.request
    stepped = sent.stepped()
    if stepped is not None:
        return _page(request, number, counting=Filled(stepped.fields))

    def action(form: EmergenceCreate) -> str:
        count_emergence(request.session, number, form, today=request.today, now=request.now)
        return f"/sowing/{number}"

    def again(filled: Filled[EmergenceCreate], status: int) -> Response:
        return _page(request, number, status, counting=filled)

    return sent.act(sent.form(EmergenceCreate), action, again)


@router.post("/sowing/{number}/loss")
def lose(sent: SentDep, number: Number) -> Response:
    """Record seed or seedlings lost to one cause."""
    request = sent.request
    stepped = sent.stepped()
    if stepped is not None:
        return _page(request, number, losing=Filled(stepped.fields))

    def action(form: LossCreate) -> str:
        count_losses(request.session, number, form, today=request.today, now=request.now)
        return f"/sowing/{number}"

    def again(filled: Filled[LossCreate], status: int) -> Response:
        return _page(request, number, status, losing=filled)

    return sent.act(sent.form(LossCreate), action, again)


@router.post("/sowing/{number}/finish")
def finish(sent: SentDep, number: Number) -> Response:
    """Say that no more are expected."""
    request = sent.request

    def action(form: SowingFinish) -> str:
        finish_sowing(request.session, number, form, today=request.today)
        return f"/sowing/{number}"

    def again(filled: Filled[SowingFinish], status: int) -> Response:
        return _page(request, number, status, finishing=filled)

    return sent.act(sent.form(SowingFinish), action, again)


@router.post("/sowing/{number}/undo")
def undo(sent: SentDep, number: Number) -> Response:
    """Take back a sowing that was a mistake; its seed goes back to the packet."""
    return sent.once(lambda: _undone(sent, number))


def _undone(sent: Sent, number: int) -> str:
    request = sent.request
    sowing = show_sowing(request.session, number)
    if sent.get("sure") != "yes":
        raise Refused("undoing-not-ticked", "sure", "")
    delete_sowing(
        request.session, number, expected=sent.version, today=request.today, now=request.now
    )
    return f"/lot/{sowing.lot}"


def _page(
    request: PageRequest,
    number: int,
    status: int = 200,
    *,
    counting: Filled[EmergenceCreate] | None = None,
    losing: Filled[LossCreate] | None = None,
    finishing: Filled[SowingFinish] | None = None,
) -> Response:
    sowing = show_sowing(request.session, number)
    return request.show(
        "sowing/pages/sowing.html",
        status,
        sowing=sowing,
        told=foretell_sowing(request.session, number, today=request.today),
        counting=counting or Filled(),
        losing=losing or Filled(),
        is_losing=losing is not None,
        finishing=finishing or Filled(),
        up=sowing.units_emerged or 0,
        most=_most(sowing),
        methods=methods(),
        protections=protections(),
        causes=losses(),
        cause_choices=losses().items(),
    )


def _most(sowing: SowingAnswer) -> int:
    """The most that can come up: the seeds sown less those lost in the soil."""
    lost = sum(one.units_lost for one in sowing.losses if not one.after_emergence)
    return max(sowing.seeds_sown - lost, 0)
