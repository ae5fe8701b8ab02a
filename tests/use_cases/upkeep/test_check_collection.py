"""Each thing the check proves, broken on purpose behind the database's back, and named."""

import re
import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine, inspect, text

from seedbank.common.errors import BadDatabase
from seedbank.database.engine import open_engine, open_for_reading
from seedbank.database.migrate import revisions, upgrade
from seedbank.upkeep.check_collection import check_collection
from seedbank.upkeep.checks.proofs import FAULTS_TOLD


def _break(engine: Engine, *statements: str) -> None:
    """Run SQL with every guard of the database off."""
    with engine.connect() as connection:
        if engine.dialect.name == "sqlite":
            raw = connection.connection.driver_connection
            assert isinstance(raw, sqlite3.Connection)
            raw.execute("PRAGMA foreign_keys = OFF")
            raw.execute("PRAGMA ignore_check_constraints = ON")
        with connection.begin():
            if engine.dialect.name == "postgresql":
                _drop_guards(connection)
            for statement in statements:
                assert connection.execute(text(statement)).rowcount != 0, statement
    engine.dispose()


def _drop_guards(connection) -> None:
    there = inspect(connection)
    for table in there.get_table_names():
        for rule in (*there.get_foreign_keys(table), *there.get_check_constraints(table)):
            connection.exec_driver_sql(f'ALTER TABLE {table} DROP CONSTRAINT "{rule["name"]}"')
        for column in there.get_columns(table):
            if not column["nullable"] and column["name"] not in _key(there, table):
                connection.exec_driver_sql(
                    f'ALTER TABLE {table} ALTER COLUMN "{column["name"]}" DROP NOT NULL'
                )


def _key(there, table: str) -> list[str]:
    return there.get_pk_constraint(table)["constrained_columns"]


def test_a_sound_collection_proves_with_numbers(garden_engine: Engine) -> None:
    report = check_collection(garden_engine)
    assert report.faults == []
    assert report.holds
    numbers = {proof.claim: proof.number for part in report.parts for proof in part.proofs}
    assert numbers["every balance is the sum of the lot's movements up to it"] > 400
    assert numbers["no more seeds are judged in a replicate than were set"] > 200
    assert numbers["no more seeds came up or were lost than were sown"] > 100
    assert numbers["no lot descends from itself"] > 50
    assert report.claims > 150


_FIRST = "(SELECT min(id) FROM {0})"
_SOWN = "(SELECT min(id) FROM movement WHERE reason = 'sown')"
_LAST_OF_FIRST_LOT = "(SELECT max(id) FROM movement WHERE lot_id = (SELECT min(id) FROM lot))"
_UNDO_FIRST = (
    "INSERT INTO movement (id, lot_id, serial, on_date, reason, seeds, seeds_se, balance_seeds, "
    "reverses_id, note, recorded_at) SELECT 99999, lot_id, serial + 1, on_date, 'stock-take', "
    "{seeds}, 0, balance_seeds + ({seeds}), {undone}, '', recorded_at FROM movement "
    f"WHERE id = {_LAST_OF_FIRST_LOT}"
)

BROKEN = {
    "a balance that isn't the sum": (
        f"UPDATE movement SET balance_seeds = balance_seeds + 7 WHERE id = {_SOWN}",
        r"Lot \w+, movement \d+ \(id \d+\) says \d+ seeds are left; the movements add up to \d+\.",
    ),
    "a movement gone": (
        f"DELETE FROM movement WHERE id = {_SOWN}",
        r"Lot \w+: its movement in place \d+ \(id \d+\) bears the number \d+\.",
    ),
    "less than nothing": (
        f"UPDATE movement SET seeds = -900000, balance_seeds = -5 WHERE id = {_SOWN}",
        r"Lot \w+ falls to -\d+ seeds with its movement",
    ),
    "seed sown that comes in": (
        f"UPDATE movement SET seeds = -seeds WHERE id = {_SOWN}",
        r"\d+ seeds are booked as sown\.",
    ),
    "an undoing of another lot's movement": (
        _UNDO_FIRST.format(seeds="-1", undone="(SELECT max(id) FROM movement WHERE lot_id = "
        "(SELECT max(lot_id) FROM movement))"),
        r"\(id 99999\) undoes movement id \d+, which isn't an earlier movement of that lot",
    ),
    "an undoing of nothing": (
        _UNDO_FIRST.format(seeds="-1", undone="424242"),
        r"\(id 99999\) undoes movement id 424242, which isn't",
    ),
    "an undoing that doesn't cancel": (
        _UNDO_FIRST.format(seeds="-1", undone="(SELECT min(m.id) FROM movement m WHERE m.lot_id "
        "= movement.lot_id AND abs(m.seeds) > 1)"),
        r"\(id 99999\) moves -1 seeds to undo a movement of -?\d+ seeds\.",
    ),
    "a reference to nothing": (
        f"UPDATE lot SET variety_id = 424242 WHERE id = {_FIRST.format('lot')}",
        r"lot \d+: its variety_id 424242 is not among the variety rows\.",
    ),
    "a kind left out of the vocabulary": (
        f"UPDATE lot SET origin = 'found' WHERE id = {_FIRST.format('lot')}",
        r"lot \d+: its origin can't be right\.",
    ),
    "a condition broken": (
        f"UPDATE lot SET harvest_year = 1066 WHERE id = {_FIRST.format('lot')}",
        r"lot \d+ breaks its rule harvest_year BETWEEN 1800 AND 2200\.",
    ),
    "a number that isn't one": (
        f"UPDATE place SET seed_moisture_pct = 9e999 WHERE id = {_FIRST.format('place')}",
        r"place \d+: its seed_moisture_pct can't be right\.",
    ),
    "more judged than set": (
        "UPDATE germination_count SET normal = normal + 500 WHERE id = "
        "(SELECT min(id) FROM germination_count WHERE current)",
        r"Test \d+, replicate \d+: \d+ seeds are judged, \d+ were set\.",
    ),
    "a finished test with seeds unjudged": (
        "UPDATE replicate SET seeds_set = seeds_set + 3 WHERE id = (SELECT min(r.id) FROM "
        "replicate r JOIN germination_test t ON t.id = r.test_id WHERE t.finished_on IS NOT NULL)",
        r"Test \d+ is finished, but in replicate \d+ only \d+ of \d+ seeds are judged\.",
    ),
    "a test that says other than was counted": (
        "UPDATE germination_test SET viable_seeds = viable_seeds - 1 WHERE id = "
        "(SELECT min(id) FROM germination_test WHERE finished_on IS NOT NULL)",
        r"Test \d+ says \d+ normal and \d+ viable of \d+; \d+ and \d+ of \d+ were counted\.",
    ),
    "no count that stands": (
        f"UPDATE germination_count SET current = false "
        f"WHERE id = {_FIRST.format('germination_count')}",
        r"Replicate id \d+, [\d-]+: 0 counts stand, or not the last\.",
    ),
    "more come up than sown": (
        f"UPDATE emergence SET units_emerged = 90000 WHERE sowing_id = "
        f"{_FIRST.format('sowing')}",
        r"Sowing \d+: 90000 came up, \d+ were lost before and \d+ after, but \d+ were sown\.",
    ),
    "a sowing that took other seed": (
        f"UPDATE sowing SET seeds_sown = seeds_sown + 1 WHERE id = {_FIRST.format('sowing')}",
        r"Sowing \d+ of lot \w+ used \d+ seeds; its movement \(id \d+\) books -\d+ as sown",
    ),
    "a test of another lot's seed": (
        "UPDATE germination_test SET lot_id = (SELECT max(id) FROM lot) WHERE id = "
        f"{_FIRST.format('germination_test')}",
        r"Test \d+ of lot \w+ used \d+ seeds; its movement",
    ),
    "half an answer kept": (
        "INSERT INTO answered_request (key, fingerprint, status, location, etag, body, "
        "answered_at) VALUES ('half', 'abc', 0, '', '', '', '2027-01-01 00:00:00+00:00')",
        r"The answer kept under the key 'half' is not whole \(status 0\)\.",
    ),
    "a code nobody can read": (
        f"UPDATE lot SET code = 'OOPS' WHERE id = {_FIRST.format('lot')}",
        r"Lot id \d+ has the code 'OOPS', which no label can be read as\.",
    ),
    "a lot that descends from itself": (
        "INSERT INTO lot_parent (lot_id, parent_id) SELECT parent_id, lot_id FROM lot_parent "
        "ORDER BY lot_id LIMIT 1",
        r"Lot id \d+ descends from itself",
    ),
    "nothing where something must be": (
        f"UPDATE variety SET notes = NULL WHERE id = {_FIRST.format('variety')}",
        r"variety \d+: its notes can't be right\.",
    ),
}  # fmt: skip
_NOT_NULL = {"nothing where something must be"}  # SQLite lets nobody turn that guard off


@pytest.mark.parametrize("what", BROKEN)
def test_what_is_broken_is_named(garden_engine: Engine, what: str) -> None:
    statement, sentence = BROKEN[what]
    if garden_engine.dialect.name == "postgresql":
        statement = statement.replace("9e999", "'NaN'")
    if garden_engine.dialect.name == "sqlite" and what in _NOT_NULL:
        _loosen(garden_engine, "variety", "notes")
    _break(garden_engine, statement)
    report = check_collection(garden_engine)
    assert not report.holds
    assert [fault for fault in report.faults if re.search(sentence, fault)], report.faults


def _loosen(engine: Engine, table: str, column: str) -> None:
    """Have SQLite forget that a column can't be empty."""
    with engine.connect() as connection:
        raw = connection.connection.driver_connection
        assert isinstance(raw, sqlite3.Connection)
        raw.execute("PRAGMA writable_schema = ON")
        raw.execute(
            "UPDATE sqlite_schema SET sql = replace(sql, :strict, :loose) WHERE name = :table",
            {"strict": f"{column} VARCHAR(4000) NOT NULL", "table": table,
             "loose": f"{column} VARCHAR(4000)"},
        )  # fmt: skip
        raw.execute("PRAGMA writable_schema = RESET")
    engine.dispose()


@pytest.mark.parametrize(
    ("index", "statements", "sentence"),
    [
        (
            "uq_movement_reverses_id",
            [
                _UNDO_FIRST.format(seeds="0", undone=_FIRST.format("movement")),
                _UNDO_FIRST.format(seeds="0", undone=_FIRST.format("movement")).replace(
                    "SELECT 99999", "SELECT 99998"
                ).replace("serial + 1", "serial + 2"),
            ],
            r"The movement with id \d+ is undone 2 times\.",
        ),
        (
            "uq_germination_count_current",
            [
                "INSERT INTO germination_count (id, replicate_id, on_date, revision, current, "
                "normal, abnormal, hard, fresh, dead, why_corrected, recorded_at) "
                "SELECT 99999, replicate_id, on_date, revision + 1, true, 0, 0, 0, 0, 0, '', "
                "recorded_at FROM germination_count WHERE id = "
                "(SELECT min(id) FROM germination_count)"
            ],
            r"germination_count: 2 rows share replicate_id, on_date \d+/[\d-]+\.",
        ),
    ],
)  # fmt: skip
def test_what_must_be_unique_and_isn_t_is_named(
    garden_engine: Engine, index: str, statements: list[str], sentence: str
) -> None:
    _break(garden_engine, f"DROP INDEX {index}", *statements)
    faults = check_collection(garden_engine).faults
    assert [fault for fault in faults if re.search(sentence, fault)], faults


@pytest.mark.parametrize(
    ("statement", "sentence"),
    [
        ("UPDATE lot SET harvest_date = '2019-02-30'", r"lot \d+: its harvest_date can't be right"),
        ("UPDATE lot SET created_at = 'soon'", r"lot \d+: its created_at can't be right"),
        ("UPDATE lot SET generation = 'many'", r"lot \d+: its generation can't be right"),
        ("UPDATE lot SET generation = 5000000000", r"lot \d+: its generation can't be right"),
        ("UPDATE lot SET treated = 2", r"lot \d+: its treated can't be right"),
        ("UPDATE lot SET donor = printf('%.*c', 300, 'x')", r"lot \d+: its donor can't be right"),
        ("UPDATE lot SET notes = 'a' || char(0)", r"lot \d+: its notes can't be right"),
        ("UPDATE plan_run SET choices = '[1, '", r"plan_run 1: its choices can't be right"),
    ],
)
def test_what_sqlite_would_keep_but_no_column_may_hold_is_named(
    garden_file: Path, tmp_path: Path, statement: str, sentence: str
) -> None:
    file = tmp_path / "loose.sqlite"
    raw = sqlite3.connect(file, isolation_level=None)
    whole = sqlite3.connect(garden_file)
    whole.backup(raw)
    whole.close()
    raw.execute("INSERT INTO plan_run VALUES (1, 2027, 3, '[]', '2027-01-01', NULL)")
    raw.execute("PRAGMA ignore_check_constraints = ON")
    raw.execute(statement)
    raw.close()
    engine = open_for_reading(f"sqlite:///{file}")
    faults = check_collection(engine).faults
    engine.dispose()
    assert [fault for fault in faults if re.search(sentence, fault)], faults


def test_many_faults_alike_are_counted_not_listed(garden_engine: Engine) -> None:
    _break(garden_engine, "UPDATE lot SET harvest_year = 1066")
    report = check_collection(garden_engine)
    told = [one for one in report.faults if "harvest_year" in one and "can't be" not in one]
    assert len(told) == FAULTS_TOLD + 1
    assert re.fullmatch(
        r"… and 1\d\d more of which it isn't true that lot: harvest_year .+", told[-1]
    )
    assert report.broken > 100


def test_an_older_schema_is_all_that_is_told(garden_engine: Engine) -> None:
    _break(garden_engine, "UPDATE alembic_version SET version_num = '0001'")
    assert check_collection(garden_engine).faults == [
        f"The database has schema '0001', this seedbank works on {revisions()[-1]!r}: start it "
        "once on the database to bring it up to date."
    ]


def test_a_table_or_column_that_is_gone_is_named(garden_engine: Engine) -> None:
    _break(garden_engine, "DROP TABLE answered_request", "ALTER TABLE lot DROP COLUMN purity_note")
    assert check_collection(garden_engine).faults == [
        "The table answered_request is missing.",
        "The table lot lacks its column purity_note.",
    ]


def test_a_damaged_page_is_named(garden_file: Path, tmp_path: Path) -> None:
    file = tmp_path / "damaged.sqlite"
    raw, whole = sqlite3.connect(file, isolation_level=None), sqlite3.connect(garden_file)
    whole.backup(raw)
    whole.close()
    root = raw.execute(
        "SELECT rootpage FROM sqlite_schema WHERE name = 'ix_lot_variety_id'"
    ).fetchone()[0]
    size = raw.execute("PRAGMA page_size").fetchone()[0]
    raw.execute("PRAGMA journal_mode = DELETE")
    raw.close()
    damaged = bytearray(file.read_bytes())
    damaged[root * size - 200 : root * size] = bytes(200)
    file.write_bytes(bytes(damaged))
    engine = open_for_reading(f"sqlite:///{file}")
    report = check_collection(engine)
    engine.dispose()
    assert [fault for fault in report.faults if fault.startswith("SQLite finds the file damaged")]


def test_a_file_that_is_no_database_is_told_as_such(tmp_path: Path) -> None:
    file = tmp_path / "letter.sqlite"
    file.write_text("Dear reader, " * 1000)
    engine = open_for_reading(f"sqlite:///{file}")
    assert check_collection(engine).faults == [
        "The database can't be read: file is not a database."
    ]
    engine.dispose()


def test_looking_at_a_file_that_is_not_there_makes_none(tmp_path: Path) -> None:
    with pytest.raises(BadDatabase, match="Can't use"):
        open_for_reading(f"sqlite:///{tmp_path / 'nowhere.sqlite'}")
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def indexed(garden_file: Path, tmp_path: Path) -> Iterator[Engine]:
    """The garden in an SQLite file, whatever the other tests run on: its index can drift."""
    shutil.copy(garden_file, tmp_path / "indexed.sqlite")
    engine = open_engine(f"sqlite:///{tmp_path / 'indexed.sqlite'}")
    yield engine
    engine.dispose()


def _behind_its_back(indexed: Engine, statement: str) -> list[str]:
    """The faults once texts were changed without the index of words hearing of it."""
    with indexed.begin() as connection:
        triggers = connection.exec_driver_sql(
            "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"
        ).all()
        for name, _ in triggers:
            connection.exec_driver_sql(f"DROP TRIGGER {name}")
        connection.exec_driver_sql(statement)
        for _, made in triggers:
            connection.exec_driver_sql(made)
    return check_collection(indexed).faults


def test_lots_that_are_not_found_by_their_words_are_named(indexed: Engine) -> None:
    with indexed.connect() as connection:
        code = connection.exec_driver_sql("SELECT code FROM lot WHERE id = 2").scalar_one()
    change = "UPDATE lot SET notes = 'Épinard, behind its back' WHERE id = 2"
    assert _behind_its_back(indexed, change) == [
        f"lot 2 ({code}) isn't found by its words as they are: drop the table lot_words and start "
        "seedbank, which makes it anew."
    ]
    with indexed.begin() as connection:
        connection.exec_driver_sql("DROP TABLE lot_words")
    upgrade(indexed)
    assert check_collection(indexed).faults == []


def test_varieties_found_by_words_they_no_longer_have_are_named(indexed: Engine) -> None:
    faults = _behind_its_back(indexed, "UPDATE variety SET name = 'x' WHERE id = 3")
    assert [fault.split(" (")[0] for fault in faults] == ["variety 3"]


def test_the_indexes_of_words_are_proved_of_every_row_and_nothing_is_left_behind(
    indexed: Engine,
) -> None:
    report = check_collection(indexed)
    proved = {proof.claim: proof.number for part in report.parts for proof in part.proofs}
    with indexed.connect() as connection:
        for table in ("lot", "variety"):
            rows = connection.exec_driver_sql(f"SELECT count(*) FROM {table}").scalar_one()
            assert proved[f"each {table} is found by its words as they are"] == rows > 30
        assert connection.exec_driver_sql("SELECT * FROM sqlite_temp_schema").all() == []
