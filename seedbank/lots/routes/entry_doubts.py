"""Lots whose amount or day of coming an earlier program may have made up: asked about once."""

from typing import Annotated

from fastapi import Response

from seedbank.lots import settle_entry_doubts as doubts
from seedbank.lots.answers import EntryDoubtAnswer, EntryDoubtsSettled
from seedbank.lots.forms import EntryDoubtsAnswered
from seedbank.web.api.deps import NowDep, OnceDep, SessionDep, TodayDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.responses import body, done, tells, tells_page

router = api_router(prefix="/entry-doubts", tags=["lots"])


@router.get("", responses=tells_page(EntryDoubtAnswer))
def browse_entry_doubts(session: SessionDep, paged: PagedDep) -> Response:
    """List the lots to be asked about: booked as none, or with the day of entry, by an import."""
    return paged(
        lambda page: doubts.list_entry_doubts(session, page),
    )


@router.post("/answers", responses=tells(EntryDoubtsSettled, problems=(400, 409, 422)))
def answer_entry_doubts(
    form: Annotated[EntryDoubtsAnswered, body(EntryDoubtsAnswered)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Answer for some lots, or for all of them; what is answered is never asked again."""
    return once(lambda: done(doubts.settle_entry_doubts(session, form, today=today, now=now)))
