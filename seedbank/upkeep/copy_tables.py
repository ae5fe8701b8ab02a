"""All rows of a database, read in batches: counted, digested, and copied into another.

Tables are read as the database has them, not as this program declares them, so that an older
schema can be copied too, from SQLite to PostgreSQL and back. Values keep their types; memory is
bounded by the batch. Indexes that words are found by are no tables here: rows put in fill them.
"""

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import lru_cache
from hashlib import sha256
from typing import Any

from sqlalchemy import (
    JSON,
    Connection,
    DateTime,
    Float,
    LargeBinary,
    MetaData,
    NullPool,
    Table,
    create_engine,
    event,
    func,
    inspect,
    select,
    text,
)

from seedbank.database.base import UtcDateTime
from seedbank.database.word_index import is_derived

_BATCH = 1000
_BATCH_OF_LARGE = 50  # rows with a picture each
_MODULUS = 1 << 256
# Of a database, not of what is in it.
_NOT_COPIED = ("alembic_version", "change_counter", "stored_answer")


@dataclass(frozen=True, slots=True)
class TableDigest:
    """How many rows a table has, and a digest of their contents in whatever order they come."""

    rows: int
    digest: str


def tables_in(connection: Connection) -> list[Table]:
    """The stock's tables as they are there, each after those its rows refer to."""
    if connection.dialect.name != "sqlite":
        return _reflected(connection)
    asked = "SELECT sql FROM sqlite_master WHERE type = 'table' AND sql LIKE 'CREATE TABLE %'"
    statements = connection.exec_driver_sql(f"{asked} AND name NOT LIKE 'sqlite_%' ORDER BY rowid")
    return _made_by(tuple(statements.scalars()))


@lru_cache(maxsize=4)  # reading a schema takes longer than a small collection's rows
def _made_by(statements: tuple[str, ...]) -> list[Table]:
    with create_engine("sqlite://", poolclass=NullPool).connect() as scratch:
        for statement in statements:
            scratch.exec_driver_sql(statement)
        return _reflected(scratch)


def _reflected(connection: Connection) -> list[Table]:
    found = MetaData()
    event.listen(found, "column_reflect", _in_utc)
    names = [
        name
        for name in inspect(connection).get_table_names()
        if name not in _NOT_COPIED and not is_derived(name)
    ]
    found.reflect(connection, only=names)
    return found.sorted_tables


def digest_tables(connection: Connection) -> dict[str, TableDigest]:
    """Each table's digest, by name; the same on both engines where the rows are the same."""
    digests = {}
    for table in tables_in(connection):
        tally = _Tally.of(table)
        for batch in _batches(connection, table):
            tally.add(batch)
        digests[table.name] = tally.result()
    return digests


def copy_tables(source: Connection, target: Connection) -> dict[str, TableDigest]:
    """Copy every row into the empty tables of ``target``; the digests are of what was read.

    Commits nothing. Both must be at one schema revision.
    """
    into = {table.name: table for table in tables_in(target)}
    digests = {}
    for table in tables_in(source):
        tally = _Tally.of(table)
        for batch in _batches(source, table):
            tally.add(batch)
            target.execute(into[table.name].insert(), [row._asdict() for row in batch])
        digests[table.name] = tally.result()
    if target.dialect.name == "postgresql":
        _count_on(target, into.values())
    return digests


def lock_tables(connection: Connection) -> None:
    """Let nobody else write to PostgreSQL until the transaction ends."""
    connection.execute(text(f"LOCK TABLE {_names(connection)} IN EXCLUSIVE MODE"))


def empty_tables(connection: Connection) -> None:
    """Delete every row from PostgreSQL; the schema stays."""
    connection.execute(text(f"TRUNCATE {_names(connection)}"))


def _names(connection: Connection) -> str:
    quoted = connection.dialect.identifier_preparer.format_table
    return ", ".join(quoted(table) for table in tables_in(connection))


def holds_anything(connection: Connection) -> bool:
    """Whether there is more in the collection than the packaged kinds it is made with."""
    for table in tables_in(connection):
        query = select(func.count()).select_from(table)
        if table.name == "kind":
            query = query.where(~table.c.packaged)
        if connection.execute(query).scalar():
            return True
    return False


@dataclass(slots=True)
class _Tally:
    """Rows counted and digested one by one.

    The digest is the sum of the rows' SHA-256 values, so that order doesn't matter: databases
    sort text each in their own way.
    """

    shapes: list[tuple[int, Callable[[Any], Any]]]
    rows: int = 0
    total: int = field(default=0)

    @classmethod
    def of(cls, table: Table) -> "_Tally":
        shapes: list[tuple[int, Callable[[Any], Any]]] = []
        for place, column in enumerate(table.columns):
            if isinstance(column.type, UtcDateTime):
                shapes.append((place, _moment))
            elif isinstance(column.type, JSON):
                shapes.append((place, _sorted_json))
            elif isinstance(column.type, Float):
                shapes.append((place, _no_minus_nought))
        return cls(shapes)

    def add(self, batch: Sequence[Any]) -> None:
        for row in batch:
            values = list(row)
            for place, shape in self.shapes:
                if values[place] is not None:
                    values[place] = shape(values[place])
            values_text = repr(values).encode("utf-8", "surrogatepass")
            self.total += int.from_bytes(sha256(values_text).digest())
        self.rows += len(batch)

    def result(self) -> TableDigest:
        return TableDigest(self.rows, f"{self.total % _MODULUS:064x}")


def _moment(value: datetime) -> str:
    return value.astimezone(UTC).isoformat()


def _sorted_json(value: object) -> str:
    return json.dumps(value, sort_keys=True)


def _no_minus_nought(value: float) -> float:
    return value + 0.0  # SQLite keeps -0.0 as 0


def _batches(connection: Connection, table: Table) -> Iterator[Sequence[Any]]:
    # By key, so that a row that refers to an earlier one of its own table comes after it.
    query = select(table).order_by(*table.primary_key.columns)
    large = any(isinstance(column.type, LargeBinary) for column in table.columns)
    batch = _BATCH_OF_LARGE if large else _BATCH
    result = connection.execute(query, execution_options={"yield_per": batch})
    yield from result.partitions()


def _in_utc(_inspector: Any, _table: Table, column: dict[str, Any]) -> None:
    if isinstance(column["type"], DateTime):
        column["type"] = UtcDateTime()


def _count_on(connection: Connection, tables: Any) -> None:
    """Let PostgreSQL number new rows after those copied; SQLite does by itself."""
    for table in tables:
        if "id" not in table.c:
            continue
        sequence = connection.execute(
            select(func.pg_get_serial_sequence(table.name, "id"))
        ).scalar()
        if sequence is not None:
            last = select(func.coalesce(func.max(table.c.id), 0) + 1).scalar_subquery()
            connection.execute(select(func.setval(sequence, last, False)))
