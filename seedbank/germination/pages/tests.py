"""Germination tests: the open ones, starting one by advice, entering a whole finished one."""

from datetime import timedelta

from fastapi import Response

from seedbank.common.catalogue import choice_words
from seedbank.database.queries import Paging
from seedbank.germination.answers import TestSummary
from seedbank.germination.forms import TestRecord, TestStart
from seedbank.germination.propose_test import propose_test, show_test_method
from seedbank.germination.run_tests import start_test
from seedbank.germination.show_tests import list_tests
from seedbank.germination.tables import TestFilter
from seedbank.germination.words import pretreatments, substrata, test_faults
from seedbank.kinds.tables import find_kind
from seedbank.lots.show_lots import show_lot
from seedbank.science.germination.germination import SeedClass
from seedbank.verdicts.advise_testing import advise_testing
from seedbank.viability.foretell_tests import record_test_foretold
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
PARTS = 8
_SHOWN_PARTS = 4
_MOST_OPEN = 40
_MOST_ON_SHEET, _SHEET_DAYS = 200, 7
_CONDITIONS = ["substratum", "pretreatment", "temp_c", "in_light", "notes"]


@router.get("/tests")
def browse(request: PageRequestDep) -> Response:
    """Open tests, the earliest started first."""
    page = list_tests(request.session, TestFilter(open=True), Paging(_MOST_OPEN))
    return request.show(
        "germination/pages/tests.html", tests=page.items, more=page.next is not None
    )


@router.get("/tests/sheet")
def sheet(request: PageRequestDep) -> Response:
    """Open tests by place, with a box for each of the next days: to print, and to count on."""
    session, today = request.session, request.today
    tests = list_tests(session, TestFilter(open=True), Paging(_MOST_ON_SHEET)).items
    lots = {test.lot: show_lot(session, test.lot, today=today) for test in tests}
    places: dict[str, list[tuple[TestSummary, str]]] = {}
    for test in tests:
        place = lots[test.lot].place
        kind = find_kind(session, test.variety.kind).name
        places.setdefault(place.name if place else "", []).append((test, kind))
    return request.show(
        "germination/pages/count_sheet.html",
        places=sorted(places.items()),
        days=[today + timedelta(days=number) for number in range(_SHEET_DAYS)],
    )


@router.get("/lot/{code}/test")
def ask(request: PageRequestDep, code: str) -> Response:
    """Whether to test a lot, with how many seeds and how; the form that starts it."""
    return _starting(request, code, Filled(), 200)


@router.post("/lot/{code}/test")
def start(sent: SentDep, code: str) -> Response:
    """Start the test; its seed leaves the packet."""
    request = sent.request

    def action(form: TestStart) -> str:
        test = start_test(request.session, form, today=request.today, now=request.now)
        return f"/test/{test.id}"

    def again(filled: Filled[TestStart], status: int) -> Response:
        return _starting(request, code, filled, status)

    return sent.act(sent.form(TestStart, {"lot": code}), action, again)


@router.get("/lot/{code}/test/finished")
def ask_finished(request: PageRequestDep, code: str) -> Response:
    """The form for a test that was done elsewhere and is over."""
    return _entering(request, code, Filled(), 200)


@router.post("/lot/{code}/test/finished")
def record(sent: SentDep, code: str) -> Response:
    """Record a whole finished test."""
    request = sent.request

    def action(form: TestRecord) -> str:
        test = record_test_foretold(request.session, form, today=request.today, now=request.now)
        return f"/test/{test.id}"

    def again(filled: Filled[TestRecord], status: int) -> Response:
        return _entering(request, code, filled, status)

    return sent.act(sent.form(TestRecord, {"lot": code}), action, again)


def _starting(request: PageRequest, code: str, filled: Filled[TestStart], status: int) -> Response:
    advice = advise_testing(request.session, code, today=request.today)
    proposal = propose_test(advice)
    running = list_tests(request.session, TestFilter(open=True, lot=advice.lot), Paging(1))
    parts = [f"replicates[{at}]" for at in range(PARTS)]
    return request.show(
        "germination/pages/test_start.html",
        status,
        advice=advice,
        proposal=proposal,
        method=show_test_method(request.session, code),
        running=running.items,
        filled=filled,
        parts=parts[:_SHOWN_PARTS],
        more_parts=parts[_SHOWN_PARTS:],
        substrata=substrata().items(),
        pretreatments=pretreatments().items(),
        lights=choice_words("test-in-light", ("true", "false")).items(),
        shown=[*parts, *_CONDITIONS, "started_on"],
    )


def _entering(request: PageRequest, code: str, filled: Filled[TestRecord], status: int) -> Response:
    classes = choice_words("seed-class", ("seeds_set", *SeedClass))
    shown = [f"replicates[{at}].{name}" for at in range(PARTS) for name in classes]
    shown += [f"replicates[{at}]" for at in range(PARTS)]
    return request.show(
        "germination/pages/test_whole.html",
        status,
        lot=show_lot(request.session, code, today=request.today),
        filled=filled,
        parts=range(_SHOWN_PARTS),
        classes=classes,
        substrata=substrata().items(),
        pretreatments=pretreatments().items(),
        lights=choice_words("test-in-light", ("true", "false")).items(),
        faults=test_faults().items(),
        shown=[*shown, *_CONDITIONS, "fault", "started_on", "finished_on"],
    )
