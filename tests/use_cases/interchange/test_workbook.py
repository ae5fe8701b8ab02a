"""Lots, tests and sowings as a workbook. Outside check: openpyxl, which reads it back."""

import io
import tracemalloc
from datetime import date, datetime

from openpyxl import Workbook, load_workbook
from sqlalchemy import insert
from sqlmodel import Session

from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.interchange.workbook.write_workbook import WorkbookReport, write_workbook
from seedbank.lots.tables.lot_codes import code_for
from seedbank.lots.tables.lots import Lot
from seedbank.sowing.forms import SowingCreate
from seedbank.sowing.record_sowing import record_sowing
from tests.use_cases.conftest import DEMO_NOW, DEMO_TODAY, Garden

FORMULAS = (
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(A1)",
    '=HYPERLINK("http://x.example")',
    "http://x.example",
)


def written(session: Session, today: date, now: datetime) -> tuple[WorkbookReport, Workbook]:
    session.rollback()
    out = io.BytesIO()
    report = write_workbook(session, out, today=today, now=now)
    return report, load_workbook(io.BytesIO(out.getvalue()))


def rows(book: Workbook, sheet: str) -> list[dict[str, object]]:
    heads, *found = book[sheet].iter_rows(values_only=True)
    return [dict(zip(heads, row, strict=True)) for row in found]


def test_a_sheet_each_with_real_dates_and_numbers(garden: Garden) -> None:
    lot = garden.lot(250, harvest_date=date(2025, 9, 10), donor="a neighbour", treated=True)
    empty = garden.lot(None)
    form = {"lot": lot.code, "started_on": "2026-02-01", "finished_on": "2026-02-15"}
    replicates = [{"seeds_set": 25, "normal": 19, "fresh": 2}, {"seeds_set": 25, "normal": 20}]
    test = record_test(garden.session, TestRecord(**form, replicates=replicates), **garden.when)
    sowing = SowingCreate(lot=lot.code, seeds_sown=60, method="row", row_m=1.5)
    record_sowing(garden.session, sowing, **garden.when)
    report, book = written(garden.session, garden.today, garden.now)
    assert book.sheetnames == ["lots", "tests", "sowings"]
    assert report == WorkbookReport(lots=2, tests=1, sowings=1)
    told = {row["code"]: row for row in rows(book, "lots")}
    assert told[lot.code]["harvest_date"] == datetime(2025, 9, 10)
    assert told[lot.code]["donor"] == "a neighbour"
    assert told[lot.code]["treated"] is True
    assert told[lot.code]["seeds"] == 250 - 50 - 60
    assert told[empty.code]["seeds"] is None
    [tested] = rows(book, "tests")
    assert (tested["number"], tested["lot"], tested["seeds_set"]) == (test.id, lot.code, 50)
    assert (tested["normal"], tested["fresh"], tested["dead"]) == (39, 2, 9)
    assert tested["finished_on"] == datetime(2026, 2, 15)
    [sown] = rows(book, "sowings")
    assert (sown["seeds_sown"], sown["row_m"], sown["units_emerged"]) == (60, 1.5, None)
    assert sown["sown_on"] == datetime.combine(garden.today, datetime.min.time())


def test_no_text_is_a_formula_or_a_link(garden: Garden) -> None:
    for text in FORMULAS:
        garden.lot(5, notes=text, donor=text)
    _, book = written(garden.session, garden.today, garden.now)
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert {cell.value for cell in cells} >= {*FORMULAS}
    assert [cell for cell in cells if cell.data_type == "f" or cell.hyperlink] == []


def test_of_the_demonstration_every_lot_test_and_sowing_is_there(demo_stock: Session) -> None:
    report, book = written(demo_stock, DEMO_TODAY, DEMO_NOW)
    assert report.lots > 100
    for sheet, number in (
        ("lots", report.lots),
        ("tests", report.tests),
        ("sowings", report.sowings),
    ):
        found = rows(book, sheet)
        assert len(found) == number
        assert len({row["code" if sheet == "lots" else "number"] for row in found}) == number


def test_memory_does_not_grow_with_the_lots(garden: Garden) -> None:
    variety, most = garden.variety(), []
    for start, end in ((0, 1_000), (1_000, 4_000)):
        lots = [
            {
                "code": code_for(n),
                "variety_id": variety,
                "origin": "bought",
                "notes": "x" * 200,
                "created_at": garden.now,
            }
            for n in range(start, end)
        ]
        garden.session.execute(insert(Lot), lots)
        garden.session.commit()
        del lots
        tracemalloc.start()
        with io.BytesIO() as out:
            report = write_workbook(garden.session, out, **garden.when)
        most.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        garden.session.rollback()
        assert report.lots == end
    assert most[1] < 2 * most[0]
