"""One database a test: an SQLite file, or one on the server of SEEDBANK_TEST_DATABASE_URL."""

import os
import shutil
import sqlite3
import sys
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from hypothesis import settings
from sqlalchemy import Engine, Pool, make_url
from sqlmodel import Session, SQLModel

import seedbank.database.cache as cache_module
import seedbank.database.engine as engine_module
import seedbank.tables  # noqa: F401 - fills the metadata
from seedbank.database.engine import one_moment, open_engine, open_for_reading, session_factory
from seedbank.database.migrate import upgrade
from seedbank.interchange.folder.import_collection import import_collection
from seedbank.kinds.edit_kinds import add_packaged_kinds
from seedbank.upkeep.copy_tables import copy_tables
from seedbank.upkeep.open_collection import open_collection
from tests.shared_answers import SHARED, give_cache, store_unless_shared

_CREATE_ENGINE, _SET_UP_SQLITE = engine_module.create_engine, engine_module._set_up_sqlite
_FIRST_OF: dict[type[Pool], Engine] = {}


def _create_engine(*where: Any, **how: Any) -> Engine:
    """An engine that knows the SQL which others of its sort have compiled before it."""
    engine = _CREATE_ENGINE(*where, **how)
    if engine.dialect.name == "sqlite":
        first = _FIRST_OF.setdefault(type(engine.pool), engine)
        engine.dialect = engine.pool._dialect = first.dialect
        engine._compiled_cache = first._compiled_cache
        give_cache(engine)
    return engine


def _set_up_quick_sqlite(connection: sqlite3.Connection, record: Any) -> None:
    """As every connection is set up, but no commit waits for the disk: no power cut is tested."""
    _SET_UP_SQLITE(connection, record)
    connection.execute("PRAGMA synchronous = OFF")


engine_module.create_engine = _create_engine
engine_module._set_up_sqlite = _set_up_quick_sqlite
cache_module.store_answer = store_unless_shared


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


_EVERYWHERE = {"time_stands_still_for_plans", "answers_are_shared", "nothing_set"}


def _alters_the_program(item: pytest.Function) -> bool:
    """Whether a test, or a fixture of its own, puts something else in the program's place."""
    info = item._fixtureinfo
    makers = [
        maker
        for name, each in info.name2fixturedefs.items()
        if name not in _EVERYWHERE
        for maker in each
    ]
    return any("monkeypatch" in one.argnames for one in (info, *makers))


@pytest.fixture(autouse=True)
def answers_are_shared(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that alter the program neither use nor give shared answers."""
    shared = SHARED.in_use and not _alters_the_program(request.node)
    monkeypatch.setattr(SHARED, "in_use", shared)


LONGEST = ("test_forms_filled_at_random.py", "test_generated_requests.py", "test_guide.py")
"""Begun first, so that in the end no core waits for another that is still at one of them."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what works on a database of either engine; all else is the same on any."""
    items.sort(key=lambda item: item.path.name not in LONGEST)
    for item in items:
        if isinstance(item, pytest.Function) and "database_url" in item.fixturenames:
            item.add_marker("either_engine")


FILLED_BY = ("garden_engine", "collection_url", "kinds_in", "engine")
"""Fixtures that want something in the database; a test that wants two has what the first wants."""


@pytest.fixture
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """URL of a database: empty, but on PostgreSQL already filled as a fixture that follows wants.

    There it is a copy of one that was filled once, which takes a tenth of the time of filling it.
    """
    if os.environ.get("SEEDBANK_TEST_DATABASE_URL") is None:
        yield f"sqlite:///{tmp_path / 'seedbank.db'}"
        return
    databases: Databases = request.getfixturevalue("_databases")
    filled = next((name for name in FILLED_BY if name in request.fixturenames), None)
    with databases.another(filled and databases.first(filled, request)) as url:
        yield url


class Databases:
    """Databases on a PostgreSQL server, some of them to copy, gone afterwards."""

    def __init__(self, server: str) -> None:
        from psycopg import connect  # where there is a PostgreSQL to test on, there is this

        self.server = make_url(server)
        plain = self.server.set(drivername="postgresql").render_as_string(hide_password=False)
        self.connection = connect(plain, autocommit=True)
        self.to_copy: dict[str, str] = {}

    @contextmanager
    def another(self, copied: str | None = None) -> Iterator[str]:
        """URL of a new database, empty or a copy of that one."""
        name = f"test_{uuid.uuid4().hex}"
        self.connection.execute(f"CREATE DATABASE {name} TEMPLATE {copied or 'template1'}")
        yield self.server.set(database=name).render_as_string(hide_password=False)
        self.drop(name)

    def first(self, what: str, request: pytest.FixtureRequest) -> str:
        """Name of the database to copy for a fixture, filled when it is first wanted."""
        if what not in self.to_copy:
            name = f"first_{uuid.uuid4().hex}"
            self.connection.execute(f"CREATE DATABASE {name}")
            url = self.server.set(database=name).render_as_string(hide_password=False)
            engine = open_engine(url)
            if what == "garden_engine":
                _copy(request.getfixturevalue("garden_file"), engine)
            elif what == "collection_url":
                _opened(url).dispose()
            else:
                SQLModel.metadata.create_all(engine)
            if what == "kinds_in":
                with session_factory(engine)() as session:
                    add_packaged_kinds(session)
            engine.dispose()
            self.to_copy[what] = name
        return self.to_copy[what]

    def keep(self, what: str, name: str) -> None:
        """Keep a database as it is now, to be copied; nobody may be connected to it."""
        self.to_copy[what] = f"first_{uuid.uuid4().hex}"
        self.connection.execute(f"CREATE DATABASE {self.to_copy[what]} TEMPLATE {name}")

    def put(self, what: str, name: str) -> None:
        """Put a copy of what was kept in a database's place."""
        self.drop(name)
        self.connection.execute(f"CREATE DATABASE {name} TEMPLATE {self.to_copy[what]}")

    def drop(self, name: str) -> None:
        """Drop a database, whoever is still connected to it."""
        self.connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(scope="session")
def _databases() -> Iterator[Databases]:
    databases = Databases(os.environ["SEEDBANK_TEST_DATABASE_URL"])
    yield databases
    for name in databases.to_copy.values():
        databases.drop(name)
    databases.connection.close()


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
    SHARED.begin(file)
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
