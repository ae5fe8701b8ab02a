"""Sowings: what is expected of one, what came up, what was lost, and how well it was foretold."""

from datetime import date
from typing import Annotated

from fastapi import Path, Query, Response

from seedbank.common.errors import Refused
from seedbank.database.queries import Paging
from seedbank.sowing.answers import SowingAnswer
from seedbank.sowing.forms import EmergenceCreate, LossCreate, SowingFinish
from seedbank.sowing.record_sowing import (
    count_emergence,
    count_losses,
    delete_sowing,
    finish_sowing,
)
from seedbank.sowing.show_sowings import foretell_sowing, list_sowings, show_sowing
from seedbank.sowing.tables import SowingFilter
from seedbank.sowing.words import losses, methods, protections
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
Number = Annotated[int, Path(ge=1, le=2_147_483_647)]
_MOST = 40


@router.get("/sowing")
def browse(
    desk: PageRequestDep,
    year: Annotated[int | None, Query(ge=1900, le=2199)] = None,
    lot: Annotated[str | None, Query(max_length=40)] = None,
) -> Response:
    """Sowings still coming up, then the finished ones of one year; or all those of one lot."""
    year = year or desk.today.year
    finished = SowingFilter(
        lot=lot or None,
        open=False,
        sown_from=None if lot else date(year, 1, 1),
        sown_to=None if lot else date(year, 12, 31),
    )
    still, done = (
        list_sowings(desk.session, wanted, Paging(_MOST))
        for wanted in (SowingFilter(lot=lot or None, open=True), finished)
    )
    return desk.show(
        "sowing/pages/sowings.html",
        still=still,
        done=done,
        year=year,
        lot=lot or "",
        methods=methods(),
    )


@router.get("/sowing/{number}")
def show(desk: PageRequestDep, number: Number) -> Response:
    """One sowing: to count while it is open, to read once it is finished."""
    return _page(desk, number)


@router.post("/sowing/{number}/count")
def count(sent: SentDep, number: Number) -> Response:
    """Record how many have come up by a day."""
    desk = sent.desk
    stepped = sent.stepped()
    if stepped is not None:
        return _page(desk, number, counting=Filled(stepped.fields))

    def action(form: EmergenceCreate) -> str:
        count_emergence(desk.session, number, form, today=desk.today, now=desk.now)
        return f"/sowing/{number}"

    def again(filled: Filled[EmergenceCreate], status: int) -> Response:
        return _page(desk, number, status, counting=filled)

    return sent.act(sent.form(EmergenceCreate), action, again)


@router.post("/sowing/{number}/loss")
def lose(sent: SentDep, number: Number) -> Response:
    """Record seed or seedlings lost to one cause."""
    desk = sent.desk
    stepped = sent.stepped()
    if stepped is not None:
        return _page(desk, number, losing=Filled(stepped.fields))

    def action(form: LossCreate) -> str:
        count_losses(desk.session, number, form, today=desk.today, now=desk.now)
        return f"/sowing/{number}"

    def again(filled: Filled[LossCreate], status: int) -> Response:
        return _page(desk, number, status, losing=filled)

    return sent.act(sent.form(LossCreate), action, again)


@router.post("/sowing/{number}/finish")
def finish(sent: SentDep, number: Number) -> Response:
    """Say that no more are expected."""
    desk = sent.desk

    def action(form: SowingFinish) -> str:
        finish_sowing(desk.session, number, form, today=desk.today)
        return f"/sowing/{number}"

    def again(filled: Filled[SowingFinish], status: int) -> Response:
        return _page(desk, number, status, finishing=filled)

    return sent.act(sent.form(SowingFinish), action, again)


@router.post("/sowing/{number}/undo")
def undo(sent: SentDep, number: Number) -> Response:
    """Take back a sowing that was a mistake; its seed goes back to the packet."""
    return sent.once(lambda: _undone(sent, number))


def _undone(sent: Sent, number: int) -> str:
    desk = sent.desk
    sowing = show_sowing(desk.session, number)
    if sent.get("sure") != "yes":
        raise Refused("undoing-not-ticked", "sure", "")
    version = sent.get("version")
    expected = {int(version)} if version.isascii() and version.isdigit() else {0}
    delete_sowing(desk.session, number, expected=expected, today=desk.today, now=desk.now)
    return f"/lot/{sowing.lot}"


def _page(
    desk: PageRequest,
    number: int,
    status: int = 200,
    *,
    counting: Filled[EmergenceCreate] | None = None,
    losing: Filled[LossCreate] | None = None,
    finishing: Filled[SowingFinish] | None = None,
) -> Response:
    sowing = show_sowing(desk.session, number)
    return desk.show(
        "sowing/pages/sowing.html",
        status,
        sowing=sowing,
        told=foretell_sowing(desk.session, number, today=desk.today),
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
