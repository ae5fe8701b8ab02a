"""The whole collection, table by table: read out in a stable order, or put into an empty one."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from sqlalchemy import (
    ColumnElement,
    LargeBinary,
    Table,
    delete,
    func,
    insert,
    literal,
    select,
    text,
)
from sqlalchemy.exc import DataError, IntegrityError
from sqlmodel import Session, SQLModel, col

import seedbank.tables  # noqa: F401 - fills the metadata
from seedbank.database.migrate import revisions
from seedbank.kinds.tables import Kind
from seedbank.lots.tables.ledger import Movement, mistold_lots
from seedbank.lots.tables.lots import Lot

LEFT_OUT: Final[Mapping[str, str]] = {
    "answered_request": "answers kept for a while, so that a repeated request books nothing twice",
    "access_token": "who may come in, which is no business of whoever is handed the archive",
    "change_counter": "what was written when, counted anew in each database",
    "stored_answer": "answers worked out on this database, for the next program that starts on it",
    "batch": "work done on many lots at once, so that it can be undone where it was done",
    "postponed_job": "jobs of the front page put off for a week, where they were put off",
    "audit_entry": "who changed what at this service, kept where it happened",
}
"""Tables that are no part of the collection itself, each with the reason."""

_BATCH = 1000
_BATCH_OF_LARGE = 50  # rows with a picture each


class RowRefused(Exception):  # noqa: N818 - told to the gardener with its line, as others are
    """The database won't have a row: which of those handed in, and what it says."""

    def __init__(self, position: int, why: str) -> None:
        super().__init__(f"row {position}: {why}")
        self.position = position
        self.why = why


def collection_tables() -> tuple[Table, ...]:
    """The collection's tables, each after those its rows refer to."""
    return tuple(t for t in SQLModel.metadata.sorted_tables if t.name not in LEFT_OUT)


def schema_history() -> tuple[str, ...]:
    """The schema revisions this program knows, the present one first."""
    return tuple(reversed(revisions()))


def hold_still(session: Session) -> None:
    """See one state of the collection from here on, whatever is written meanwhile.

    To be called before anything is read; an SQLite session does so by itself.
    """
    if session.get_bind().dialect.name == "postgresql":
        session.execute(text("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ"))


def read_rows(
    session: Session, table: Table, columns: Sequence[ColumnElement[Any]] = ()
) -> Iterator[Sequence[Any]]:
    """Every row in order of its key, a batch in memory at a time; of ``columns``, else of all."""
    query = select(*(columns or table.columns)).order_by(*table.primary_key.columns)
    yield from session.execute(query, execution_options={"yield_per": batch_of(table)})


def batch_of(table: Table) -> int:
    """How many rows of a table to have in memory at a time."""
    large = any(isinstance(column.type, LargeBinary) for column in table.columns)
    return _BATCH_OF_LARGE if large else _BATCH


def table_in_use(session: Session) -> str | None:
    """The first table with something of a gardener's in it; None: the collection is empty."""
    for table in collection_tables():
        theirs = ~col(Kind.packaged) if table.name == Kind.__tablename__ else literal(True)
        if session.execute(select(literal(1)).select_from(table).where(theirs).limit(1)).first():
            return table.name
    return None


def clear_packaged_kinds(session: Session) -> None:
    """Make room for the kinds that are to be put in, in an otherwise empty collection."""
    session.execute(delete(Kind))
    session.expire_all()


def put_rows(session: Session, table: Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Insert rows as they are, ids and all. Raises RowRefused: the first the database won't have.

    A batch that fails is tried again row by row, to find out which it was.
    """
    try:
        with session.begin_nested():
            session.execute(insert(table), list(rows))
    except (IntegrityError, DataError) as refused:
        for position, row in enumerate(rows):
            try:
                with session.begin_nested():
                    session.execute(insert(table), [row])
            except (IntegrityError, DataError) as wrong:
                raise RowRefused(position, _first_line(wrong)) from wrong
        raise RowRefused(0, _first_line(refused)) from refused


def continue_numbering(session: Session) -> None:
    """Let the next row of each table get a number above those put in (PostgreSQL must be told)."""
    if session.get_bind().dialect.name != "postgresql":
        return
    for table in collection_tables():
        key = table.primary_key.columns.values()
        if len(key) != 1:
            continue
        sequence = select(func.pg_get_serial_sequence(table.name, key[0].name))
        name = session.execute(sequence).scalar_one()
        if name is not None:
            last = session.execute(select(func.max(key[0]))).scalar_one()
            session.execute(select(func.setval(name, last or 1, last is not None)))


def unbalanced_lots(session: Session, limit: int = 10) -> list[str]:
    """Codes of lots whose movements don't add up: numbered with gaps, or a balance not their sum,
    or an amount told as known that isn't, or the other way about.

    The rules of the ledger that no constraint of the database can hold.
    """
    by_lot: dict[str, Any] = {"partition_by": col(Movement.lot_id), "order_by": Movement.serial}
    ledgers = select(
        col(Movement.lot_id).label("lot_id"),
        (col(Movement.serial) - func.row_number().over(**by_lot)).label("gap"),
        (
            col(Movement.balance_seeds)
            - func.coalesce(func.sum(col(Movement.seeds)).over(**by_lot), 0)
        ).label("off"),
    ).subquery()
    wrong = select(ledgers.c.lot_id).where((ledgers.c.gap != 0) | (ledgers.c.off != 0))
    query = select(col(Lot.code)).where(col(Lot.id).in_(wrong)).order_by(col(Lot.id)).limit(limit)
    off = list(session.execute(query).scalars())
    return off or mistold_lots(session.connection(), limit)


def _first_line(refused: IntegrityError | DataError) -> str:
    return str(refused.orig).strip().splitlines()[0]
