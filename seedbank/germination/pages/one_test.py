"""One germination test: counted seed by seed, looked ahead from, finished, read, taken back."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Annotated

from fastapi import Path, Response

from seedbank.common.dates import happened, in_order
from seedbank.common.errors import NotThere, Refused, StockFault
from seedbank.germination.answers import TestAnswer
from seedbank.germination.forms import CountRow, DayCounts, TestChange
from seedbank.germination.pages.towel_figure import towel_of
from seedbank.germination.run_tests import change_test
from seedbank.germination.show_tests import counts_due, show_test
from seedbank.germination.tables import Judged, SeedCounts
from seedbank.germination.words import pretreatments, seed_classes, substrata, test_faults
from seedbank.kinds.tables import find_kind
from seedbank.science.germination.germination import SPROUTED, SeedClass
from seedbank.sowing.record_sowing import delete_test
from seedbank.verdicts.answers import TestOutlookAnswer
from seedbank.verdicts.preview_counts import look_ahead
from seedbank.verdicts.show_test_effects import read_finished_test
from seedbank.verdicts.words import verdict_words
from seedbank.viability.foretell_tests import save_day_counts_foretold
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
Number = Annotated[int, Path(ge=1, le=2_147_483_647)]


@router.get("/test/{number}")
def show(request: PageRequestDep, number: Number) -> Response:
    """A test to count, or one that is finished; with counts in the address, what they would say."""
    test = show_test(request.session, number)
    asked = request.http.query_params
    day, day_error = _asked_day(request, test, asked.get("on_date", ""))
    typed = {name: text for name, text in asked.items() if name.startswith("counts[")}
    counted = {one.on_date for one in test.counts}
    if test.finished_on is not None and (day not in counted or "on_date" not in asked):
        return _finished(request, test, Filled())
    filled = request.asked(DayCounts) if typed else Filled(_saved(test, day))
    if day_error:
        filled = replace(filled, errors={**filled.errors, "day": day_error})
    return _counting(request, test, day, filled, 422 if day_error else 200)


@router.post("/test/{number}")
def count(sent: SentDep, number: Number) -> Response:
    """Save a day's count, or put it right; with it the test may be finished."""
    request = sent.request

    def again(filled: Filled[DayCounts], status: int) -> Response:
        test = show_test(request.session, number)
        day, day_error = _asked_day(request, test, sent.get("on_date"))
        if day_error:
            filled = replace(filled, errors={**filled.errors, "day": day_error})
        return _counting(request, test, day, filled, status, pressed=sent.get("step"))

    stepped = sent.stepped()
    if stepped is not None:
        return again(Filled(stepped.fields), 200)

    def action(form: DayCounts) -> str:
        save_day_counts_foretold(
            request.session, number, form, today=request.today, now=request.now
        )
        after = _next_towel(request, number) if sent.get("then") == "next" else None
        return f"/test/{after}?counted={number}" if after else f"/test/{number}"

    return sent.act(sent.form(DayCounts), action, again)


@router.post("/test/{number}/undo")
def undo(sent: SentDep, number: Number) -> Response:
    """Take back a test that was a mistake; its seed goes back to the packet."""
    return sent.once(lambda: _undone(sent, number))


@router.post("/test/{number}/fault")
def mark_fault(sent: SentDep, number: Number) -> Response:
    """Say what went wrong with a test, or that nothing did."""

    def action(form: TestChange) -> str:
        change_test(sent.request.session, number, form, expected=sent.version)
        return f"/test/{number}"

    def again(filled: Filled[TestChange], status: int) -> Response:
        test = show_test(sent.request.session, number)
        return _finished(sent.request, test, filled, status)

    fault = {"fault": sent.get("fault") or None}
    return sent.act(sent.form(TestChange, fault), action, again)


def _undone(sent: Sent, number: int) -> str:
    request = sent.request
    test = show_test(request.session, number)
    if sent.get("sure") != "yes":
        raise Refused("test-undoing-not-ticked", "sure", "")
    delete_test(
        request.session, number, expected=sent.version, today=request.today, now=request.now
    )
    return f"/lot/{test.lot}"


def _next_towel(request: PageRequest, number: int) -> int | None:
    """Number of another test that is to be counted today, the latest in coming first."""
    due = counts_due(request.session, today=request.today)
    ready = (one.test for one in due if one.due is not None and one.due <= request.today)
    return next((other for other in ready if other != number), None)


def _just_counted(request: PageRequest) -> TestAnswer | None:
    """The test counted just before this one, if any."""
    number = request.http.query_params.get("counted", "")
    if not number.isascii() or not number.isdigit() or len(number) > 9:
        return None
    try:
        return show_test(request.session, int(number))
    except NotThere:
        return None


def _counting(
    request: PageRequest,
    test: TestAnswer,
    day: date,
    filled: Filled[DayCounts],
    status: int,
    pressed: str = "",
) -> Response:
    preview, filled, fault = _looked_ahead(request, test, day, filled)
    days = sorted({one.on_date for one in test.counts if one.current})
    before = _before(test, day)
    last_due = test.final_count_due is not None and day >= test.final_count_due
    return request.show(
        "germination/pages/test_counting.html",
        422 if fault and status == 200 else status,
        test=test,
        filled=filled,
        preview=preview,
        day=day,
        days=days,
        yesterday=request.today - timedelta(days=1),
        asked_day=request.http.query_params.get("on_date", day.isoformat())[:10],
        day_error=filled.error("day"),
        kind=find_kind(request.session, test.variety.kind).name,
        before_day=before,
        towel=towel_of(preview.replicates, before.values()),
        open_towel=_open_towel(test, day, pressed),
        another_due=_next_towel(request, test.id) is not None,
        pressed=pressed,
        saved=_saved(test, day),
        counted=_just_counted(request),
        late_classes=_late_classes(filled) or last_due,
        last_due=last_due,
        shown=[f"counts[{at}].{name}" for at in range(len(test.replicates)) for name in SeedClass]
        + ["on_date", "why", "finish", "rest_dead", "day"],
        substrata=substrata(),
        pretreatments=pretreatments(),
        verdict_words=verdict_words,
    )


def _looked_ahead(
    request: PageRequest, test: TestAnswer, day: date, filled: Filled[DayCounts]
) -> tuple[TestOutlookAnswer, Filled[DayCounts], bool]:
    """What the counts typed would say, or those on record where they can't be right."""
    rows = _rows(filled.values, test)
    try:
        preview = look_ahead(request.session, test.id, rows, on=day, today=request.today)
    except StockFault as fault:
        preview = look_ahead(request.session, test.id, [], on=day, today=request.today)
        if filled.errors:
            return preview, filled, True
        number = getattr(fault, "replicate", None)
        at = next((n for n, one in enumerate(test.replicates) if one.number == number), 0)
        fault.field = f"counts[{at}].normal"
        return preview, filled.faulted(fault, request.local), True
    return preview, filled, bool(filled.errors)


def _rows(values: Mapping[str, str], test: TestAnswer) -> list[CountRow]:
    """The counts typed so far; what doesn't read as a number counts as nothing yet."""
    rows = []
    for at, one in enumerate(test.replicates):
        judged = {name: _whole_number(values.get(f"counts[{at}].{name}", "")) for name in SeedClass}
        if any(f"counts[{at}].{name}" in values for name in SeedClass):
            rows.append(CountRow(replicate=one.number, **judged))
    return rows


def _whole_number(text: str) -> int:
    text = text.strip()
    return int(text) if text.isascii() and text.isdigit() and len(text) < 5 else 0


def _saved(test: TestAnswer, day: date) -> dict[str, str]:
    """The count that stands of a day, as the form holds it."""
    places = {one.number: at for at, one in enumerate(test.replicates)}
    return {
        f"counts[{places[one.replicate]}].{name}": str(getattr(one, name))
        for one in test.counts
        if one.current and one.on_date == day
        for name in SeedClass
    }


def _late_classes(filled: Filled[DayCounts]) -> bool:
    """Whether seed that has not germinated is being judged already."""
    return any(
        text.strip() not in ("", "0")
        for name, text in filled.values.items()
        if name.endswith(tuple(f".{one}" for one in SeedClass if one not in SPROUTED))
    )


def _asked_day(request: PageRequest, test: TestAnswer, text: str) -> tuple[date, str]:
    """The day to count of, and what is wrong with the one asked for, today being taken then."""
    try:
        day = happened(date.fromisoformat(text), field="on_date", today=request.today)
        in_order(test.started_on, day, "counted-before-set", field="on_date")
    except ValueError:
        return request.today, ""
    except Refused as fault:
        return request.today, f"{fault.text_for(request.local)} {fault.mend_for(request.local)}"
    return day, ""


def _before(test: TestAnswer, day: date) -> dict[int, Judged]:
    """What each replicate's counts of other days say, added up."""
    found = {one.number: Judged.of(SeedCounts()) for one in test.replicates}
    for one in test.counts:
        if one.current and one.on_date != day:
            found[one.replicate] = found[one.replicate].with_more(Judged.of(one))
    return found


def _open_towel(test: TestAnswer, day: date, pressed: str) -> int:
    """The replicate whose keys are in sight: the one just pressed, or the first to be counted."""
    if pressed.startswith("counts["):
        at = _whole_number(pressed[len("counts[") :].partition("]")[0])
        if at < len(test.replicates):
            return test.replicates[at].number
    counted = {one.replicate for one in test.counts if one.current and one.on_date == day}
    waiting = [one.number for one in test.replicates if one.unjudged]
    fresh = [number for number in waiting if number not in counted]
    return next(iter([*fresh, *waiting]), test.replicates[0].number)


def _finished(
    request: PageRequest, test: TestAnswer, filled: Filled[TestChange], status: int = 200
) -> Response:
    return request.show(
        "germination/pages/test_finished.html",
        status,
        test=test,
        filled=filled,
        faults=test_faults(),
        classes=seed_classes(),
        read=read_finished_test(request.session, test, today=request.today),
        days=sorted({one.on_date for one in test.counts if one.current}),
        substrata=substrata(),
        pretreatments=pretreatments(),
        verdict_words=verdict_words,
    )
