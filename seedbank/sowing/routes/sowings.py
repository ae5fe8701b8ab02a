"""Sowings: what was sown, what came up, what was lost."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.emergence.tables import SowingFilter
from seedbank.sowing import record_sowing as sow
from seedbank.sowing.answers import SowingAnswer, SowingSummary
from seedbank.sowing.forms import (
    EmergenceCreate,
    LossCreate,
    SowingChange,
    SowingCreate,
    SowingFinish,
)
from seedbank.sowing.record_sowing import delete_sowing
from seedbank.sowing.show_sowings import list_sowings, show_sowing
from seedbank.web.api.deps import IdPath, NowDep, OnceDep, SessionDep, TodayDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, done, sent, tells, tells_page

router = api_router(prefix="/sowings", tags=["sowings"])
_DONE = tells(SowingAnswer, problems=(400, 404, 409, 422))


@router.get("", responses=tells_page(SowingSummary))
def browse(
    paged: PagedDep, wanted: Annotated[SowingFilter, Query()], session: SessionDep
) -> Response:
    """List sowings, earliest first."""
    return paged(lambda page: list_sowings(session, wanted, page))


@router.post("", status_code=201, responses=tells(SowingAnswer, 201, problems=(400, 409, 422)))
def record(
    form: Annotated[SowingCreate, body(SowingCreate, "area_m2", "stations")],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Record a sowing; its seed leaves the lot."""
    return once(
        lambda: created(sow.record_sowing(session, form, today=today, now=now), "/sowings/{0.id}")
    )


@router.get("/{id}", responses=tells(SowingAnswer, problems=(404, 422)))
def show(id: IdPath, session: SessionDep) -> Response:
    """Show one sowing with what came up of it."""
    return sent(show_sowing(session, id))


@router.patch("/{id}", responses=tells(SowingAnswer, problems=(400, 404, 412, 422, 428)))
def change(
    id: IdPath,
    form: Annotated[SowingChange, body(SowingChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Change a sowing's description."""
    return sent(sow.change_sowing(session, id, form, expected=expected))


@router.delete(
    "/{id}", status_code=204, responses=tells(None, 204, problems=(400, 404, 412, 422, 428))
)
def delete(
    id: IdPath, expected: IfMatchDep, session: SessionDep, today: TodayDep, now: NowDep
) -> Response:
    """Take back a sowing recorded by mistake; its seed returns to the lot."""
    delete_sowing(session, id, expected=expected, today=today, now=now)
    return Response(status_code=204)


@router.post("/{id}/emergence", responses=_DONE)
def count_emergence(
    id: IdPath,
    form: Annotated[EmergenceCreate, body(EmergenceCreate)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Record how many seeds have come up so far."""
    return once(lambda: done(sow.count_emergence(session, id, form, today=today, now=now)))


@router.post("/{id}/losses", responses=_DONE)
def count_losses(
    id: IdPath,
    form: Annotated[LossCreate, body(LossCreate)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Record seeds or seedlings lost to one cause."""
    return once(lambda: done(sow.count_losses(session, id, form, today=today, now=now)))


@router.post("/{id}/finish", responses=_DONE)
def finish(
    id: IdPath,
    form: Annotated[SowingFinish, body(SowingFinish)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
) -> Response:
    """Say that no more seedlings are expected."""
    return once(lambda: done(sow.finish_sowing(session, id, form, today=today)))
