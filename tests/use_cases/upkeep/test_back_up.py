"""Backups while others write, across engines, and what must never happen to them."""

import resource
import shutil
import sqlite3
import threading
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import Engine, text

from seedbank.common.errors import CopyDiffers, Refused
from seedbank.database.engine import one_moment, open_engine, open_for_reading, session_factory
from seedbank.database.migrate import revisions, schema_revision, upgrade
from seedbank.lots.tables.ledger import Movement, MovementReason, book
from seedbank.upkeep import copy_files
from seedbank.upkeep.back_up import back_up, good_backups
from seedbank.upkeep.check_collection import check_collection
from seedbank.upkeep.copy_tables import digest_tables

NOW = datetime(2027, 2, 20, 12, tzinfo=UTC)


def _digests(engine: Engine) -> object:
    with one_moment(engine) as connection:
        return digest_tables(connection)


def _write(engine: Engine, stop: threading.Event, booked: list[int]) -> None:
    """Books and undoes nothing; each commit is a movement of one lot and one of another."""
    with session_factory(engine)() as session:
        while not stop.is_set():
            for lot_id in (1, 2):
                book(
                    session,
                    Movement(
                        lot_id=lot_id,
                        on_date=date(2027, 2, 1),
                        reason=MovementReason.ACQUIRED,
                        seeds=1,
                        recorded_at=NOW,
                    ),
                )
            session.commit()
            booked.append(1)


def test_a_backup_is_the_collection_at_one_moment_in_one_sound_file(
    garden_engine: Engine, tmp_path: Path
) -> None:
    made = back_up(garden_engine, tmp_path / "kept", now=NOW)
    assert made.file == tmp_path / "kept" / "seedbank-20270220T120000Z.sqlite"
    assert [one.name for one in made.file.parent.iterdir()] == [made.file.name]
    assert made.report is not None
    assert made.report.holds
    assert made.rows > 2000
    copy = open_for_reading(f"sqlite:///{made.file}")
    assert _digests(copy) == made.tables == _digests(garden_engine)
    assert schema_revision(copy) == revisions()[-1]
    copy.dispose()
    assert sqlite3.connect(made.file).execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_while_others_write_a_backup_holds_whole_commits_only(
    garden_engine: Engine, tmp_path: Path
) -> None:
    url = garden_engine.url.render_as_string(hide_password=False)
    stop, booked = threading.Event(), list[int]()
    writer = open_engine(url)
    thread = threading.Thread(target=_write, args=(writer, stop, booked))
    thread.start()
    try:
        moments = []
        for n in range(4):
            before = len(booked)
            while len(booked) < before + 3:  # the writer is truly at work
                assert thread.is_alive()
            made = back_up(garden_engine, tmp_path / f"{n}.sqlite", now=NOW)
            assert made.report is not None
            assert made.report.faults == []
            raw = sqlite3.connect(made.file)
            pair = [
                raw.execute(
                    "SELECT count(*) FROM movement WHERE lot_id = ? AND on_date = '2027-02-01'",
                    (lot_id,),
                ).fetchone()[0]
                for lot_id in (1, 2)
            ]
            raw.close()
            assert pair[0] == pair[1] > 0
            assert pair[0] >= before
            moments.append(pair[0])
        assert moments == sorted(moments)
    finally:
        stop.set()
        thread.join()
        writer.dispose()
    assert len(booked) > 12


def test_a_backup_writes_over_nothing(garden_engine: Engine, tmp_path: Path) -> None:
    file = tmp_path / "mine.sqlite"
    file.write_text("keep me")
    with pytest.raises(Refused, match="there already"):
        back_up(garden_engine, file, now=NOW)
    assert file.read_text() == "keep me"
    assert [one.name for one in tmp_path.iterdir() if "partial" in one.name] == []


def test_a_place_that_can_t_be_written_to_is_refused(garden_engine: Engine, tmp_path: Path) -> None:
    (tmp_path / "letter").write_text("")
    with pytest.raises(Refused, match="can't be written"):
        back_up(garden_engine, tmp_path / "letter" / "kept", now=NOW)


def test_where_the_file_can_t_grow_to_its_size_no_half_backup_is_left(
    garden_engine: Engine, tmp_path: Path
) -> None:
    folder = tmp_path / "kept"
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, limits[1]))  # the garden takes 570 kB
    try:
        with pytest.raises(Refused, match="can't be written"):
            back_up(garden_engine, folder, now=NOW)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert list(folder.iterdir()) == []
    assert back_up(garden_engine, folder, now=NOW).faults == []


def test_a_copy_that_comes_out_unlike_is_refused_and_gone(
    garden_engine: Engine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy_pages, copy_rows = copy_files._copy_pages, copy_files._copy_rows

    def spoil(file: Path) -> None:
        raw = sqlite3.connect(file)
        raw.execute("UPDATE lot SET notes = 'spoilt' WHERE id = 1")
        raw.commit()
        raw.close()

    def pages(source, file: Path) -> None:
        copy_pages(source, file)
        spoil(file)

    def rows(source, file: Path):
        digests = copy_rows(source, file)
        spoil(file)
        return digests

    monkeypatch.setattr(copy_files, "_copy_pages", pages)
    monkeypatch.setattr(copy_files, "_copy_rows", rows)
    with pytest.raises(CopyDiffers, match="lot: 137 rows there, 137 here, unlike"):
        back_up(garden_engine, tmp_path / "kept", now=NOW)
    assert list((tmp_path / "kept").iterdir()) == []


def test_a_collection_with_faults_is_backed_up_under_a_name_that_says_so(
    garden_engine: Engine, tmp_path: Path
) -> None:
    with garden_engine.begin() as connection:
        connection.execute(text("UPDATE movement SET balance_seeds = balance_seeds + 1"))
    made = back_up(garden_engine, tmp_path, now=NOW)
    assert made.file.name == "seedbank-20270220T120000Z-faulty.sqlite"
    assert "the movements add up to" in made.faults[0]
    assert good_backups(tmp_path) == []


@pytest.mark.parametrize("revision", revisions()[:-1])
def test_an_older_schema_is_backed_up_as_it_is(
    database_url: str, tmp_path: Path, revision: str
) -> None:
    engine = open_engine(database_url)
    upgrade(engine, to=revision)
    with engine.begin() as connection:
        connection.execute(
            text("INSERT INTO kind (version, slug, name, packaged) VALUES (1, 'a', 'Ä', false)")
        )
    made = back_up(engine, tmp_path / "kept", now=NOW)
    assert (made.revision, made.report, made.rows) == (revision, None, 1)
    copy = open_for_reading(f"sqlite:///{made.file}")
    assert schema_revision(copy) == revision
    copy.dispose()
    engine.dispose()


def test_a_database_without_a_collection_is_refused(database_url: str, tmp_path: Path) -> None:
    engine = open_engine(database_url)
    with pytest.raises(Refused, match="no collection"):
        back_up(engine, tmp_path / "kept", now=NOW)
    engine.dispose()


def test_good_backups_are_known_by_name_alone(tmp_path: Path) -> None:
    for name in (
        "seedbank-20270103T000000Z.sqlite",
        "seedbank-20270101T000000Z.sqlite",
        "seedbank-20270102T000000Z-faulty.sqlite",
        "seedbank-before-the-flood.sqlite",
        "letter.txt",
    ):
        (tmp_path / name).touch()
    assert good_backups(tmp_path) == [
        (datetime(2027, 1, day, tzinfo=UTC), tmp_path / f"seedbank-2027010{day}T000000Z.sqlite")
        for day in (1, 3)
    ]


def test_odd_values_keep_their_types_across_engines(garden_engine: Engine, tmp_path: Path) -> None:
    with garden_engine.begin() as connection:
        for number, moment in enumerate(
            ("1999-12-31 23:59:59.999999", "2027-03-28 01:30:00", "0001-01-01 00:00:00")
        ):
            connection.execute(
                text(
                    "INSERT INTO plan_run (first_year, horizon_years, choices, created_at) VALUES "
                    "(2027, 1, :choices, :moment)"
                ),
                {
                    "choices": '[{"b": 0.1, "a": [1e-300, null, true, "ü\\u0000🌱"]}]',
                    "moment": f"{moment}+00:00" if _is_server(garden_engine) else moment,
                }
                | {"number": number},
            )
        connection.execute(
            text("UPDATE place SET temp_winter_c = -0.0, seed_moisture_pct = 5.000000000000001")
        )
        connection.execute(text("UPDATE lot SET notes = :odd"), {"odd": "ü🌱'\";\n\t\\ " * 50})
    made = back_up(garden_engine, tmp_path / "kept", now=NOW + timedelta(hours=1))
    assert made.tables["plan_run"].rows == 3
    assert check_collection(garden_engine).faults == made.faults


def _is_server(engine: Engine) -> bool:
    return engine.dialect.name == "postgresql"


def test_the_same_garden_digests_alike_on_both_engines(
    garden_file: Path, garden_engine: Engine, tmp_path: Path
) -> None:
    file = Path(shutil.copy(garden_file, tmp_path / "other.sqlite"))
    other = open_engine(f"sqlite:///{file}")
    assert _digests(other) == _digests(garden_engine)
    with other.begin() as connection:
        connection.execute(text("UPDATE lot SET notes = notes || '.' WHERE id = 1"))
    assert _digests(other) != _digests(garden_engine)
    other.dispose()
