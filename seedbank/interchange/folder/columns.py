"""The data dictionary: every column of the archive, read from the schema and its meanings.

As a page: ``python -m seedbank.interchange.folder.columns FILE`` writes the part of it below
its mark anew and leaves what is above alone.
"""

import csv
import re
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum as PyEnum
from enum import StrEnum
from functools import cache
from importlib.resources import files
from itertools import groupby
from pathlib import Path
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    Enum,
    Float,
    Integer,
    LargeBinary,
    String,
    Table,
    TypeDecorator,
)
from sqlalchemy.orm import class_mapper
from sqlalchemy.types import TypeEngine

from seedbank.interchange.folder.rows import ROWS
from seedbank.interchange.folder.whole_collection import collection_tables
from seedbank.kinds.tables import Kind

HEADING = (
    "table", "column", "meaning", "unit", "type", "allowed_values", "may_be_empty", "refers_to",
)  # fmt: skip
_ALIKE = "*"


class CellType(StrEnum):
    """What a cell holds, and so how it is written."""

    TEXT = "text"
    WORD = "word"
    WHOLE = "whole number"
    NUMBER = "number"
    YES_NO = "yes or no"
    DATE = "date"
    MOMENT = "moment"
    JSON = "JSON"
    FILE = "file"
    """The name of a file beside the table's, which holds the value."""


@dataclass(frozen=True, slots=True)
class ColumnSpec:
    """One column. ``words`` are those a word may be, ``longest`` the most characters of a text."""

    table: str
    name: str
    meaning: str
    unit: str
    holds: CellType
    words: tuple[str, ...]
    longest: int | None
    rules: tuple[str, ...]
    has_null: bool
    has_default: bool
    refers_to: str
    vocabulary: type[PyEnum] | None

    @property
    def allowed(self) -> str:
        if self.words:
            return " | ".join(self.words)
        length = () if self.longest is None else (f"at most {self.longest} characters",)
        return "; ".join((*length, *self.rules))

    @property
    def may_be_empty(self) -> bool:
        return self.has_null or (self.holds is CellType.TEXT and self.has_default)

    def row(self) -> tuple[str, ...]:
        """Its row in the dictionary."""
        return (
            self.table, self.name, self.meaning, self.unit, self.holds, self.allowed,
            "yes" if self.may_be_empty else "no", self.refers_to,
        )  # fmt: skip


def dictionary_rows() -> Iterator[tuple[str, ...]]:
    """The data dictionary, heading first."""
    yield HEADING
    for table in collection_tables():
        yield from (spec.row() for spec in specs_of(table))


@cache
def specs_of(table: Table) -> tuple[ColumnSpec, ...]:
    """A table's columns in order. Raises KeyError: one whose meaning nobody has written down."""
    return tuple(_spec(table, column) for column in table.columns)


def _spec(table: Table, column: Column[object]) -> ColumnSpec:
    kind = _stored(column)
    meanings = _meanings()
    meaning, unit = (
        meanings.get((table.name, column.name))
        or meanings.get((_ALIKE, column.name))
        or (_described(table, column), "")
    )
    words = tuple(kind.enums) if isinstance(kind, Enum) else ()
    return ColumnSpec(
        table=table.name,
        name=column.name,
        meaning=meaning,
        unit=unit,
        holds=_cell_type(column),
        words=words,
        longest=kind.length if isinstance(kind, String) and not words else None,
        rules=() if words else tuple(_rules(table, column.name)),
        has_null=bool(column.nullable),
        has_default=bool(column.nullable) or column.default is not None,
        refers_to=next((key.target_fullname for key in column.foreign_keys), ""),
        vocabulary=kind.enum_class if isinstance(kind, Enum) else None,
    )


def _described(table: Table, column: Column[object]) -> str:
    """What the declaration of the field says. Raises KeyError: nothing."""
    mappers = class_mapper(Kind).registry.mappers
    model = next(one.class_ for one in mappers if one.local_table is table)
    description = model.model_fields[column.name].description
    if not description:
        raise KeyError(f"{table.name}.{column.name}")
    return f"{description[0].lower()}{description[1:]}".removesuffix(".")


def _cell_type(column: Column[object]) -> CellType:
    kinds: Sequence[tuple[type, CellType]] = (
        (Enum, CellType.WORD),  # before String, which it is
        (String, CellType.TEXT),
        (Boolean, CellType.YES_NO),
        (Integer, CellType.WHOLE),
        (Float, CellType.NUMBER),
        (Date, CellType.DATE),
        (DateTime, CellType.MOMENT),
        (JSON, CellType.JSON),
        (LargeBinary, CellType.FILE),
    )
    return next(cell for kind, cell in kinds if isinstance(_stored(column), kind))


def _stored(column: Column[object]) -> TypeEngine[Any]:
    kind: TypeEngine[Any] = column.type
    return kind.impl_instance if isinstance(kind, TypeDecorator) else kind


def _rules(table: Table, column: str) -> Iterable[str]:
    conditions = (
        str(rule.sqltext) for rule in table.constraints if isinstance(rule, CheckConstraint)
    )
    return sorted(one for one in conditions if re.search(rf"\b{column}\b", one))


@cache
def _meanings() -> Mapping[tuple[str, str], tuple[str, str]]:
    """Meaning and unit by table and column; table ``*`` stands for all that have the column."""
    text = files("seedbank.interchange.folder").joinpath("data_dictionary.csv").read_text("utf-8")
    return {
        (row["table"], row["column"]): (row["meaning"], row["unit"])
        for row in csv.DictReader(text.splitlines())
    }


MARK = "<!-- From here on written by seedbank.interchange.folder.columns. -->"


def dictionary_page() -> str:
    """Every column of the archive in Markdown, a table a file."""
    heading, *rows = dictionary_rows()
    parts = []
    for table, columns in groupby(rows, key=lambda row: row[0]):
        parts.append(f"### {table}.csv\n\n| {' | '.join(heading[1:])} |\n|{' --- |' * 7}")
        for row in columns:
            cells = [str(cell).replace("|", r"\|") for cell in row[1:]]
            parts[-1] += "\n| " + " | ".join(cells) + " |"
    return "\n\n".join(parts) + "\n"


def by_hand_page() -> str:
    """What a line written by hand may tell, a file a row, in Markdown."""
    lines = ["| file | columns | called before |\n| --- | --- | --- |"]
    for row in ROWS:
        fields = row.model_fields.items()
        columns = (f"**{name}**" if field.is_required() else name for name, field in fields)
        before = "; ".join((f"{row.was}.csv", *(f"{a}: {b}" for a, b in row.before.items())))
        lines.append(f"| {row.table}.csv | {', '.join(columns)} | {before} |")
    return "\n".join(lines)


def renewed(page: str) -> str:
    """The page with its dictionary written anew. Raises ValueError: it has no mark."""
    above, mark, _ = page.partition(MARK)
    if not mark:
        raise ValueError("the page has no mark to write below")
    return f"{above}{MARK}\n\n{by_hand_page()}\n\n{dictionary_page()}"


if __name__ == "__main__":
    path = Path(sys.argv[1])
    path.write_text(renewed(path.read_text("utf-8")), "utf-8")
