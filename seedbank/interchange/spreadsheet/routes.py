"""Somebody's own spreadsheet: shown as it was read, then taken in as it was shown."""

from typing import Annotated

from fastapi import Response

from seedbank.database.run_once import Answer
from seedbank.interchange.spreadsheet.answers import (
    SpreadsheetConfirmed,
    SpreadsheetPreview,
    SpreadsheetShown,
    SpreadsheetTakenIn,
)
from seedbank.interchange.spreadsheet.take_in_spreadsheet import (
    preview_spreadsheet,
    take_in_spreadsheet,
)
from seedbank.web.api.deps import NowDep, OnceDep, SessionDep, TodayDep, api_router
from seedbank.web.api.preconditions import KeyDep
from seedbank.web.api.responses import body, created, done, sent, tells, tells_nothing_new

router = api_router(prefix="/imports", tags=["imports"])


@router.post("/preview", responses=tells(SpreadsheetPreview, problems=(400, 422)))
def preview(
    form: Annotated[SpreadsheetShown, body(SpreadsheetShown)],
    _key: KeyDep,  # asked of every POST; this one books nothing, so nothing is kept under it
    session: SessionDep,
    today: TodayDep,
) -> Response:
    """Show what would be made of each row, from what, how sure, and what is left out.

    Nothing is changed. A file with thousands of rows is best shown with ``most_rows`` and
    ``unclear_first``; the summary, the questions and the digest are of all rows. The digest
    stands for all of it; send it when confirming.
    """
    return sent(preview_spreadsheet(session, form, today=today))


@router.post(
    "",
    status_code=201,
    responses=tells(SpreadsheetTakenIn, 201, problems=(400, 409, 422))
    | tells_nothing_new(SpreadsheetTakenIn),
)
def take_in(
    form: Annotated[SpreadsheetConfirmed, body(SpreadsheetConfirmed)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Take in what the preview showed, a lot a row, all or none; a row taken in before is skipped.

    Refused are rows still to be answered or mended, and a digest of something else.
    """

    def action() -> Answer:
        taken = take_in_spreadsheet(session, form, today=today, now=now)
        if not taken.lots:
            return done(taken)
        return created(taken, "/lots/{0.lots[0].code}")

    return once(action)
