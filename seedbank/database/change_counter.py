"""Telling whether a database has changed at all since it was last asked, at next to no cost."""

from collections.abc import Hashable

from sqlalchemy import Connection

from seedbank.database.engine import only_reads


def moment_of(connection: Connection) -> Hashable | None:
    """Equal on one connection only while nobody has committed anything; None: can't be told.

    SQLite counts the commits of others and the changes made here; PostgreSQL names the
    transactions that are seen. A transaction that may write sees its own changes besides, and may
    take them back: nothing can be told of it.
    """
    if not only_reads(connection):
        return None
    if connection.dialect.name == "postgresql":
        return str(connection.exec_driver_sql("SELECT pg_current_snapshot()::text").scalar_one())
    raw = connection.connection.driver_connection
    assert raw is not None
    return connection.exec_driver_sql("PRAGMA data_version").scalar_one(), raw.total_changes
