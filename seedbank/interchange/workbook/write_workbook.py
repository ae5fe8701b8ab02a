"""Lots, tests and sowings as a workbook (.xlsx): a sheet each, with real dates and numbers.

Written by XlsxWriter, a row at a time: what was written is in a file, so that a large collection
takes no more memory than a small one. Text is written as text, whatever it begins with: no cell
of the workbook is a formula or a link. Unlike the archive it can't be taken in again.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import IO, TYPE_CHECKING, Final, TypeVar

from sqlmodel import Session

from seedbank.common.answers import AnswerModel
from seedbank.database.queries import Page, Paging
from seedbank.emergence.tables import SowingFields, SowingFilter
from seedbank.germination.answers import TestSummary
from seedbank.germination.show_tests import list_tests
from seedbank.germination.tables import DueFields, TestFilter
from seedbank.interchange.folder.whole_collection import hold_still
from seedbank.lots.answers import LotAnswer
from seedbank.lots.show_lots import list_lots
from seedbank.lots.tables.lot_search import LotFilter
from seedbank.lots.tables.lots import LotFields
from seedbank.science.germination.germination import SeedClass
from seedbank.sowing.answers import SowingSummary
from seedbank.sowing.show_sowings import list_sowings

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.worksheet import Worksheet

Cell = str | float | date | bool | None
Answer = TypeVar("Answer", bound=AnswerModel)
_A_PAGE: Final = 500
_WIDTH: Final = 16  # characters; our choice
_FIRST_DAY: Final = date(1900, 3, 1)  # workbooks take 1900 for a leap year
_OPTIONS: Final = {
    "constant_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}


@dataclass(frozen=True, slots=True)
class WorkbookReport:
    """How many rows each sheet has, its heading not counted."""

    lots: int
    tests: int
    sowings: int


def write_workbook(
    session: Session, out: IO[bytes], *, today: date, now: datetime
) -> WorkbookReport:
    """Write the workbook to ``out``, as the collection is at one moment.

    ``session`` must not have read anything yet in its transaction.
    """
    from xlsxwriter import Workbook  # only who writes a workbook waits for it

    hold_still(session)
    with Workbook(out, _OPTIONS) as book:
        book.set_properties({"created": now.replace(tzinfo=None)})
        bold, day = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})

        def sheet(name: str, rows: Iterator[Mapping[str, Cell]], columns: Iterable[str]) -> int:
            return _write(book.add_worksheet(name), rows, list(columns), bold, day)

        return WorkbookReport(
            lots=sheet(
                "lots",
                _rows(session, lambda at: list_lots(session, LotFilter(), at, today=today), _lot),
                LOT_COLUMNS,
            ),
            tests=sheet(
                "tests",
                _rows(session, lambda at: list_tests(session, TestFilter(), at), _test),
                TEST_COLUMNS,
            ),
            sowings=sheet(
                "sowings",
                _rows(session, lambda at: list_sowings(session, SowingFilter(), at), _sowing),
                SOWING_COLUMNS,
            ),
        )


def _rows(
    session: Session,
    ask: Callable[[Paging], Page[Answer]],
    row: Callable[[Answer], Mapping[str, Cell]],
) -> Iterator[Mapping[str, Cell]]:
    """All of a list as rows; no more than a page of it is in memory at a time."""
    paging: Paging | None = Paging(_A_PAGE)
    while paging is not None:
        page = ask(paging)
        yield from map(row, page.items)
        session.expunge_all()
        paging = None if page.next is None else Paging(_A_PAGE, page.next)


def _write(
    sheet: "Worksheet",
    rows: Iterator[Mapping[str, Cell]],
    columns: list[str],
    bold: "Format",
    day: "Format",
) -> int:
    sheet.freeze_panes(1, 1)
    sheet.set_column(0, len(columns) - 1, _WIDTH)
    for place, name in enumerate(columns):
        sheet.write_string(0, place, name, bold)
    number = 0
    for number, row in enumerate(rows, start=1):
        for place, name in enumerate(columns):
            _put(sheet, number, place, row[name], day)
    return number


def _put(sheet: "Worksheet", row: int, place: int, value: Cell, day: "Format") -> None:
    """One cell by the type of its value: a date is a date, a number a number, text is text."""
    if value is None or value == "":
        return
    if isinstance(value, bool):
        sheet.write_boolean(row, place, value)
    elif isinstance(value, date):
        if value < _FIRST_DAY:
            sheet.write_string(row, place, value.isoformat())
        else:
            sheet.write_datetime(row, place, value, day)
    elif isinstance(value, str):
        sheet.write_string(row, place, str(value))
    else:
        sheet.write_number(row, place, value)


LOT_COLUMNS: Final = (
    *("code", "variety", "kind", "seeds", "seeds_se", "grams", "place"),
    *LotFields.model_fields,
    *("parents", "cautions"),
)
TEST_COLUMNS: Final = (
    *("number", "lot", "variety", "kind", "started_on", "finished_on", "replicates", "seeds_set"),
    *map(str, SeedClass),
    "unjudged",
    *DueFields.model_fields,
)
SOWING_COLUMNS: Final = (
    *("number", "lot", "variety", "kind", "sown_on", "finished_on", "seeds_sown", "units_emerged"),
    *SowingFields.model_fields,
)


def _lot(lot: LotAnswer) -> Mapping[str, Cell]:
    return {
        **lot.model_dump(include=set(LotFields.model_fields)),
        "code": lot.code,
        "variety": lot.variety.name,
        "kind": lot.variety.kind,
        "seeds": lot.amount.seeds,
        "seeds_se": lot.amount.seeds_se,
        "grams": lot.amount.grams,
        "place": lot.place.name if lot.place else None,
        "parents": " ".join(lot.parents),
        "cautions": " ".join(one.text for one in lot.cautions),
    }


def _test(test: TestSummary) -> Mapping[str, Cell]:
    judged = {str(each): sum(one.seeds(each) for one in test.replicates) for each in SeedClass}
    return {
        **test.model_dump(include={"lot", "started_on", "finished_on", *DueFields.model_fields}),
        **judged,
        "number": test.id,
        "variety": test.variety.name,
        "kind": test.variety.kind,
        "replicates": len(test.replicates),
        "seeds_set": sum(one.seeds_set for one in test.replicates),
        "unjudged": sum(one.unjudged for one in test.replicates),
    }


def _sowing(sowing: SowingSummary) -> Mapping[str, Cell]:
    own = {"lot", "sown_on", "finished_on", "seeds_sown", "units_emerged"}
    return {
        **sowing.model_dump(include={*own, *SowingFields.model_fields}),
        "number": sowing.id,
        "variety": sowing.variety.name,
        "kind": sowing.variety.kind,
    }
