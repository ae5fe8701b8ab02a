"""Proofs that the indexes words are found by agree with the texts they are of.

SQLite's own check of them (FTS5's ``integrity-check``) counts as a write, which a backup that is
only read, or a collection that others write to, can't have. So the texts are indexed a second time
in a temporary table, and the two compared letters by letters. PostgreSQL guards its own indexes.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, text

from seedbank.database import word_index
from seedbank.upkeep.checks.proofs import Proof, count_rows, prove

_NAMED = {"lot": "code", "variety": "name"}


def check_words(connection: Connection) -> list[Proof]:
    """That each index holds all words of its rows and no others; nothing where there are none."""
    if connection.dialect.name != "sqlite" or not word_index.is_there(connection):
        return []
    return [_agrees(connection, table) for table in word_index.INDEXED]


def _agrees(connection: Connection, table: str) -> Proof:
    with _indexed_again(connection, table):
        return prove(
            connection,
            claim=f"each {table} is found by its words as they are",
            things=f"rows of {table}",
            number=count_rows(connection, text(table)),
            breaking=text(
                "SELECT DISTINCT doc, named FROM (SELECT * FROM temp.kept UNION ALL "
                "SELECT * FROM temp.again) LEFT JOIN "
                f"(SELECT id, {_NAMED[table]} AS named FROM {table}) ON id = doc "
                "GROUP BY term, doc, col, offset HAVING count(*) <> 2"
            ),
            sentence="{table} {doc} ({named}) isn't found by its words as they are: drop the table "
            "{table}_words and start seedbank, which makes it anew.",
            shown={"table": table},
        )


@contextmanager
def _indexed_again(connection: Connection, table: str) -> Iterator[None]:
    """Every three letters of the index of ``table``, as kept and as made again."""
    names = ", ".join(word_index.INDEXED[table])
    reads_only = connection.exec_driver_sql("PRAGMA query_only").scalar()
    # What is temporary is no part of the collection, and no writer waits for it.
    connection.exec_driver_sql("PRAGMA query_only = 0")
    try:
        for statement in (
            f"CREATE VIRTUAL TABLE temp.anew USING fts5({names}, content='', tokenize='trigram')",
            f"INSERT INTO temp.anew (rowid, {names}) SELECT id, {names} FROM main.{table}",
            "CREATE VIRTUAL TABLE temp.again USING fts5vocab('temp', 'anew', 'instance')",
            f"CREATE VIRTUAL TABLE temp.kept USING fts5vocab('main', '{table}_words', 'instance')",
        ):
            connection.exec_driver_sql(statement)
        yield
    finally:
        for name in ("kept", "again", "anew"):
            connection.exec_driver_sql(f"DROP TABLE IF EXISTS temp.{name}")
        connection.exec_driver_sql(f"PRAGMA query_only = {reads_only}")
