"""Between values and the text of a cell, both ways without loss.

Spreadsheets take a cell that begins with ``= + - @`` for a formula, and a formula can do harm. So
a text that begins so, after any blanks, or with a tab, a line break or an apostrophe, is written
with one apostrophe before it; reading takes that apostrophe away again. Numbers are not texts and
stay as they are. An empty cell is an unknown value; where a column can hold both no value and a
text of no characters, the latter is a lone apostrophe.
"""

import json
import math
import re
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime
from enum import Enum
from typing import Any

from seedbank.common.errors import Misfit
from seedbank.interchange.folder.columns import CellType, ColumnSpec

GUARD = "'"
_STARTS_FORMULA = "=+-@＝＋－＠" + GUARD
_LARGEST = 2_147_483_647  # of a whole number in the database
_WHOLE = re.compile(r"-?[0-9]{1,10}")
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?(e[+-]?[0-9]{1,3})?", re.IGNORECASE)
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def guarded(text: str) -> str:
    """The text as a cell no spreadsheet takes for a formula."""
    bare = text.lstrip()
    dangerous = bare[:1] in _STARTS_FORMULA if bare else bool(text)
    return GUARD + text if dangerous or text[:1] in ("\t", "\r", "\n") else text


def unguarded(cell: str) -> str:
    """The text that ``guarded`` wrote."""
    return cell.removeprefix(GUARD)


def cell_writer(spec: ColumnSpec) -> Callable[[Any], str]:
    """How every value of a column but None is written: chosen once, for there are many.

    Of a column of files it is the row's key that is written, as the file's name.
    """
    if spec.holds is CellType.FILE:
        return lambda key: file_of(spec.table, key)
    if spec.holds is CellType.TEXT and spec.has_null:
        return lambda text: guarded(text) or GUARD
    return _WRITE[spec.holds]


def _written_json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def _written_moment(value: datetime) -> str:
    return value.astimezone(UTC).isoformat().replace("+00:00", "Z")


_WRITE: Mapping[CellType, Callable[[Any], str]] = {
    CellType.TEXT: guarded,
    CellType.WORD: lambda word: str(word.value if isinstance(word, Enum) else word),
    CellType.WHOLE: str,
    CellType.NUMBER: repr,
    CellType.YES_NO: lambda flag: "yes" if flag else "no",
    CellType.DATE: str,
    CellType.MOMENT: _written_moment,
    CellType.JSON: _written_json,
}


def file_of(table: str, key: object) -> str:
    """Name of the file that holds what a row of a table has too large for a cell."""
    return f"{table}-{key}.jpg"


def is_file_of(table: str, name: str) -> bool:
    """Is it such a name? Keys are numbers."""
    return re.fullmatch(rf"{table}-[0-9]{{1,10}}\.jpg", name) is not None


def value_of(cell: str, spec: ColumnSpec) -> Any:
    """The value a cell stands for, ready for the database; of a file its name.

    Raises Misfit: it can't be one; the message says what to write.
    """
    if cell == "" and (spec.has_null or spec.holds is not CellType.TEXT):
        if not spec.has_null:
            raise Misfit("cell-empty")
        return None
    return _READ[spec.holds](cell, spec)


def _text(cell: str, spec: ColumnSpec) -> str:
    text = unguarded(cell)
    if spec.longest is not None and len(text) > spec.longest:
        raise Misfit("limit-string-too-long", max_length=spec.longest)
    if "\0" in text:
        raise Misfit("no-control-characters")
    return text


def _file(cell: str, spec: ColumnSpec) -> str:
    if not is_file_of(spec.table, cell):
        raise Misfit("cell-no-file", example=file_of(spec.table, 12))
    return cell


def _word(cell: str, spec: ColumnSpec) -> Any:
    if cell not in spec.words:
        raise Misfit("write-one-of", choices=", ".join(spec.words))
    return cell if spec.vocabulary is None else spec.vocabulary(cell)


def _whole_number(cell: str, _spec: ColumnSpec) -> int:
    if not _WHOLE.fullmatch(cell) or abs(int(cell)) > _LARGEST:
        raise Misfit("cell-no-whole-number")
    return int(cell)


def _number(cell: str, _spec: ColumnSpec) -> float:
    if not _NUMBER.fullmatch(cell) or not math.isfinite(float(cell)):
        raise Misfit("cell-no-number")
    return float(cell)


def _yes_no(cell: str, _spec: ColumnSpec) -> bool:
    if cell not in ("yes", "no"):
        raise Misfit("cell-no-yes-or-no")
    return cell == "yes"


def _date(cell: str, _spec: ColumnSpec) -> date:
    try:
        if _DATE.fullmatch(cell):
            return date.fromisoformat(cell)
    except ValueError:
        pass
    raise Misfit("date-misread")


def _moment(cell: str, _spec: ColumnSpec) -> datetime:
    try:
        moment = datetime.fromisoformat(cell)
        if moment.tzinfo is not None:
            return moment.astimezone(UTC)
    except (ValueError, OverflowError):
        pass
    raise Misfit("cell-no-moment")


def _json(cell: str, _spec: ColumnSpec) -> Any:
    try:
        found = json.loads(cell)
    except (ValueError, RecursionError):
        found = None
    kinds = {type(one) for one in found} if isinstance(found, list) else {str}
    if not (kinds <= {dict} or (kinds <= {int, float} and all(map(math.isfinite, found)))):
        raise Misfit("cell-no-json-list")
    return found


_READ = {
    CellType.TEXT: _text,
    CellType.WORD: _word,
    CellType.WHOLE: _whole_number,
    CellType.NUMBER: _number,
    CellType.YES_NO: _yes_no,
    CellType.DATE: _date,
    CellType.MOMENT: _moment,
    CellType.JSON: _json,
    CellType.FILE: _file,
}
