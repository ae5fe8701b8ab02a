"""Reading the packaged CSV tables into typed, frozen rows."""

import csv
import types
from collections.abc import Callable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from seedbank.facts.sources import Confidence, Source, Span

R = TypeVar("R")


class TableError(Exception):
    """A packaged table doesn't have the shape its rows need; names table, row and column."""

    def __init__(self, table: str, row: int, problem: str) -> None:
        super().__init__(f"table {table}, row {row}: {problem}")
        self.table = table
        self.row = row
        self.problem = problem


@cache
def read_table(name: str, folder: str = "tables") -> tuple[Mapping[str, str], ...]:
    """Rows of ``<folder>/<name>.csv`` as printed, read from the installed package.

    Raises ``TableError`` for a row with too many or too few cells.
    """
    resource = files("seedbank.facts").joinpath(folder, f"{name}.csv")
    rows = list(csv.DictReader(resource.read_text(encoding="utf-8").splitlines()))
    for number, row in enumerate(rows, start=1):
        if None in row or None in row.values():
            raise TableError(name, number, "the number of cells differs from the heading")
    return tuple(types.MappingProxyType(row) for row in rows)


def load_rows(name: str, row_type: type[R], folder: str = "tables") -> tuple[R, ...]:
    """Every row of a table as ``row_type``, whose fields carry the column names.

    ``source`` holds both the source and the confidence column. Raises ``TableError`` when the
    columns differ from the fields or a cell can't be read as its field's type. A field named by
    a reserved word ends in an underscore, as ``class_``.
    """
    hints = get_type_hints(row_type)
    rows = read_table(name, folder)
    _check_heading(name, set(rows[0]), {name.rstrip("_") for name in hints} | {"confidence"})
    readers = {
        column: (column.rstrip("_"), None if kind is Source else _reader(kind))
        for column, kind in hints.items()
    }
    return tuple(_build(name, number, row, row_type, readers) for number, row in enumerate(rows, 1))


def _check_heading(name: str, printed: set[str], wanted: set[str]) -> None:
    if printed != wanted:
        raise TableError(name, 0, f"columns differ: {sorted(printed ^ wanted)}")


def _build(
    name: str,
    number: int,
    row: Mapping[str, str],
    row_type: type[R],
    readers: Mapping[str, tuple[str, Callable[[str], Any] | None]],
) -> R:
    values: dict[str, Any] = {}
    for column, (printed, read) in readers.items():
        try:
            cell = row[printed]
            values[column] = read(cell) if read else _source(cell, row["confidence"])
        except ValueError as problem:
            raise TableError(name, number, f"{column}: {problem}") from problem
    return row_type(**values)


@cache
def _source(text: str, confidence: str) -> Source:
    if not text:
        raise ValueError("a figure without a source")
    return Source(text, Confidence(confidence))


def convert(text: str, kind: Any) -> Any:
    """A cell as ``str``, ``float``, ``int``, ``bool`` (yes/no) or an enum; ``X | None`` if empty.

    Raises ``ValueError`` for text that isn't one.
    """
    return _reader(kind)(text)


@cache
def _reader(kind: Any) -> Callable[[str], Any]:
    """What reads a cell as that."""
    if get_origin(kind) in (Union, types.UnionType):
        read = _reader(next(option for option in get_args(kind) if option is not type(None)))
        return lambda text: read(text) if text else None
    return _yes_or_no if kind is bool else kind


def _yes_or_no(text: str) -> bool:
    if text not in ("yes", "no"):
        raise ValueError(f"{text!r} is neither yes nor no")
    return text == "yes"


def span(text: str) -> Span | None:
    """A printed range such as ``2.5-3.0`` or ``7``; None for an empty cell.

    Raises ``ValueError`` for anything else.
    """
    if not text:
        return None
    low, _, high = text.partition("-")
    return Span(float(low), float(high or low))


def parts(text: str) -> tuple[str, ...]:
    """The pieces of a semicolon list, without blanks."""
    return tuple(piece.strip() for piece in text.split(";") if piece.strip())
