"""Bringing a database's schema up to this program's: forward only, all or nothing."""

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, text

from seedbank.common.errors import BadDatabase, NewerDatabase
from seedbank.database import word_index
from seedbank.database.engine import unhurried

_log = logging.getLogger(__name__)
_MIGRATING = 0x5EEDBA9C  # any number: the key two programs starting together meet at


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
        config = _config(connection)
        present = revision_in(connection)
        scripts = ScriptDirectory.from_config(config)
        if present is not None and present not in {s.revision for s in scripts.walk_revisions()}:
            raise NewerDatabase(present)
        if present != scripts.get_current_head():
            if present is not None and keep_copy is not None:
                keep_copy(present)
            command.upgrade(config, to)
        refused = word_index.make(connection) if to == "head" else None
        if refused is not None:
            _log.warning("Words are looked for in every lot, which is slow: %s.", refused)


def revisions() -> list[str]:
    """Every schema revision this program knows, oldest first."""
    scripts = ScriptDirectory.from_config(_config())
    return [script.revision for script in scripts.walk_revisions()][::-1]


def schema_revision(engine: Engine) -> str | None:
    """The schema revision a database is at; None: it has no schema of ours."""
    with engine.connect() as connection:
        return revision_in(connection)


def revision_in(connection: Connection) -> str | None:
    """As ``schema_revision``, as the connection's transaction sees it."""
    return MigrationContext.configure(connection).get_current_revision()


def _config(connection: Connection | None = None) -> Config:
    config = Config()
    config.set_main_option("script_location", "seedbank.database:migrations")
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
                    raise BadDatabase(
                        str(engine.url.database),
                        f"restore a copy: rows of {broken[0][0]} refer to rows that are gone",
                    )
        finally:
            raw.cursor().execute("PRAGMA foreign_keys = ON")
