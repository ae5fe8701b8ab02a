"""Proofs that every row keeps the rules its table declares, whoever wrote it.

A database checks its constraints when rows are written, unless told not to; SQLite besides keeps
any text in a number's column, and text of any length. So each rule is asked again of every row.
"""

from collections.abc import Iterator
from functools import cache
from typing import Any

from annotated_types import Ge, Gt, Le
from sqlalchemy import (
    JSON,
    Boolean,
    CheckConstraint,
    Column,
    ColumnElement,
    Connection,
    Date,
    Enum,
    Float,
    Integer,
    LargeBinary,
    String,
    Table,
    UniqueConstraint,
    and_,
    case,
    cast,
    false,
    func,
    literal,
    literal_column,
    or_,
    select,
    text,
    type_coerce,
)
from sqlmodel import SQLModel

import seedbank.tables  # noqa: F401 - fills the metadata
from seedbank.database.base import UtcDateTime
from seedbank.interchange.bounds import bounds_of
from seedbank.upkeep.checks.proofs import Proof, count_rows, prove

_MOST = 2_147_483_647  # whole numbers of PostgreSQL; SQLite would take more
_HUGE: ColumnElement[float] = literal_column(
    "1.7976931348623157e308"
)  # PostgreSQL sorts NaN above it, as infinity is


_Claim = tuple[str, dict[str, str], Any]
"""Its code, what it is of, and the query for rows that break it."""


def check_rules(connection: Connection) -> list[Proof]:
    """Each table's declared conditions, value by value, and that what is unique is so."""
    proofs = []
    for table in SQLModel.metadata.sorted_tables:
        number = count_rows(connection, table)
        proofs += [
            prove(connection, Proof(code, number, names), breaking)
            for code, names, breaking in _claims(table, connection.dialect.name)
        ]
    return proofs


@cache
def _claims(table: Table, engine: str) -> tuple[_Claim, ...]:
    """What a table declares; made once, since that costs more than to ask it of a garden's rows."""
    return (
        _values(table, engine),
        *(
            _condition(table, rule)
            for rule in sorted(table.constraints, key=lambda rule: str(rule.name))
            if isinstance(rule, CheckConstraint) and not rule._type_bound
        ),
        *(_unique(table, *each) for each in _uniques(table)),
    )


def _values(table: Table, engine: str) -> _Claim:
    """One pass over the table; told is the first column of a row that can't be right."""
    wrong = [(column.name, _wrong(column, engine)) for column in table.columns]
    first = case(*((condition, literal(name)) for name, condition in wrong), else_="")
    anything = or_(*(condition for _, condition in wrong))
    breaking = select(_row(table), first.label("wrong")).where(anything)
    return "check-values", {"table": table.name}, breaking


def _wrong(column: Column[Any], engine: str) -> ColumnElement[bool]:
    """The value isn't one this column may have; never NULL itself."""
    ways: list[ColumnElement[bool]] = []
    if engine == "sqlite":
        ways += _wrong_in_sqlite(column)
    if isinstance(column.type, Enum):
        ways.append(cast(column, String).not_in(column.type.enums))
    elif isinstance(column.type, Float):
        ways.append(or_(column > _HUGE, column < -_HUGE))
    elif (longest := getattr(column.type, "length", None)) is not None:
        ways.append(func.length(column) > longest)
    for bound in bounds_of(column.table.name, column.name):
        match bound:
            case Ge(ge=least):
                ways.append(column < least)
            case Gt(gt=below):
                ways.append(column <= below)
            case Le(le=most):
                ways.append(column > most)
    filled = and_(column.is_not(None), or_(false(), *ways))
    return filled if column.nullable else or_(column.is_(None), filled)


def _wrong_in_sqlite(column: Column[Any]) -> Iterator[ColumnElement[bool]]:
    """What PostgreSQL couldn't hold in a column of this type."""
    stored = func.typeof(column)
    match column.type:
        case Boolean():
            yield or_(stored != "integer", cast(column, Integer).not_in((0, 1)))
        case Integer():
            yield or_(stored != "integer", column > _MOST, column < -_MOST - 1)
        case Float():
            yield stored.not_in(("real", "integer"))
        case Date():
            # Moved by no days: so that the 30th of February is seen for what it is.
            day = func.date(column, "+0 days")
            yield or_(stored != "text", day.is_distinct_from(type_coerce(column, String)))
        case UtcDateTime():
            yield or_(stored != "text", func.julianday(column).is_(None))
        case JSON():
            yield or_(stored != "text", func.json_valid(column) == 0)
        case LargeBinary():
            yield stored != "blob"
        case _:
            yield or_(stored != "text", func.instr(column, func.char(0)) > 0)


def _condition(table: Table, rule: CheckConstraint) -> _Claim:
    names = {"table": table.name, "rule": str(rule.sqltext)}
    return "check-rule", names, select(_row(table)).where(text(f"NOT ({rule.sqltext})"))


def _uniques(table: Table) -> Iterator[tuple[list[Column[Any]], str | None]]:
    """Columns that no two rows share, and the condition for the rows it is asked of."""
    yield list(table.primary_key.columns), None
    for rule in sorted(table.constraints, key=lambda rule: str(rule.name)):
        if isinstance(rule, UniqueConstraint):
            yield list(rule.columns), None
    for index in sorted(table.indexes, key=lambda index: str(index.name)):
        if index.unique:
            where = index.dialect_options["sqlite"]["where"]
            yield list(index.columns), None if where is None else str(where)


def _unique(table: Table, columns: list[Column[Any]], condition: str | None) -> _Claim:
    asked = [*(column.is_not(None) for column in columns)]
    if condition is not None:
        asked.append(text(condition))  # type: ignore[arg-type]  # where() takes text too
    names = {"table": table.name, "names": ", ".join(column.name for column in columns)}
    query = (
        select(_row_name(columns), func.count().label("times"))
        .where(*asked)
        .group_by(*columns)
        .having(func.count() > 1)
    )
    return "check-unique", names | {"where": condition or "always"}, query


def _row(table: Table) -> ColumnElement[str]:
    return _row_name(list(table.primary_key.columns))


def _row_name(columns: list[Column[Any]]) -> ColumnElement[str]:
    """The columns' values in one text, so that even values of the wrong type can be told."""
    label: Any = cast(columns[0], String)
    for column in columns[1:]:
        label = label.concat("/").concat(cast(column, String))
    return type_coerce(label, String).label("row")
