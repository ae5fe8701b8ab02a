"""What refers to a row: it refuses that the row is taken out, goes with it, or forgets it.

A foreign key's column says which; a day's column may say that on it the lot was used.
"""

from collections.abc import Iterator
from datetime import date
from enum import StrEnum
from typing import Any

from sqlalchemy import func
from sqlmodel import Session, SQLModel, select

from seedbank.common.errors import Conflict
from seedbank.database.transaction import conflicts_as


class WhenDeleted(StrEnum):
    """What a foreign key column says of its row when the row it refers to is taken out."""

    GOES = "goes"
    FORGETS = "forgets"


def goes_along() -> dict[str, Any]:
    """For ``sa_column_kwargs``: a row is part of the one it refers to, and goes with it."""
    return {"info": {"when_deleted": WhenDeleted.GOES}}


def forgets_it() -> dict[str, Any]:
    """For ``sa_column_kwargs``: a row stays, and refers to nothing any more."""
    return {"info": {"when_deleted": WhenDeleted.FORGETS}}


def day_of_use() -> dict[str, Any]:
    """For ``sa_column_kwargs``: on the column's day the row used the lot that it refers to."""
    return {"info": {"day_of_use": True}}


def begun_once(day: str, *ends: str) -> dict[str, Any]:
    """For ``sa_column_kwargs``: work on the row referred to is under way once the column ``day``
    holds a day, and until one of ``ends`` does."""
    return {"info": {"begun": (day, *ends)}}


def ids_begun(session: Session, table: type[SQLModel]) -> frozenset[int]:
    """Ids of the rows of a table on which work is under way, by what refers to them."""
    found: set[int] = set()
    for column in _begun_columns(table):
        day, *ends = (column.table.columns[name] for name in column.info["begun"])
        open_work = (day.is_not(None), *(end.is_(None) for end in ends))
        found |= {number for (number,) in session.execute(select(column).where(*open_work))}
    return frozenset(found)


def begun_topics(table: type[SQLModel]) -> tuple[str, ...]:
    """The counters of the tables that say so."""
    return tuple(str(column.table.name) for column in _begun_columns(table))


def first_used(session: Session, row: SQLModel) -> date | None:
    """The first day on which any row used this one; None: none did."""
    days = [
        select(func.min(day)).where(column == _key(row))
        for column in _columns_to(row)
        for day in column.table.columns
        if "day_of_use" in day.info
    ]
    found = [session.execute(day).scalar() for day in days]
    return min((day for day in found if day is not None), default=None)


def delete_row(session: Session, row: SQLModel, refusal: Conflict | None = None) -> None:
    """Take out a row with what is part of it.

    Raises ``refusal``: another row refers to it. Without one, that is a fault of the program.
    """
    gone: list[SQLModel] = []
    for column, other in list(_referring(session, row)):
        match column.info.get("when_deleted"):
            case WhenDeleted.GOES:
                gone.append(other)
            case WhenDeleted.FORGETS:
                setattr(other, column.key, None)
                session.add(other)
            case _ if refusal is not None:
                raise refusal
    for other in gone:
        delete_row(session, other, refusal)
    session.flush()
    session.delete(row)
    if refusal is None:
        session.flush()
    else:
        with conflicts_as(refusal):
            session.flush()


def users_of(session: Session, row: SQLModel) -> Iterator[tuple[str, int]]:
    """What refers to a row, other than rows of its own table: the name in words, and the number."""
    for _, other in _referring(session, row):
        if type(other) is not type(row):
            yield type(other).__table__.name.replace("_", " "), other.id  # type: ignore[attr-defined]  # every table here has both


def _referring(session: Session, row: SQLModel) -> Iterator[tuple[Any, SQLModel]]:
    """Rows with a foreign key to ``row``, each with the column that holds it; one that refuses."""
    for column in _columns_to(row):
        others = select(_model_of(column)).where(column == _key(row))
        if "when_deleted" not in column.info:
            others = others.limit(1)
        yield from ((column, other) for other in session.exec(others))


def _begun_columns(table: type[SQLModel]) -> list[Any]:
    return [column for column in _columns_to_table(table) if "begun" in column.info]


def _columns_to(row: SQLModel) -> Iterator[Any]:
    return _columns_to_table(type(row))


def _columns_to_table(model: type[SQLModel]) -> Iterator[Any]:
    table = model.__table__  # type: ignore[attr-defined]  # SQLModel hides the table
    for other in SQLModel.metadata.tables.values():
        for column in other.columns:
            if any(foreign.column.table is table for foreign in column.foreign_keys):
                yield column


def _model_of(column: Any) -> type[SQLModel]:
    mappers = SQLModel._sa_registry.mappers
    found: type[SQLModel] = next(one.class_ for one in mappers if one.local_table is column.table)
    return found


def _key(row: SQLModel) -> int:
    key: int = row.id  # type: ignore[attr-defined]  # every table that is referred to has one
    return key
