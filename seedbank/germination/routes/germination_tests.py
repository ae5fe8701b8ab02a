"""Germination tests: opened, counted, finished, or recorded whole in one call."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.germination import run_tests as tests
from seedbank.germination.answers import TestAnswer, TestSummary
from seedbank.germination.forms import (
    CountsCorrect,
    CountsCreate,
    TestChange,
    TestFinish,
    TestRecord,
    TestStart,
)
from seedbank.germination.show_tests import list_tests, show_test
from seedbank.germination.tables import TestFilter
from seedbank.sowing.record_sowing import delete_test
from seedbank.viability.foretell_tests import finish_test_foretold, record_test_foretold
from seedbank.web.api.deps import IdPath, NowDep, OnceDep, SessionDep, TodayDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, done, sent, tells, tells_page

router = api_router(prefix="/germination-tests", tags=["germination-tests"])
_MADE = tells(TestAnswer, 201, problems=(400, 409, 422))
_DONE = tells(TestAnswer, problems=(400, 404, 409, 422))


@router.get("", responses=tells_page(TestSummary))
def browse(
    paged: PagedDep, wanted: Annotated[TestFilter, Query()], session: SessionDep
) -> Response:
    """List tests, earliest started first."""
    return paged(lambda page: list_tests(session, wanted, page))


@router.post("", status_code=201, responses=_MADE)
def start(
    form: Annotated[TestStart, body(TestStart)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Start a test: its seed leaves the lot, its counts fall due by the kind's method."""
    return once(
        lambda: created(
            tests.start_test(session, form, today=today, now=now), "/germination-tests/{0.id}"
        )
    )


@router.post("/finished", status_code=201, responses=_MADE)
def record_whole(
    form: Annotated[TestRecord, body(TestRecord)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Record a whole finished test; the answer says what it means.

    Germination and viability come with their intervals, whether the replicates agree, how the
    lot stands against the legal minimum, what points to dormancy rather than death and its
    remedy, cautions, and the sources of it all.
    """
    return once(
        lambda: created(
            record_test_foretold(session, form, today=today, now=now), "/germination-tests/{0.id}"
        )
    )


@router.get("/{id}", responses=tells(TestAnswer, problems=(404, 422)))
def show(id: IdPath, session: SessionDep) -> Response:
    """Show one test with its counts and what they say."""
    return sent(show_test(session, id))


@router.patch("/{id}", responses=tells(TestAnswer, problems=(400, 404, 412, 422, 428)))
def change(
    id: IdPath,
    form: Annotated[TestChange, body(TestChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Change a test's description; its counts are corrected, not changed."""
    return sent(tests.change_test(session, id, form, expected=expected))


@router.delete(
    "/{id}", status_code=204, responses=tells(None, 204, problems=(400, 404, 412, 422, 428))
)
def delete(
    id: IdPath, expected: IfMatchDep, session: SessionDep, today: TodayDep, now: NowDep
) -> Response:
    """Take back a test recorded by mistake; its seed returns to the lot."""
    delete_test(session, id, expected=expected, today=today, now=now)
    return Response(status_code=204)


@router.post("/{id}/counts", responses=_DONE)
def count(
    id: IdPath,
    form: Annotated[CountsCreate, body(CountsCreate)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Record a day's count of an open test."""
    return once(lambda: done(tests.record_counts(session, id, form, today=today, now=now)))


@router.post("/{id}/corrections", responses=_DONE)
def correct(
    id: IdPath,
    form: Annotated[CountsCorrect, body(CountsCorrect)],
    once: OnceDep,
    session: SessionDep,
    now: NowDep,
) -> Response:
    """Put a day's count right; the first version stays on record, with the reason."""
    return once(lambda: done(tests.correct_counts(session, id, form, now=now)))


@router.post("/{id}/finish", responses=_DONE)
def finish(
    id: IdPath,
    form: Annotated[TestFinish, body(TestFinish)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Finish a test; the answer says what it means."""
    return once(lambda: done(finish_test_foretold(session, id, form, today=today, now=now)))
