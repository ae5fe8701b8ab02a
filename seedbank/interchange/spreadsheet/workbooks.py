"""Workbooks of a spreadsheet program (.xlsx and .ods) as tables of text, by python-calamine.

It reads values alone: no formula is worked out, no macro run and no link followed. What a workbook
unpacks to is added up from its directory before anything in it is read.
"""

import io
import zipfile
import zlib
from datetime import date, datetime, time, timedelta
from typing import Any, Final

from python_calamine import CalamineError, CalamineWorkbook, SheetTypeEnum

from seedbank.science.quantities import Value

_MOST_UNPACKED: Final = 60_000_000  # bytes; 50,000 rows of ten cells take about 30,000,000
_MOST_PARTS: Final = 2_000
_MOST_SHEETS: Final = 100


class WorkbookError(Exception):
    """It can't be read as a workbook; ``code`` says why."""

    def __init__(self, code: str, **values: Value) -> None:
        super().__init__(code)
        self.code, self.values = code, values


def tables_of(
    content: bytes, *, most_rows: int, most_columns: int
) -> list[tuple[str, list[list[str]]]]:
    """The title and rows of each sheet that is shown; merged cells each hold what their first does.

    Raises WorkbookError.
    """
    _check_unpacked(content)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(content))
        titles = [one.name for one in book.sheets_metadata if one.typ is SheetTypeEnum.WorkSheet][
            :_MOST_SHEETS
        ]
        return [(title, _table(book, title, most_rows, most_columns)) for title in titles]
    except CalamineError as fault:
        raise WorkbookError("sheet-no-workbook") from fault


def _check_unpacked(content: bytes) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            parts = packed.infolist()
            if len(parts) > _MOST_PARTS or sum(one.file_size for one in parts) > _MOST_UNPACKED:
                raise WorkbookError("sheet-unpacks-too-large", most=_MOST_UNPACKED)
            if packed.testzip() is not None:  # also where a part is larger than it says
                raise WorkbookError("sheet-no-workbook")
    except (zipfile.BadZipFile, zlib.error, ValueError, RuntimeError) as fault:
        raise WorkbookError("sheet-no-workbook") from fault


def _table(book: Any, title: str, most_rows: int, most_columns: int) -> list[list[str]]:
    sheet = book.get_sheet_by_name(title)
    height = sheet.total_height
    if height > 20 * most_rows or sheet.total_width > 20 * most_columns:
        raise WorkbookError("sheet-too-many-rows", most=most_rows)
    rows = [[_text(cell) for cell in row] for row in sheet.to_python(skip_empty_area=False)]
    for (top, left), (bottom, right) in sheet.merged_cell_ranges or ():
        if left == right and top < len(rows) and left < len(rows[top]):
            for row in rows[top + 1 : bottom + 1]:
                row[left] = rows[top][left]
    return rows


def _text(cell: object) -> str:
    """A cell as it would be typed: days as in ISO 8601, whole numbers without a point."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, time | timedelta):
        return str(cell)
    if isinstance(cell, float):
        if cell.is_integer() and abs(cell) < 1e15:
            return str(int(cell))
        text = f"{cell:.10g}"
        # A point is one here; three figures after it would be asked about as in a text.
        return text + "0" if len(text.partition(".")[2]) == 3 else text
    return str(cell)
