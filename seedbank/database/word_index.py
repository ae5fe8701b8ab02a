"""The indexes that words are found by: of every three letters in a row in a lot's own texts, and
in its variety's name.

They hold nothing that isn't in ``lot`` and ``variety``: they are made anew where they are missing
when a collection is opened, are no part of exports, and are left out where rows are copied (a
copy's own are filled by the rows put in).

SQLite: an FTS5 table each, tokenizer ``trigram``, that keeps no texts of its own (SQLite
documentation, "SQLite FTS5 Extension": "The Trigram Tokenizer", "External Content Tables").
Triggers keep it, so that it can't drift whoever writes. Needs FTS5 and SQLite 3.34. Where either
is lacking there is no index, and triggers that came with a file from elsewhere are dropped, for
nothing could be written through them.

PostgreSQL: a GIN index each, of the contributed module ``pg_trgm``, which whoever may create in
the database may put in (PostgreSQL documentation, appendix F, "pg_trgm"). It goes into the schema
``public``, so that it doesn't go with a collection's own schema and take others' indexes along.

Without an index words are found all the same, by going through the lots. Migration 0004 makes the
indexes as they are here: should they change, a later migration drops the old ones first.
"""

import sqlite3
from collections.abc import Mapping
from typing import Final

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError

INDEXED: Final[Mapping[str, tuple[str, ...]]] = {
    "lot": ("code", "donor", "notes"),
    "variety": ("name",),
}
"""Table -> its texts; the index of ``lot`` is called ``lot_words``."""

_EXTENSION: Final = "pg_trgm"
_OLDEST_SQLITE: Final = (3, 34, 0)  # the first with the tokenizer
_REFUSALS: Final = ("42501", "58P01", "0A000", "3F000")  # not allowed, or its files are missing


def is_derived(name: str | None) -> bool:
    """Whether a table, trigger or index is one of these, and so nothing of a gardener's."""
    return (name or "").removeprefix("ix_").startswith(tuple(f"{table}_words" for table in INDEXED))


def is_there(connection: Connection) -> bool:
    """Whether words can be found by the indexes; asked of the database once a connection."""
    known: bool | None = connection.info.get("seedbank_words")
    if known is None:
        known = connection.info["seedbank_words"] = _is_there(connection)
    return known


def make(connection: Connection) -> str | None:
    """Make the indexes, of whatever rows are there, unless they are whole already.

    Returns None, or why this database can't have them and what would mend it.
    """
    connection.info.pop("seedbank_words", None)
    if _is_there(connection):
        return None
    if connection.dialect.name == "postgresql":
        return _make_gin(connection)
    return _make_fts(connection)


def drop(connection: Connection) -> None:
    """Drop the indexes, where there are any."""
    connection.info.pop("seedbank_words", None)
    for table in INDEXED:
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql(f"DROP INDEX IF EXISTS ix_{table}_words")
            continue
        _drop_triggers(connection, table)
        connection.exec_driver_sql(f"DROP TABLE IF EXISTS {table}_words")


def _is_there(connection: Connection) -> bool:
    names = ", ".join(f"'{name}'" for table in INDEXED for name in _parts(connection, table))
    if connection.dialect.name == "postgresql":
        tables = ", ".join(f"to_regclass('{table}')" for table in INDEXED)
        found = connection.exec_driver_sql(
            "SELECT count(*) FROM pg_index JOIN pg_class ON pg_class.oid = indexrelid WHERE "
            f"relname IN ({names}) AND indrelid IN ({tables}) AND indisvalid"
        )
        return bool(found.scalar() == len(INDEXED))
    found = connection.exec_driver_sql(
        f"SELECT count(*) FROM sqlite_master WHERE name IN ({names})"
    )
    return bool(found.scalar() == 4 * len(INDEXED)) and _why_no_fts(connection) is None


def _parts(connection: Connection, table: str) -> tuple[str, ...]:
    if connection.dialect.name == "postgresql":
        return (f"ix_{table}_words",)
    return (f"{table}_words", *(f"{table}_words_{when}" for when in ("put", "changed", "gone")))


def _make_fts(connection: Connection) -> str | None:
    refused = _why_no_fts(connection)
    if refused is not None:
        for table in INDEXED:
            _drop_triggers(connection, table)
        return refused
    drop(connection)
    for table, texts in INDEXED.items():
        for statement in _fts(table, texts):
            connection.exec_driver_sql(statement)
    return None


def _why_no_fts(connection: Connection) -> str | None:
    modules = {row[0] for row in connection.exec_driver_sql("PRAGMA module_list")}
    if "fts5" in modules and sqlite3.sqlite_version_info >= _OLDEST_SQLITE:
        return None
    return (
        "this Python's SQLite is older than 3.34 or was built without FTS5; use a newer Python, "
        "and the index is made at the next start"
    )


def _drop_triggers(connection: Connection, table: str) -> None:
    for trigger in _parts(connection, table)[1:]:
        connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {trigger}")


def _fts(table: str, texts: tuple[str, ...]) -> tuple[str, ...]:
    words, names = f"{table}_words", ", ".join(texts)
    new, old = (", ".join(f"{row}.{name}" for name in texts) for row in ("new", "old"))
    put = f"INSERT INTO {words} (rowid, {names}) VALUES (new.id, {new})"
    # The index must be told what it held of a row to let go of it.
    let_go = f"INSERT INTO {words} ({words}, rowid, {names}) VALUES ('delete', old.id, {old})"
    return (
        f"CREATE VIRTUAL TABLE {words} USING fts5({names}, content='{table}', "
        "content_rowid='id', tokenize='trigram')",
        f"CREATE TRIGGER {words}_put AFTER INSERT ON {table} BEGIN {put}; END",
        f"CREATE TRIGGER {words}_gone AFTER DELETE ON {table} BEGIN {let_go}; END",
        f"CREATE TRIGGER {words}_changed AFTER UPDATE OF id, {names} ON {table} "
        f"BEGIN {let_go}; {put}; END",
        f"INSERT INTO {words} ({words}) VALUES ('rebuild')",
    )


def _make_gin(connection: Connection) -> str | None:
    refused = _put_in_extension(connection)
    if refused is not None:
        return refused
    schema = _schema_of_extension(connection)
    try:
        with connection.begin_nested():
            for table, texts in INDEXED.items():
                connection.exec_driver_sql(f"DROP INDEX IF EXISTS ix_{table}_words")
                each = ", ".join(f'{text} "{schema}".gin_trgm_ops' for text in texts)
                connection.exec_driver_sql(
                    f"CREATE INDEX ix_{table}_words ON {table} USING gin ({each})"
                )
    except DBAPIError as failed:
        return _refusal(failed)
    return None


def _put_in_extension(connection: Connection) -> str | None:
    if _schema_of_extension(connection) is not None:
        return None
    try:
        with connection.begin_nested():
            connection.exec_driver_sql(f"CREATE EXTENSION {_EXTENSION} SCHEMA public")
    except DBAPIError as failed:
        # Another program may have done so at the same moment.
        return None if _schema_of_extension(connection) is not None else _refusal(failed)
    return None


def _schema_of_extension(connection: Connection) -> str | None:
    found = connection.exec_driver_sql(
        "SELECT nspname FROM pg_extension JOIN pg_namespace n ON n.oid = extnamespace "
        f"WHERE extname = '{_EXTENSION}'"
    )
    schema: str | None = found.scalar()
    return schema


def _refusal(failed: DBAPIError) -> str:
    """In words, if PostgreSQL won't have it; anything else that fails is raised again."""
    if getattr(failed.orig, "sqlstate", None) not in _REFUSALS:
        raise failed
    return (
        f"PostgreSQL says: {str(failed.orig).strip().splitlines()[0]}; have its administrator "
        f"install the contributed modules and run CREATE EXTENSION {_EXTENSION} SCHEMA public "
        "in this database, and the index is made at the next start"
    )
