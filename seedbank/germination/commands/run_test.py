"""``seedbank test start``, ``count`` and ``finish``: a test as it lies on its towel; and which are.

A test is named by its number, or by the code of the lot whose only open test it is.
"""

from typing import Annotated

import typer
from sqlmodel import Session

from seedbank.cli.answer_lists import JsonLinesOption, every_page, known, print_json, print_table
from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import Given, fill_form, options_of
from seedbank.cli.screen import bullets, name_of, screen, show_cautions, words
from seedbank.cli.typed_codes import CodesArgument, typed_codes
from seedbank.common.errors import Refused
from seedbank.database.queries import Paging
from seedbank.germination.answers import TestAnswer, TestSummary
from seedbank.germination.commands.record_test import show as show_finished
from seedbank.germination.commands.record_test import show_contradiction
from seedbank.germination.forms import DayCounts, TestFinish, TestStart
from seedbank.germination.run_tests import start_tests
from seedbank.germination.show_tests import list_tests, show_test
from seedbank.germination.tables import TestFilter
from seedbank.lots.named_by_lot import number_meant
from seedbank.science.germination.germination import SeedClass
from seedbank.sowing.record_sowing import delete_test
from seedbank.upkeep.command_session import opened
from seedbank.viability.foretell_tests import finish_test_foretold, save_day_counts_foretold
from seedbank.viability.show_viability import show_viability

TestArgument = Annotated[
    str,
    typer.Argument(help="Code of the lot tested, or number of the test.", metavar="CODE"),
]
SetOption = Annotated[
    list[int], typer.Option("--set", help="Seeds set; give one for each replicate.")
]
CountsOption = Annotated[
    list[str],
    typer.Option(
        "--rep",
        help="What was judged of a replicate that day, as normal,abnormal,hard,fresh,dead, like "
        "12,0,0,0,1; give one for each in turn. Numbers left out at the end are 0.",
    ),
]


@options_of(TestStart, leave_out=("lot", "replicates"))
def start(
    lots: CodesArgument,
    seeds_set: SetOption,
    given: Given,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """Start a germination test of each lot, or of none: its seed leaves the lot."""
    forms = [
        TestStart.model_validate({"lot": code, "replicates": seeds_set, **given})
        for code in typed_codes(lots)
    ]
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        started = start_tests(session, forms, today=today, now=now)
    if not print_json(started, json=json, json_lines=json_lines):
        bullets(map(_open_words, started))
        show_cautions(list(dict.fromkeys(one for test in started for one in test.cautions)))


@options_of(DayCounts, leave_out=("counts",))
def count(
    test: TestArgument,
    rep: CountsOption,
    given: Given,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Record what was judged on a day, or put that day's count right with --why."""
    rows = [{"replicate": at, **_judged(text)} for at, text in enumerate(rep, start=1)]
    form = DayCounts.model_validate({"counts": rows, **given})
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        number = test_meant(session, test)
        answer = save_day_counts_foretold(session, number, form, today=today, now=now)
    _show(answer, json)


@options_of(TestFinish)
def finish(
    test: TestArgument,
    given: Given,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """End a test and learn what it says of the lot."""
    form = TestFinish.model_validate(given)
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        number = test_meant(session, test)
        answer = finish_test_foretold(session, number, form, today=today, now=now)
        life = show_viability(session, answer.lot, today=today)
    _show(answer, json)
    if not json:
        show_contradiction(life)


@fill_form
def show_list(
    wanted: TestFilter,
    database: DatabaseOption = None,
    json: JsonOption = False,
    json_lines: JsonLinesOption = False,
) -> None:
    """List germination tests, the earliest first."""
    with opened(settings_for(database)) as collection:
        session = collection.session
        found = list(every_page(lambda paging: list_tests(session, wanted, paging)))
    if not print_json(found, json=json, json_lines=json_lines):
        columns = ("number", "lot", "variety", "started", "due", "finished", "set", "normal")
        print_table(columns, map(_row, found), numbers=2)


def show(test: TestArgument, database: DatabaseOption = None, json: JsonOption = False) -> None:
    """Show a germination test, and what it says so far."""
    with opened(settings_for(database)) as collection:
        answer = show_test(collection.session, test_meant(collection.session, test))
    _show(answer, json)


def undo(test: TestArgument, database: DatabaseOption = None, json: JsonOption = False) -> None:
    """Take back a test recorded by mistake; its seed returns to the lot."""
    with opened(settings_for(database)) as collection:
        session, today, now = collection.session, collection.today, collection.now
        answer = show_test(session, test_meant(session, test))
        delete_test(session, answer.id, expected=[answer.version], today=today, now=now)
    if json:
        print(answer.model_dump_json(indent=2))
    else:
        screen().print(words("test-undone", test=str(answer.id), lot=answer.lot))


def test_meant(session: Session, typed: str) -> int:
    """The number of the test named (``number_meant``)."""
    return number_meant(
        "test",
        typed,
        lambda code: list_tests(session, TestFilter(lot=code), Paging(1000)).items,
        lambda test: test.finished_on is None,
    )


def _judged(text: str) -> dict[str, int]:
    numbers = text.split(",")
    try:
        if len(numbers) > len(SeedClass):
            raise ValueError
        return dict(zip(map(str, SeedClass), map(int, numbers), strict=False))
    except ValueError:
        raise Refused("judged-misread", "rep", text) from None


def _open_words(test: TestAnswer) -> str:
    return words(
        "test-open",
        test=str(test.id),
        lot=test.lot,
        variety=name_of(test.variety),
        set=sum(one.seeds_set for one in test.replicates),
        judged=sum(one.seeds_set - one.unjudged for one in test.replicates),
        first=known(test.first_count_due) or "none",
        final=known(test.final_count_due) or "none",
    )


def _show(test: TestAnswer, json: bool) -> None:
    if json:
        print(test.model_dump_json(indent=2))
    elif test.finished_on is not None:
        show_finished(test)
    else:
        screen().print(_open_words(test))
        show_cautions(test.cautions)


def _row(test: TestSummary) -> tuple[str, ...]:
    return (
        str(test.id),
        test.lot,
        name_of(test.variety),
        known(test.started_on),
        known(None if test.finished_on else test.final_count_due),
        known(test.finished_on),
        str(sum(one.seeds_set for one in test.replicates)),
        str(sum(one.normal for one in test.replicates)),
    )
