"""The indexes of words: made, kept by whoever writes, done without, and made again."""

import sqlite3
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine, create_engine, event, make_url, text
from sqlalchemy.exc import DBAPIError
from sqlmodel import Session

from seedbank.database import word_index
from seedbank.database.engine import one_moment, open_engine, session_factory, sqlite_file
from seedbank.database.migrate import upgrade
from seedbank.interchange.folder.whole_collection import collection_tables
from seedbank.lots.tables.lot_search import LotFilter, find_lots
from seedbank.upkeep.check_collection import check_collection
from seedbank.upkeep.copy_files import copy_to_file
from seedbank.upkeep.copy_tables import tables_in

LOT = (
    "INSERT INTO lot (id, version, code, variety_id, origin, donor, harvest_estimated, isolation, "
    "treated, notes, created_at, purity, purity_note) VALUES ({id}, 1, '{code}', 1, 'gift', '', "
    "false, 'unknown', false, '{notes}', '2020-01-01 00:00:00+00:00', 'unknown', '')"
)
KIND = "INSERT INTO kind (id, version, slug, name, packaged) VALUES (1, 1, 'bean', 'Bean', false)"
VARIETY = (
    "INSERT INTO variety (id, version, kind_id, name, breeding, other_keepers, plants_wanted, "
    "reserve_seeds, notes) VALUES (1, 1, 1, 'Lantern', 'landrace', 'none', 4, 9, '')"
)


@pytest.fixture
def empty(database_url: str) -> Iterator[Engine]:
    engine = open_engine(database_url)
    yield engine
    engine.dispose()


@pytest.fixture
def on_sqlite(tmp_path: Path) -> Iterator[Engine]:
    """An SQLite file of its own, whatever the other tests run on."""
    engine = open_engine(f"sqlite:///{tmp_path / 'words.sqlite'}")
    yield engine
    engine.dispose()


@pytest.fixture
def on_postgresql(empty: Engine) -> Engine:
    if empty.dialect.name != "postgresql":
        pytest.skip("SEEDBANK_TEST_DATABASE_URL names no PostgreSQL server")
    return empty


def _plant(engine: Engine) -> None:
    with engine.begin() as connection:
        for statement in (KIND, VARIETY, LOT.format(id=1, code="00001", notes="Épinard, purple")):
            connection.exec_driver_sql(statement)


def _found(engine: Engine, words: str) -> list[int | None]:
    with session_factory(engine, writes=False)() as session:
        return [entry.lot.id for entry in find_lots(session, LotFilter(q=words)).items]


def _there(engine: Engine) -> bool:
    engine.dispose()  # a connection remembers what it was told
    with one_moment(engine) as connection:
        return word_index.is_there(connection)


def test_a_collection_that_is_opened_has_the_indexes_and_they_are_no_tables_of_its(
    garden_engine: Engine,
) -> None:
    assert _there(garden_engine)
    with one_moment(garden_engine) as connection:
        names = {table.name for table in tables_in(connection)}
    assert "lot" in names
    assert not [name for name in names if word_index.is_derived(name)]
    assert not [table for table in collection_tables() if word_index.is_derived(table.name)]


def test_rows_copied_from_one_engine_to_the_other_fill_the_copy_s_own_index(
    garden_engine: Engine, tmp_path: Path
) -> None:
    file = tmp_path / "copy.sqlite"
    with one_moment(garden_engine) as connection:
        copy_to_file(connection, file)
    copy = open_engine(f"sqlite:///{file}")
    assert _there(copy)
    assert check_collection(copy).faults == []
    assert _found(copy, "orla") == _found(garden_engine, "orla") != []
    copy.dispose()


def test_whoever_writes_to_the_file_keeps_the_index_too(on_sqlite: Engine) -> None:
    upgrade(on_sqlite)
    _plant(on_sqlite)
    raw = sqlite3.connect(str(sqlite_file(str(on_sqlite.url))))  # knows nothing of our lower()
    raw.execute(LOT.format(id=2, code="00002", notes="ÉPINARD ROUGE"))
    raw.execute("UPDATE lot SET notes = 'none' WHERE id = 1")
    raw.commit()
    raw.close()
    assert _found(on_sqlite, "épinard") == [2]
    assert _found(on_sqlite, "purple") == []
    assert not [fault for fault in check_collection(on_sqlite).faults if "words" in fault]


def test_indexes_that_are_gone_or_half_gone_are_made_anew_at_the_next_start(empty: Engine) -> None:
    upgrade(empty)
    _plant(empty)
    half = "DROP INDEX ix_variety_words"
    if empty.dialect.name == "sqlite":
        # As a migration that copies the table leaves it.
        half = "DROP TRIGGER lot_words_changed"
    with empty.begin() as connection:
        connection.exec_driver_sql(half)
        connection.exec_driver_sql("UPDATE lot SET notes = 'striped'")
    assert not _there(empty)
    assert _found(empty, "striped") == [1]
    upgrade(empty)
    assert _there(empty)
    assert _found(empty, "striped") == [1]
    with empty.begin() as connection:
        word_index.drop(connection)
    assert not _there(empty)
    assert _found(empty, "lantern") == [1]
    upgrade(empty)
    assert _there(empty)
    assert _found(empty, "lantern") == [1]


def test_an_sqlite_without_the_tokenizer_does_without_and_makes_the_index_when_it_can(
    on_sqlite: Engine, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 33, 0))
    upgrade(on_sqlite)
    assert "older than 3.34 or was built without FTS5; use a newer Python" in caplog.text
    _plant(on_sqlite)
    assert not _there(on_sqlite)
    assert _found(on_sqlite, "épinard lantern") == [1]
    assert not [
        one for one in check_collection(on_sqlite).parts if one.name == "words" and one.proofs
    ]
    monkeypatch.undo()
    upgrade(on_sqlite)
    assert _there(on_sqlite)
    assert _found(on_sqlite, "épinard lantern") == [1]


def test_a_file_from_elsewhere_can_be_written_to_by_an_sqlite_without_the_tokenizer(
    on_sqlite: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    upgrade(on_sqlite)
    _plant(on_sqlite)
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 33, 0))
    upgrade(on_sqlite)
    with on_sqlite.begin() as connection:
        left = "SELECT count(*) FROM sqlite_schema WHERE type = 'trigger'"
        assert connection.exec_driver_sql(left).scalar() == 0
        connection.exec_driver_sql("UPDATE lot SET notes = 'striped'")
    assert _found(on_sqlite, "striped") == [1]
    monkeypatch.undo()
    assert not _there(on_sqlite)  # with what the index missed, it isn't used
    upgrade(on_sqlite)
    assert _found(on_sqlite, "striped") == [1]
    assert not [fault for fault in check_collection(on_sqlite).faults if "words" in fault]


def test_a_postgresql_without_the_module_does_without_and_makes_the_index_when_it_can(
    on_postgresql: Engine, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(word_index, "_EXTENSION", "no_such_module")
    upgrade(on_postgresql)
    assert 'extension "no_such_module" is not available' in caplog.text
    assert "have its administrator install the contributed modules" in caplog.text
    _plant(on_postgresql)
    assert not _there(on_postgresql)
    assert _found(on_postgresql, "épinard lantern") == [1]
    monkeypatch.undo()
    upgrade(on_postgresql)
    assert _there(on_postgresql)
    assert _found(on_postgresql, "épinard lantern") == [1]


@pytest.fixture
def not_allowed(on_postgresql: Engine) -> Iterator[Engine]:
    """A new database in which we have a schema of our own and may do nothing else."""
    name = f"plain_{uuid.uuid4().hex}"
    admin = create_engine(on_postgresql.url, isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        try:
            connection.exec_driver_sql(f"CREATE ROLE {name}")
            connection.exec_driver_sql(f"CREATE DATABASE {name}")
        except DBAPIError as refused:
            pytest.skip(f"the server lets us make no roles and databases: {refused.orig}")
    url = (
        make_url(on_postgresql.url)
        .set(database=name)
        .update_query_dict({"options": f"-csearch_path={name}"})
    )
    inside = create_engine(url, isolation_level="AUTOCOMMIT")
    with inside.connect() as connection:
        connection.exec_driver_sql(f"CREATE SCHEMA {name} AUTHORIZATION {name}")
    inside.dispose()
    engine = create_engine(url)
    event.listen(
        engine, "connect", lambda raw, _: raw.execute(f"SET ROLE {name}").connection.commit()
    )
    yield engine
    engine.dispose()
    with admin.connect() as connection:
        connection.exec_driver_sql(f"DROP DATABASE {name}")
        connection.exec_driver_sql(f"DROP ROLE {name}")
    admin.dispose()


def test_who_may_put_no_module_into_postgresql_is_told_and_does_without(
    not_allowed: Engine, caplog: pytest.LogCaptureFixture
) -> None:
    upgrade(not_allowed)
    assert "permission denied to create extension" in caplog.text
    assert "CREATE EXTENSION pg_trgm SCHEMA public" in caplog.text
    _plant(not_allowed)
    assert not _there(not_allowed)
    assert _found(not_allowed, "épinard lantern") == [1]
    # What the administrator is asked to do is enough.
    url = not_allowed.url
    admin = create_engine(url, isolation_level="AUTOCOMMIT")
    with admin.connect() as connection:
        connection.exec_driver_sql("CREATE EXTENSION pg_trgm SCHEMA public")
    admin.dispose()
    upgrade(not_allowed)
    assert _there(not_allowed)
    assert _found(not_allowed, "épinard lantern") == [1]


@pytest.mark.usefixtures("on_postgresql")
def test_a_collection_s_schema_that_goes_takes_no_other_s_index_along(engine: Engine) -> None:
    other = f"test_{uuid.uuid4().hex}"
    with engine.begin() as connection:
        connection.exec_driver_sql(f"CREATE SCHEMA {other}")
    url = make_url(engine.url).update_query_dict({"options": f"-csearch_path={other}"})
    beside = create_engine(url)
    upgrade(beside)
    assert _there(beside)
    with beside.begin() as connection:
        connection.exec_driver_sql(f"DROP SCHEMA {other} CASCADE")
    beside.dispose()
    assert _there(engine)


def test_a_fault_that_is_none_of_the_module_s_is_not_taken_for_one(session: Session) -> None:
    with pytest.raises(DBAPIError) as failed:
        session.execute(text("SELECT * FROM nowhere"))
    with pytest.raises(DBAPIError, match="nowhere"):
        word_index._refusal(failed.value)
