"""One germination test: counted seed by seed, looked ahead from, finished, read, taken back."""

from collections.abc import Mapping
from datetime import date
from typing import Annotated

from fastapi import Path, Response

from seedbank.common.errors import Refused, StockFault
from seedbank.germination.answers import TestAnswer
from seedbank.germination.forms import CountRow, DayCounts, TestChange
from seedbank.germination.run_tests import change_test
from seedbank.germination.show_tests import show_test
from seedbank.germination.words import pretreatments, seed_classes, substrata, test_faults
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
    day = _day(asked.get("on_date"), request.today)
    typed = {name: text for name, text in asked.items() if name.startswith("counts[")}
    counted = {one.on_date for one in test.counts}
    if test.finished_on is not None and (day not in counted or "on_date" not in asked):
        return _finished(request, test, Filled())
    if not typed:
        return _counting(request, test, day, Filled(_saved(test, day)), 200)
    return _counting(request, test, day, request.asked(DayCounts), 200)


@router.post("/test/{number}")
def count(sent: SentDep, number: Number) -> Response:
    """Save a day's count, or put it right; with it the test may be finished."""
    request = sent.request

    def again(filled: Filled[DayCounts], status: int) -> Response:
        test = show_test(request.session, number)
        return _counting(request, test, _day(sent.get("on_date"), request.today), filled, status)

    stepped = sent.stepped()
    if stepped is not None:
        return again(Filled(stepped.fields), 200)

    def action(form: DayCounts) -> str:
        save_day_counts_foretold(
            request.session, number, form, today=request.today, now=request.now
        )
        return f"/test/{number}"

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


def _counting(
    request: PageRequest, test: TestAnswer, day: date, filled: Filled[DayCounts], status: int
) -> Response:
    preview, filled, fault = _looked_ahead(request, test, day, filled)
    days = sorted({one.on_date for one in test.counts if one.current})
    last = test.final_count_due
    return request.show(
        "germination/pages/test_counting.html",
        422 if fault and status == 200 else status,
        test=test,
        filled=filled,
        preview=preview,
        day=day,
        days=days,
        saved=_saved(test, day),
        classes=seed_classes(),
        sprouted=SPROUTED,
        late_classes=_late_classes(filled) or (last is not None and day >= last),
        last_due=last is not None and day >= last,
        shown=[
            f"counts[{at}].{name}" for at in range(len(test.replicates)) for name in SeedClass
        ] + ["on_date", "why", "finish", "rest_dead"],
        substrata=substrata(),
        pretreatments=pretreatments(), verdict_words=verdict_words,)  # fmt: skip


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


def _day(text: str | None, today: date) -> date:
    try:
        return date.fromisoformat(text) if text else today
    except ValueError:
        return today


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
