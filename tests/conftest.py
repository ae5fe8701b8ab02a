"""One database a test: an SQLite file, or a schema of its own in SEEDBANK_TEST_DATABASE_URL."""

import os
import shutil
import sqlite3
import sys
import uuid
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from hypothesis import settings
from sqlalchemy import Connection, Engine, Pool, event, make_url
from sqlmodel import Session, SQLModel

import seedbank.database.engine as engine_module
import seedbank.tables  # noqa: F401 - fills the metadata
from seedbank.database.engine import one_moment, open_engine, open_for_reading, session_factory
from seedbank.database.migrate import upgrade
from seedbank.interchange.folder.import_collection import import_collection
from seedbank.upkeep.copy_tables import copy_tables
from seedbank.upkeep.open_collection import open_collection

_CREATE_ENGINE, _SET_UP_SQLITE = engine_module.create_engine, engine_module._set_up_sqlite
_FIRST_OF: dict[type[Pool], Engine] = {}


def _create_engine(*where: Any, **how: Any) -> Engine:
    """An engine that knows the SQL which others of its sort have compiled before it."""
    engine = _CREATE_ENGINE(*where, **how)
    if engine.dialect.name == "sqlite":
        first = _FIRST_OF.setdefault(type(engine.pool), engine)
        engine.dialect = engine.pool._dialect = first.dialect
        engine._compiled_cache = first._compiled_cache
    return engine


def _set_up_quick_sqlite(connection: sqlite3.Connection, record: Any) -> None:
    """As every connection is set up, but no commit waits for the disk: no power cut is tested."""
    _SET_UP_SQLITE(connection, record)
    connection.execute("PRAGMA synchronous = OFF")


engine_module.create_engine = _create_engine
engine_module._set_up_sqlite = _set_up_quick_sqlite


@pytest.fixture
def waits_for_the_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    """Connections as a gardener's are: a commit is on the disk when it returns."""
    monkeypatch.setattr(engine_module, "_set_up_sqlite", _SET_UP_SQLITE)


@lru_cache(maxsize=1)
def _planners(_loaded: int) -> list[ModuleType]:
    """The modules of ours that read how long something takes, among so many that are loaded."""
    ours = [module for name, module in sys.modules.items() if name.startswith("seedbank.")]
    return [module for module in ours if "monotonic" in vars(module)]


@pytest.fixture(autouse=True)
def time_stands_still_for_plans(monkeypatch: pytest.MonkeyPatch) -> None:
    """No plan of this process is cut short because the machine is busy: its limits hold one step
    each, and the clock it is handed stands still."""
    for module in _planners(len(sys.modules)):
        monkeypatch.setattr(module, "monotonic", lambda: 0.0)
    if "seedbank.plan.remedies" in sys.modules:
        monkeypatch.setattr("seedbank.plan.remedies._EACH_SHARE", 1.0)


@pytest.fixture
def database_url(tmp_path: Path) -> Iterator[str]:
    """URL of an empty database."""
    server = os.environ.get("SEEDBANK_TEST_DATABASE_URL")
    if server is None:
        yield f"sqlite:///{tmp_path / 'seedbank.db'}"
        return
    schema = f"test_{uuid.uuid4().hex}"
    admin = open_engine(server)
    with admin.begin() as connection:
        connection.exec_driver_sql(f"CREATE SCHEMA {schema}")
    url = make_url(server).update_query_dict({"options": f"-csearch_path={schema}"})
    yield url.render_as_string(hide_password=False)
    with admin.begin() as connection:
        connection.exec_driver_sql(f"DROP SCHEMA {schema} CASCADE")
    admin.dispose()


_SCHEMA = "schema_of_the_test"
_WRITTEN: dict[str, str] = {}


def _made(engine: Engine, what: str, make: Callable[[Engine], object]) -> None:
    """Make it in a schema of PostgreSQL, or write at once all that making the first one wrote."""
    schema = str(engine.url.query["options"]).partition("=")[2]
    if what in _WRITTEN:
        with engine.begin() as connection, connection.connection.cursor() as cursor:
            cursor.execute(_WRITTEN[what].replace(_SCHEMA, schema))
        return
    from psycopg import ClientCursor  # where there is a PostgreSQL to test on, there is this

    written: list[str] = []

    def note(at: Connection, cursor: Any, statement: str, values: Any, *_: Any) -> None:
        reads = statement.lstrip().startswith("SELECT") and "setval" not in statement
        of_all = statement.startswith("CREATE EXTENSION")  # the database has it from then on
        if at.dialect.name == "postgresql" and not (reads or of_all):
            rows = values if isinstance(values, list) else [values]
            with ClientCursor(cursor.connection) as plain:
                written.extend(plain.mogrify(statement, row) for row in rows)

    event.listen(Engine, "before_cursor_execute", note)
    try:
        make(engine)
    finally:
        event.remove(Engine, "before_cursor_execute", note)
    _WRITTEN[what] = ";\n".join(written).replace(schema, _SCHEMA)


@pytest.fixture(scope="session")
def _tables_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("tables") / "tables.sqlite"
    engine = open_engine(f"sqlite:///{file}")
    SQLModel.metadata.create_all(engine)
    engine.dispose()
    return file


@pytest.fixture
def engine(database_url: str, _tables_file: Path) -> Iterator[Engine]:
    """A database with every table, empty."""
    engine = open_engine(database_url)
    if engine.dialect.name == "sqlite":
        shutil.copy(_tables_file, str(engine.url.database))
    else:
        _made(engine, "tables", SQLModel.metadata.create_all)
    yield engine
    engine.dispose()


@pytest.fixture
def session(engine: Engine) -> Iterator[Session]:
    """A session that may write; what a test doesn't commit is rolled back."""
    with session_factory(engine)() as session:
        yield session


@pytest.fixture(scope="session")
def garden_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration's garden in an SQLite file, to read or copy, never to change."""
    file = tmp_path_factory.mktemp("garden") / "garden.sqlite"
    moment = datetime(2027, 2, 20, 12, tzinfo=UTC)
    engine = open_collection(f"sqlite:///{file}", now=moment)
    with session_factory(engine)() as session:
        import_collection(session, Path(__file__).parents[1] / "demo_data", moment)
    engine.dispose()
    return file


def _copy(file: Path, engine: Engine) -> None:
    whole = open_for_reading(f"sqlite:///{file}")
    upgrade(engine)
    with one_moment(whole) as source, engine.begin() as target:
        copy_tables(source, target)
    whole.dispose()


@pytest.fixture
def garden_engine(garden_file: Path, database_url: str) -> Iterator[Engine]:
    """The demonstration's garden in a database of the test's own."""
    engine = open_engine(database_url)
    if engine.dialect.name == "sqlite":
        shutil.copy(garden_file, str(engine.url.database))
    else:
        _made(engine, "garden", lambda engine: _copy(garden_file, engine))
    yield engine
    engine.dispose()


@pytest.fixture(scope="module")
def demo_stock(garden_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Session]:
    """A session on a copy of the demonstration's garden, one a module; tests only read it."""
    file = shutil.copy(garden_file, tmp_path_factory.mktemp("demo"))
    engine = open_engine(f"sqlite:///{file}")
    with session_factory(engine)() as session:
        yield session
    engine.dispose()


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A collection without a lot in an SQLite file, to copy, never to change."""
    file = tmp_path_factory.mktemp("empty") / "empty.sqlite"
    _opened(f"sqlite:///{file}").dispose()
    return file


def _opened(url: str) -> Engine:
    return open_collection(url, now=datetime(2027, 2, 20, 12, tzinfo=UTC))


@pytest.fixture
def collection_url(database_url: str, empty_file: Path) -> str:
    """URL of a database that may hold an empty collection already, which saves making it."""
    url = make_url(database_url)
    if url.get_backend_name() == "sqlite":
        shutil.copy(empty_file, str(url.database))
    else:
        engine = open_engine(database_url)
        _made(engine, "collection", lambda _: _opened(database_url).dispose())
        engine.dispose()
    return database_url


@pytest.fixture
def now() -> datetime:
    return datetime(2027, 3, 1, 9, 30, tzinfo=UTC)


@pytest.fixture
def today() -> date:
    return date(2027, 3, 1)


# Chance finds faults at the bench; a gate must answer the same for the same code.
settings.register_profile("anywhere", deadline=None)  # a busy machine is no fault
settings.load_profile("anywhere")
settings.register_profile("gate", derandomize=True, deadline=None)
if os.environ.get("CI"):
    settings.load_profile("gate")
