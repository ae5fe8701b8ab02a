"""Migrations against the tables as the program declares them."""

import threading
from collections.abc import Iterator
from typing import Any

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, inspect
from sqlalchemy.exc import IntegrityError
from sqlmodel import SQLModel

from seedbank.common.errors import BadDatabase, NewerDatabase
from seedbank.database.engine import open_engine
from seedbank.database.migrate import config, revisions, schema_revision, upgrade
from seedbank.database.word_index import is_derived


@pytest.fixture
def empty(database_url: str) -> Iterator[Engine]:
    engine = open_engine(database_url)
    yield engine
    engine.dispose()


def _rules(engine: Engine) -> dict[str, dict[str | None, str]]:
    """CHECK constraints by table and name, which Alembic doesn't compare."""
    found = inspect(engine)
    return {
        table: {rule["name"]: rule["sqltext"] for rule in found.get_check_constraints(table)}
        for table in found.get_table_names()
        if table != "alembic_version" and not is_derived(table)
    }


def _differences(connection: Connection) -> list[Any]:
    """What Alembic finds unlike the declared tables, but for the indexes of words."""

    def ours(name: str | None, *_: object) -> bool:
        return not is_derived(name)

    options = {"compare_type": True, "compare_server_default": True, "include_name": ours}
    context = MigrationContext.configure(connection, opts=options)
    return list(compare_metadata(context, SQLModel.metadata))


def test_migrating_an_empty_database_gives_the_declared_tables(empty: Engine) -> None:
    upgrade(empty)
    with empty.connect() as connection:
        assert _differences(connection) == []


def test_the_comparison_would_notice_a_column_too_many(empty: Engine) -> None:
    upgrade(empty)
    with empty.begin() as connection:
        connection.exec_driver_sql("ALTER TABLE lot ADD COLUMN colour VARCHAR(20)")
    with empty.connect() as connection:
        assert _differences(connection) != []


def test_migrating_gives_the_declared_rules_too(empty: Engine) -> None:
    SQLModel.metadata.create_all(empty)
    declared = _rules(empty)
    assert sum(len(rules) for rules in declared.values()) > 30
    SQLModel.metadata.drop_all(empty)
    upgrade(empty)
    assert _rules(empty) == declared


def test_a_database_without_schema_has_no_revision(empty: Engine) -> None:
    assert schema_revision(empty) is None
    upgrade(empty)
    assert schema_revision(empty) == revisions()[-1] >= "0002"


def test_migrating_again_changes_nothing(empty: Engine) -> None:
    upgrade(empty)
    with empty.begin() as connection:
        connection.exec_driver_sql(
            "INSERT INTO kind (version, slug, name, packaged) VALUES (1, 'a', 'A', false)"
        )
    upgrade(empty)
    with empty.connect() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM kind").scalar() == 1


_A_GARDEN = """
INSERT INTO kind (id, version, slug, name, packaged) VALUES (1, 1, 'a', 'A', false);
INSERT INTO variety (id, version, kind_id, name, breeding, other_keepers, plants_wanted,
    reserve_seeds, notes) VALUES (1, 3, 1, 'B', 'landrace', 'none', 4, 9, 'n');
INSERT INTO lot (id, version, code, variety_id, origin, donor, harvest_year, harvest_estimated,
    generation, seed_parents, isolation, treated, notes, created_at)
    VALUES (1, 2, '00001', 1, 'gift', 'd', 2019, false, 0, 7, 'cage', false, '', '2020-01-01');
INSERT INTO lot (id, version, code, variety_id, origin, donor, harvest_estimated, isolation,
    treated, notes, created_at)
    VALUES (2, 1, '00002', 1, 'self-saved', '', true, 'unknown', false, 'x', '2021-01-01');
INSERT INTO lot_parent (lot_id, parent_id) VALUES (2, 1);
INSERT INTO movement (id, lot_id, serial, on_date, reason, seeds, seeds_se, balance_seeds, note,
    recorded_at) VALUES (1, 1, 1, '2020-01-01', 'acquired', 40, 0, 40, '', '2020-01-01')
"""


@pytest.fixture
def of_0001(empty: Engine) -> Engine:
    """A database as the first schema left it, with a lot, its offspring and its seed."""
    with empty.begin() as connection:
        command.upgrade(config(connection), "0001")
        for statement in _A_GARDEN.split(";"):
            connection.exec_driver_sql(statement)
    return empty


def test_a_garden_kept_under_the_first_schema_is_brought_forward_whole(of_0001: Engine) -> None:
    tables = ("kind", "variety", "lot_parent", "movement")
    with of_0001.connect() as connection:
        before = {t: connection.exec_driver_sql(f"SELECT * FROM {t}").all() for t in tables}
        lots = connection.exec_driver_sql("SELECT * FROM lot ORDER BY id").all()
    upgrade(of_0001)
    with of_0001.connect() as connection:
        assert _differences(connection) == []
        after = {t: connection.exec_driver_sql(f"SELECT * FROM {t}").all() for t in tables}
        before["variety"] = [(*one, False, None) for one in before["variety"]]  # as it was said
        assert {t: [tuple(row) for row in rows] for t, rows in after.items()} == before
        found = connection.exec_driver_sql("SELECT * FROM lot ORDER BY id").all()
    assert [tuple(lot) for lot in found] == [(*lot, "unknown", "", *([None] * 7)) for lot in lots]


def test_shallots_are_the_seed_they_were_taken_for_and_other_lots_as_their_kind(
    of_0001: Engine,
) -> None:
    with of_0001.begin() as connection:
        connection.exec_driver_sql("UPDATE kind SET slug = 'shallot' WHERE id = 1")
    upgrade(of_0001)
    with of_0001.connect() as connection:
        query = (
            "SELECT kind.slug = 'shallot', lot.kept_as FROM lot JOIN variety ON variety.id = "
            "lot.variety_id JOIN kind ON kind.id = variety.kind_id"
        )
        found = {(bool(of_it), kept) for of_it, kept in connection.exec_driver_sql(query)}
    assert found == {(True, "seed")}


def test_a_lot_brought_forward_knows_only_the_words_for_purity(of_0001: Engine) -> None:
    upgrade(of_0001)
    with of_0001.begin() as connection:
        connection.exec_driver_sql("UPDATE lot SET purity = 'risk' WHERE id = 1")
    with pytest.raises(IntegrityError), of_0001.begin() as connection:
        connection.exec_driver_sql("UPDATE lot SET purity = 'pure' WHERE id = 1")


def test_a_database_from_a_newer_program_is_refused_and_left_alone(empty: Engine) -> None:
    upgrade(empty)
    with empty.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(NewerDatabase) as refused:
        upgrade(empty)
    assert refused.value.value == "9999"
    assert schema_revision(empty) == "9999"


def test_two_programs_starting_together_both_find_the_schema_ready(database_url: str) -> None:
    failures: list[BaseException] = []
    start = threading.Barrier(8)

    def begin() -> None:
        engine = open_engine(database_url)
        try:
            start.wait()
            upgrade(engine)
        except BaseException as failure:  # carried to the main thread
            failures.append(failure)
        finally:
            engine.dispose()

    threads = [threading.Thread(target=begin) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []


def test_links_are_enforced_again_after_migrating(empty: Engine) -> None:
    upgrade(empty)
    if empty.dialect.name == "sqlite":
        with empty.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1


def test_a_migration_that_finds_broken_links_changes_nothing(empty: Engine) -> None:
    if empty.dialect.name != "sqlite":
        pytest.skip("PostgreSQL checks links as it goes")
    raw = empty.raw_connection()
    raw.cursor().execute("CREATE TABLE above (id INTEGER PRIMARY KEY)")
    raw.cursor().execute("CREATE TABLE below (id INTEGER REFERENCES above (id))")
    raw.cursor().execute("PRAGMA foreign_keys = OFF")
    raw.cursor().execute("INSERT INTO below VALUES (7)")
    raw.close()
    with pytest.raises(BadDatabase, match="Can't use"):
        upgrade(empty)
    assert schema_revision(empty) is None
    assert "lot" not in inspect(empty).get_table_names()


def test_migrations_are_numbered_in_the_order_they_are_made_in() -> None:
    scripts = ScriptDirectory.from_config(config())
    assert revisions() == [script.revision for script in scripts.walk_revisions()][::-1]
