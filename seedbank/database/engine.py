"""Opening a database: SQLite in one file by default, PostgreSQL if asked; no global engine."""

import re
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.orm import sessionmaker
from sqlalchemy.pool import StaticPool
from sqlmodel import Session

from seedbank.common.errors import BadDatabase, NoCollection
from seedbank.database.change_counters import count_changes

BUSY_TIMEOUT_MS = 10_000
"""How long anyone waits for another's lock before being told that the collection is busy."""
STATEMENT_TIMEOUT_MS = 30_000
"""How long a statement may take on PostgreSQL, but for ``unhurried`` ones."""
MOST_CONNECTIONS = 50
"""More than the 40 threads that a server answers with, so that none of them waits for another's."""
_KEPT_CONNECTIONS = 10
_CONNECTION_WAIT_S = 5
_LONG_LOCK_WAIT_MS = 600_000
_READS_ONLY = "seedbank_reads_only"
_AS_IT_STANDS = "seedbank_as_it_stands"


def open_engine(url: str) -> Engine:
    """Engine for ``sqlite:///path``, ``sqlite://`` (in memory) or ``postgresql://…``.

    An SQLite file and its folder are made on first use. Nothing is connected yet, so a server
    that is down shows only at the first query.

    Raises BadDatabase: not such a URL, a driver not installed, a folder that can't be made.
    """
    parsed = _parse(url)
    if parsed.get_backend_name() == "sqlite":
        return _open_sqlite(parsed)
    return _open_postgresql(parsed)


def open_for_reading(url: str) -> Engine:
    """Engine on a database as it stands: nothing is made, migrated or changed through it.

    Raises BadDatabase: not such a URL, a driver not installed. NoCollection: no such file.
    """
    parsed = _parse(url)
    if parsed.get_backend_name() != "sqlite":
        as_it_stands = {_AS_IT_STANDS: True, "postgresql_readonly": True}
        return _open_postgresql(parsed).execution_options(**as_it_stands)
    file = sqlite_file(url)
    if file is None or not file.is_file():
        raise NoCollection(str(file.absolute()) if file else url)
    engine = create_engine(f"sqlite:///file:{quote(str(file.absolute()))}?mode=ro&uri=true")
    event.listen(engine, "connect", _set_up_reading)
    event.listen(engine, "begin", _begin_sqlite)
    return engine.execution_options(**{_READS_ONLY: True, _AS_IT_STANDS: True})


def sqlite_file(url: str) -> Path | None:
    """The SQLite file a URL names; None: a server, or a database in memory."""
    parsed = _parse(url)
    if parsed.get_backend_name() != "sqlite" or parsed.database in (None, "", ":memory:"):
        return None
    return Path(str(parsed.database))


@contextmanager
def one_moment(engine: Engine) -> Iterator[Connection]:
    """A connection that reads everything as it was at one moment, and keeps no writer waiting."""
    options: dict[str, Any] = {_READS_ONLY: True}
    if engine.dialect.name == "postgresql":
        options = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
    with engine.connect().execution_options(**options) as connection, connection.begin():
        unhurried(connection)
        yield connection


def unhurried(connection: Connection) -> None:
    """Let what follows in this transaction take its time: a migration, a backup, a restore."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql("SET LOCAL statement_timeout = 0")
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = {_LONG_LOCK_WAIT_MS}")


def session_factory(engine: Engine, *, writes: bool = True) -> sessionmaker[Session]:
    """Sessions on ``engine``; objects stay readable after a commit.

    With ``writes`` false the database itself refuses changes, and on SQLite such a session waits
    for no writer and keeps none waiting.
    """
    if not writes:
        engine = engine.execution_options(**{_READS_ONLY: True, "postgresql_readonly": True})
    return sessionmaker(engine, class_=Session, expire_on_commit=False)


def may_be_written(engine: Engine | Connection) -> bool:
    """Whether a database that is read may be written to beside it (``written_at_once``)."""
    as_it_stands = engine.get_execution_options().get(_AS_IT_STANDS, False)
    return not as_it_stands and not isinstance(engine.engine.pool, StaticPool)


@contextmanager
def written_at_once(engine: Engine | Connection) -> Iterator[Session]:
    """A session on a connection of its own, also where ``engine`` only reads.

    On SQLite it waits for no other writer: its first statement fails if there is one.
    """
    options: dict[str, Any] = {_READS_ONLY: False, "postgresql_readonly": False}
    with engine.engine.connect().execution_options(**options) as connection:
        _wait_for_writers(connection, 0)
        try:
            with Session(connection) as session:
                yield session
        finally:
            _wait_for_writers(connection, BUSY_TIMEOUT_MS)


def _wait_for_writers(connection: Connection, longest_ms: int) -> None:
    if connection.dialect.name == "sqlite":
        raw = connection.connection.dbapi_connection
        assert raw is not None
        raw.cursor().execute(f"PRAGMA busy_timeout = {longest_ms}")


def only_reads(connection: Connection) -> bool:
    """Whether the database refuses changes through this connection."""
    return bool(connection.get_execution_options().get(_READS_ONLY, False))


def reads_alone(session: Session) -> bool:
    """Whether a session can change nothing, and has connections that it may give back."""
    engine = session.get_bind()
    reads = engine.get_execution_options().get(_READS_ONLY, False)
    return bool(reads) and not isinstance(engine.engine.pool, StaticPool)


def _parse(url: str) -> URL:
    shown = re.sub(r"//[^@/]*@", "//***@", url)
    try:
        parsed = make_url(url)
    except (ArgumentError, ValueError):
        raise BadDatabase("database-address-misread", shown) from None
    if parsed.drivername in ("postgresql", "postgres"):
        parsed = parsed.set(drivername="postgresql+psycopg")
    if parsed.drivername not in ("sqlite", "sqlite+pysqlite", "postgresql+psycopg"):
        raise BadDatabase("no-such-engine", shown)
    return parsed


def _open_postgresql(url: URL) -> Engine:
    try:
        engine = create_engine(url, pool_pre_ping=True, **_pooled())
    except ModuleNotFoundError:
        shown = url.render_as_string(hide_password=True)
        raise BadDatabase("no-postgresql-driver", shown) from None
    event.listen(engine, "connect", _set_up_postgresql)
    count_changes(engine)
    return engine


def _pooled() -> dict[str, Any]:
    return {
        "pool_size": _KEPT_CONNECTIONS,
        "max_overflow": MOST_CONNECTIONS - _KEPT_CONNECTIONS,
        "pool_timeout": _CONNECTION_WAIT_S,
    }


def _set_up_postgresql(connection: Any, _record: Any) -> None:
    # Where the server or the URL sets a limit of its own, that one stands.
    connection.autocommit = True
    connection.execute(
        "SELECT set_config(name, CASE name WHEN 'lock_timeout' THEN %s ELSE %s END, false)"
        " FROM pg_settings WHERE name IN ('lock_timeout', 'statement_timeout') AND setting = '0'",
        (str(BUSY_TIMEOUT_MS), str(STATEMENT_TIMEOUT_MS)),
    )
    connection.autocommit = False


def _open_sqlite(url: URL) -> Engine:
    in_memory = url.database in (None, "", ":memory:")
    if in_memory:
        # One connection only: each new one would open an empty database of its own.
        engine = create_engine(url, poolclass=StaticPool, connect_args={"check_same_thread": False})
    else:
        _make_folder(url)
        engine = create_engine(url, **_pooled())
    event.listen(engine, "connect", _set_up_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    count_changes(engine)
    return engine


def _make_folder(url: URL) -> None:
    path = Path(str(url.database))
    if path.is_dir():
        raise BadDatabase("database-is-folder", str(url))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as refused:
        raise BadDatabase("folder-not-writable", str(url), why=str(refused.strerror)) from refused


def _set_up_sqlite(connection: sqlite3.Connection, _record: Any) -> None:
    # pysqlite would begin transactions itself, late and never IMMEDIATE; SQLAlchemy's "begin"
    # event does it instead (SQLAlchemy documentation, dialect "pysqlite", serializable isolation).
    connection.isolation_level = None
    try:
        _switch_to_wal(connection)
        connection.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
        connection.execute("PRAGMA synchronous = FULL")  # NORMAL loses commits in a power cut
        connection.execute("PRAGMA foreign_keys = ON")
        connection.create_function("lower", 1, _lower, deterministic=True)
    except sqlite3.DatabaseError as refused:
        if refused.sqlite_errorcode == sqlite3.SQLITE_BUSY:
            raise
        where = connection.execute("PRAGMA database_list").fetchone()
        raise BadDatabase(
            "database-file-refused", where[2] if where else "sqlite", why=str(refused)
        ) from refused


def _set_up_reading(connection: sqlite3.Connection, _record: Any) -> None:
    connection.isolation_level = None
    connection.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    connection.create_function("lower", 1, _lower, deterministic=True)


def _lower(text: Any) -> Any:
    # SQLite's own knows only A to Z; a search must find "Épinard" under "épinard".
    return text.lower() if isinstance(text, str) else text


def _switch_to_wal(connection: sqlite3.Connection) -> None:
    # Where several programs open a new file together SQLite refuses this at once, whatever the
    # busy timeout: each holds a lock that the others' switch needs.
    connection.execute("PRAGMA busy_timeout = 0")  # so that it is waited for here alone
    deadline = time.monotonic() + BUSY_TIMEOUT_MS / 1000
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as refused:
            busy = refused.sqlite_errorcode == sqlite3.SQLITE_BUSY
            if not busy or time.monotonic() > deadline:
                raise
            time.sleep(0.01)


def _begin_sqlite(connection: Connection) -> None:
    # A writer takes the write lock at once: a reader that turned writer half-way would be refused
    # without waiting (SQLITE_BUSY_SNAPSHOT) whenever another had committed meanwhile.
    reads = only_reads(connection)
    connection.exec_driver_sql(f"PRAGMA query_only = {int(reads)}")
    connection.exec_driver_sql("BEGIN" if reads else "BEGIN IMMEDIATE")
