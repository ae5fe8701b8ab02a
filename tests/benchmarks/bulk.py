"""Rows put straight into a table, as fast as the engine takes them: executemany, or COPY."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from sqlalchemy import Connection, Table


def insert_rows(connection: Connection, table: Table, names: Sequence[str], rows: Any) -> None:
    """Put ``rows`` (tuples of stored values, in the order of ``names``) into a table."""
    raw = connection.connection.driver_connection
    assert raw is not None
    if connection.dialect.name == "postgresql":
        with (
            raw.cursor() as cursor,
            cursor.copy(f"COPY {table.name} ({', '.join(names)}) FROM STDIN") as copy,
        ):
            for row in rows:
                copy.write_row(row)
        return
    marks = ", ".join("?" * len(names))
    raw.executemany(f"INSERT INTO {table.name} ({', '.join(names)}) VALUES ({marks})", rows)


def insert_columns(
    connection: Connection, table: Table, size: int, columns: dict[str, Any]
) -> None:
    """Put ``size`` rows into a table by columns: sequences or numpy arrays, or one value for all.

    Values are those the models know; each is turned to what the engine stores once, however often
    it comes.
    """
    stored = [_stored(connection, table, name, size, values) for name, values in columns.items()]
    insert_rows(connection, table, list(columns), zip(*stored, strict=True))


def _stored(
    connection: Connection, table: Table, name: str, size: int, values: Any
) -> Iterable[Any]:
    kind = table.c[name].type.dialect_impl(connection.dialect)
    turn: Callable[[Any], Any] | None = kind.bind_processor(connection.dialect)
    if isinstance(values, str) or not hasattr(values, "__len__"):
        return [turn(values) if turn else values] * size
    plain = values.tolist() if hasattr(values, "tolist") else values
    if turn is None:
        return plain
    known: dict[Any, Any] = {}
    return [known[one] if one in known else known.setdefault(one, turn(one)) for one in plain]
