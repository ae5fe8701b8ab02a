"""Bringing a database's schema up to this program's: forward only, all or nothing."""

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, inspect, text

from seedbank.common.errors import BadDatabase, NewerDatabase
from seedbank.database import word_index
from seedbank.database.engine import unhurried

if TYPE_CHECKING:
    from alembic.config import Config

_log = logging.getLogger(__name__)
_MIGRATING = 0x5EEDBA9C  # any number: the key two programs starting together meet at
_FOLDERS = (Path(__file__).parent / "migrations" / "versions",)


def upgrade(
    engine: Engine, *, to: str = "head", keep_copy: Callable[[str], None] | None = None
) -> None:
    """Create the schema, or bring an older one up to date; does nothing to one that is.

    Indexes that words are found by are made where they are missing (``word_index``).
    ``keep_copy`` is called with the older schema's revision, while nobody can write, before
    anything is changed; what it raises leaves the database as it was.

    Raises NewerDatabase: written by a newer program, and left alone. BadDatabase: a migration
    would break links between rows; nothing is changed.
    """
    with _one_at_a_time(engine) as connection:
        present, known = revision_in(connection), revisions()
        if present is not None and present not in known:
            raise NewerDatabase(present)
        if present != known[-1]:
            if present is not None and keep_copy is not None:
                keep_copy(present)
            from alembic import command  # costs as much as all else a command imports

            command.upgrade(config(connection), to)
        refused = word_index.make(connection) if to == "head" else None
        if refused is not None:
            _log.warning("Words are looked for in every lot, which is slow: %s.", refused)


def revisions() -> list[str]:
    """Every schema revision this program knows, oldest first: the numbers of the migrations."""
    return sorted(file.name[:4] for folder in _FOLDERS for file in folder.glob("[0-9]*.py"))


def schema_revision(engine: Engine) -> str | None:
    """The schema revision a database is at; None: it has no schema of ours."""
    with engine.connect() as connection:
        return revision_in(connection)


def revision_in(connection: Connection) -> str | None:
    """As ``schema_revision``, as the connection's transaction sees it."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def config(connection: Connection | None = None) -> "Config":
    """What Alembic is told: where the migrations are, and the connection to make them on."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "seedbank.database:migrations")
    config.set_main_option("path_separator", "newline")
    config.set_main_option("version_locations", "\n".join(map(str, _FOLDERS)))
    config.attributes["connection"] = connection
    return config


@contextmanager
def _one_at_a_time(engine: Engine) -> Iterator[Connection]:
    """A connection in one transaction that no second migration can run beside."""
    if engine.dialect.name == "postgresql":
        with engine.begin() as connection:
            unhurried(connection)
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _MIGRATING})
            yield connection
        return
    # Copying a table drops it, which would break links to it; SQLite can only be told to look
    # away outside a transaction (SQLite documentation, "Making Other Kinds Of Table Schema
    # Changes", steps 1 and 10).
    with engine.connect() as connection:
        raw = connection.connection.dbapi_connection
        assert raw is not None
        raw.cursor().execute("PRAGMA foreign_keys = OFF")
        try:
            with connection.begin():
                yield connection
                broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
                if broken:
                    database = str(engine.url.database)
                    raise BadDatabase("links-broken", database, table=str(broken[0][0]))
        finally:
            raw.cursor().execute("PRAGMA foreign_keys = ON")
