"""Taking a row out: what refers to it refuses, goes with it, or forgets it, as its column says."""

from collections.abc import Iterator
from enum import StrEnum
from typing import Any

from sqlmodel import Session, SQLModel, select

from seedbank.common.errors import Conflict
from seedbank.database.editing import conflicts_as


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
    table = type(row).__table__  # type: ignore[attr-defined]  # SQLModel hides the table
    key = row.id  # type: ignore[attr-defined]  # every table that is referred to has one
    for mapper in SQLModel._sa_registry.mappers:
        for column in mapper.local_table.columns:
            if any(foreign.column.table is table for foreign in column.foreign_keys):
                others = select(mapper.class_).where(column == key)
                if "when_deleted" not in column.info:
                    others = others.limit(1)
                yield from ((column, other) for other in session.exec(others))
