"""Every released schema brought forward with a whole garden in it, row for row."""

import json
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, select, text
from sqlalchemy.exc import IntegrityError
from sqlmodel import col

from seedbank.common.errors import NewerDatabase
from seedbank.database import word_index
from seedbank.database.engine import one_moment, open_engine, session_factory
from seedbank.database.migrate import revision_in, revisions, schema_revision, upgrade
from seedbank.database.migrations.marks_in_notes import mark_of
from seedbank.database.queries import Paging
from seedbank.interchange.folder.whole_collection import continue_numbering
from seedbank.lots.tables.ledger import Movement, MovementReason, book
from seedbank.lots.tables.lot_codes import code_for
from seedbank.lots.tables.lot_search import LotFilter, find_lots
from seedbank.lots.tables.lots import Lot
from seedbank.upkeep.check_collection import check_collection
from seedbank.upkeep.copy_tables import digest_tables, tables_in
from seedbank.upkeep.open_collection import open_collection
from tests.conftest import Databases

NOW = datetime(2027, 2, 20, 12, tzinfo=UTC)
Rows = dict[str, list[tuple[Any, ...]]]


@pytest.fixture
def empty(database_url: str) -> Iterator[Engine]:
    engine = open_engine(database_url)
    yield engine
    engine.dispose()


Make = Callable[[str, Engine, Callable[[Engine], object]], None]


@pytest.fixture(scope="module")
def make_once(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Make:
    """Make a database what its name says; it is copied where one of that name was made."""
    folder = tmp_path_factory.mktemp("made")

    def make(name: str, engine: Engine, work: Callable[[Engine], object]) -> None:
        kept, here = folder / name, str(engine.url.database)
        engine.dispose()  # the last to leave puts everything into the one file
        if engine.dialect.name != "sqlite":
            databases: Databases = request.getfixturevalue("_databases")
            if name in databases.to_copy:
                databases.put(name, here)
                return
            work(engine)
            engine.dispose()
            databases.keep(name, here)
            return
        if kept.exists():
            shutil.copy(kept, here)
            return
        work(engine)
        engine.dispose()
        shutil.copy(here, kept)

    return make


@pytest.fixture(params=revisions())
def older(
    request: pytest.FixtureRequest, garden_file: Path, empty: Engine, make_once: Make
) -> Engine:
    """A database as a released schema left it, holding of the garden what that schema can."""

    def fill(engine: Engine) -> None:
        upgrade(engine, to=request.param)
        garden = open_engine(f"sqlite:///{garden_file}")
        with one_moment(garden) as source, engine.begin() as target:
            _fill(source, target)
        garden.dispose()

    make_once(request.param, empty, fill)
    assert schema_revision(empty) == request.param
    return empty


@pytest.fixture
def bring_forward(make_once: Make) -> Callable[[Engine], None]:
    """Upgrade one of ``older`` as it is."""
    return lambda older: make_once(f"{schema_revision(older)}-forward", older, upgrade)


def _fill(source: Connection, target: Connection) -> None:
    full = {table.name: table for table in tables_in(source)}
    for table in tables_in(target):
        columns = [full[table.name].c[column.name] for column in table.columns]
        query = select(*columns).order_by(*full[table.name].primary_key.columns)
        rows = [row._asdict() for row in source.execute(query)]
        if rows:
            target.execute(table.insert(), rows)


def _rows(engine: Engine, like: dict[str, list[str]] | None = None) -> Rows:
    """Every row by key; of just these tables and columns, if given."""
    with one_moment(engine) as connection:
        return {
            table.name: [
                tuple(row)
                for row in connection.execute(
                    select(
                        *(table.c[name] for name in like[table.name]) if like else table.c
                    ).order_by(*table.primary_key.columns)
                )
            ]
            for table in tables_in(connection)
            if like is None or table.name in like
        }


def _columns(engine: Engine) -> dict[str, list[str]]:
    with one_moment(engine) as connection:
        return {table.name: table.columns.keys() for table in tables_in(connection)}


def test_a_garden_of_every_released_schema_comes_forward_row_for_row(
    older: Engine, bring_forward: Callable[[Engine], None]
) -> None:
    columns, before = _columns(older), _rows(older)
    assert len(before["lot"]) > 100
    assert len(before["germination_count"]) > 100
    assert len(before["sowing"]) > 100
    assert len(before["movement"]) > 400
    bring_forward(older)
    assert schema_revision(older) == revisions()[-1]
    assert _rows(older, columns) == before
    report = check_collection(older)
    assert report.faults == []
    assert report.claims > 150


_ENTERED = """
INSERT INTO lot (id, version, code, variety_id, origin, donor, harvest_estimated, acquired_on,
    isolation, treated, notes, created_at) VALUES (:id, 1, :code, 1, 'bought', '', false, :came,
    'unknown', false, :notes, '2026-11-29 10:00:00+00:00')
"""
_BOOKED = """
INSERT INTO movement (id, lot_id, serial, on_date, reason, seeds, seeds_se, balance_seeds, note,
    recorded_at) VALUES (90001, 90005, 1, '2026-11-29', 'acquired', 5, 0, 5, '',
    '2026-11-29 10:00:00+00:00')
"""
_RECORD = "As its passport descriptors say:\nACCENUMB: 7"
_WRITTEN = "From list.csv, line 2, as it was written:"
_MARK = f"{_WRITTEN}\n[row 0123456789abcdef]"


def test_what_an_import_may_have_made_up_is_asked_about_and_changed_in_nothing(
    older: Engine,
) -> None:
    if str(schema_revision(older)) >= "0006":
        return  # nothing is made up any more
    lots = [
        ("AAAA1", date(2026, 11, 29), _MARK),  # as none, on the day it was entered
        ("AAAA2", date(2026, 11, 28), _MARK),  # the day before, by a clock behind UTC
        ("AAAA3", date(2026, 5, 1), _MARK),
        ("AAAA4", None, ""),
        ("AAAA5", date(2026, 11, 29), "by hand"),
    ]
    with older.begin() as connection:
        for number, (code, came, notes) in enumerate(lots, start=90_001):
            told = came if came is None or older.dialect.name == "postgresql" else str(came)
            values = {"id": number, "code": code, "came": told, "notes": notes}
            connection.execute(text(_ENTERED), values)
        connection.execute(text(_BOOKED))
    columns, before = _columns(older), _rows(older)
    upgrade(older)
    before["lot"] = [_unmarked(row) for row in before["lot"]]
    assert _rows(older, columns) == before
    with one_moment(older) as connection:
        query = text("SELECT lot_id, amount, acquired_day FROM entry_doubt ORDER BY lot_id")
        asked = [
            (number - 90_000, bool(amount), bool(day))
            for number, amount, day in connection.execute(query)
            if number > 90_000
        ]
    assert asked == [(1, True, True), (2, True, True), (3, True, False), (4, True, False)]
    upgrade(older)


def _unmarked(lot: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple(_WRITTEN if one == _MARK else one for one in lot)


_MARKED = [  # notes and donor before; notes after, source, what its mark is made of, label
    ("Label: Tin Seven\nkept dry", "", "kept dry", "folder", "Tin Seven", "Tin Seven"),
    ("Label: Tin Eight", "", "", "folder", "Tin Eight", "Tin Eight"),
    (_MARK, "", _WRITTEN, "spreadsheet", "0123456789abcdef", ""),
    (_MARK + "\nmice!", "", _WRITTEN + "\nmice!", "spreadsheet", "0123456789abcdef", ""),
    (_RECORD, "XYZ001, 7", _RECORD, "descriptors", "XYZ001, 7", ""),
    ("by hand, [row] of pots", "", "by hand, [row] of pots", "passport", "f0" * 32, ""),
    ("Labels: none", "", "Labels: none", None, "", ""),
]


def test_marks_in_texts_come_into_their_own_table_and_out_of_the_notes(older: Engine) -> None:
    if str(schema_revision(older)) >= "0007":
        return  # marks are in their table already
    with older.begin() as connection:
        connection.execute(text("DELETE FROM movement WHERE id = 90001"))
        for number, (notes, donor, *_) in enumerate(_MARKED, start=90_001):
            values = {"id": number, "code": code_for(number), "came": None, "notes": notes}
            connection.execute(
                text(_ENTERED.replace("'bought', ''", f"'bought', '{donor}'")), values
            )
        booked = _BOOKED.replace("90005", "90006").replace("5, ''", f"5, 'passport {'f0' * 32}'")
        connection.execute(text(booked))
        named = "SELECT slug, v.name FROM variety v JOIN kind ON kind.id = kind_id WHERE v.id = 1"
        kind, variety = connection.execute(text(named)).one()
    upgrade(older)
    with one_moment(older) as connection:
        lots = "SELECT id, notes FROM lot WHERE id > 90000 ORDER BY id"
        after = [notes for _, notes in connection.execute(text(lots))]
        assert after == [one[2] for one in _MARKED]
        rows = "SELECT lot_id, source, mark, label FROM brought_in WHERE lot_id > 90000 ORDER BY 1"
        found = [tuple(row) for row in connection.execute(text(rows))]
    assert found == [
        (
            number,
            source,
            mark_of(kind, variety, made_of) if source in ("folder", "descriptors") else made_of,
            label,
        )
        for number, (_, _, _, source, made_of, label) in enumerate(_MARKED, start=90_001)
        if source is not None
    ]
    with session_factory(older, writes=False)() as session:
        page = find_lots(session, LotFilter(q="0123456789abcdef"))
        assert page.items == []  # the index forgot it too
    report = check_collection(older)
    assert report.faults == []


def test_seed_that_nobody_counted_can_be_booked_after_migrating(
    older: Engine, bring_forward: Callable[[Engine], None]
) -> None:
    bring_forward(older)
    with session_factory(older)() as session:
        continue_numbering(session)  # the rows were filled in with their ids
        lot_id = session.execute(select(col(Lot.id)).order_by(col(Lot.id)).limit(1)).scalar_one()
        came = book(
            session,
            Movement(
                lot_id=lot_id,
                on_date=NOW.date(),
                reason=MovementReason.ACQUIRED,
                seeds=None,
                recorded_at=NOW,
            ),
        )
        assert came.balance_seeds is None
        session.commit()
    assert check_collection(older).faults == []
    with pytest.raises(IntegrityError), older.begin() as connection:
        connection.execute(text("UPDATE movement SET seeds = NULL WHERE reason = 'sown'"))


def test_words_of_lots_brought_forward_are_found_by_the_indexes(
    older: Engine, bring_forward: Callable[[Engine], None]
) -> None:
    bring_forward(older)
    with session_factory(older, writes=False)() as session:
        assert word_index.is_there(session.connection())
        for words, held in (("orla", Lot.donor), ("seed", Lot.notes)):
            expected = select(col(Lot.id)).where(col(held).icontains(words))
            found = find_lots(session, LotFilter(q=words), Paging(1000)).items
            ids = {entry.lot.id for entry in found}
            assert set(session.execute(expected).scalars()) <= ids
            assert ids


def test_what_a_schema_brings_anew_is_filled_with_its_defaults_not_with_nothing(
    older: Engine, bring_forward: Callable[[Engine], None]
) -> None:
    before = _columns(older)
    bring_forward(older)
    with one_moment(older) as connection:
        for table in tables_in(connection):
            for column in table.columns:
                if table.name in before and column.name in before[table.name]:
                    continue
                empty = select(column).where(column.is_(None)).limit(1)
                assert column.nullable or connection.execute(empty).first() is None, column


_BREAKS_HALF_WAY = """
from alembic import op
import os
revision = "9998"
down_revision = {head!r}
def upgrade():
    op.execute("CREATE TABLE half_done (id INTEGER PRIMARY KEY)")
    op.execute("UPDATE lot SET notes = 'half done'")
    with op.batch_alter_table("lot") as lot:
        lot.drop_column("donor")
    {end}
"""


@pytest.fixture
def breaking(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """One migration more, which changes much and then fails."""
    folder = tmp_path / "versions"
    folder.mkdir()
    source = _BREAKS_HALF_WAY.format(
        head=revisions()[-1], end="op.execute('SELECT * FROM nowhere')"
    )
    (folder / "9998_breaks.py").write_text(source)

    own = Path(upgrade.__code__.co_filename).parent / "migrations" / "versions"
    monkeypatch.setattr("seedbank.database.migrate._FOLDERS", (own, folder))
    return


def test_a_migration_that_fails_half_way_leaves_everything_as_it_was(
    older: Engine, request: pytest.FixtureRequest
) -> None:
    revision = schema_revision(older)
    with one_moment(older) as connection:
        before = digest_tables(connection)
    request.getfixturevalue("breaking")
    assert revisions()[-1] == "9998"
    with pytest.raises(Exception, match="nowhere"):
        upgrade(older)
    with one_moment(older) as connection:
        assert digest_tables(connection) == before
        assert revision_in(connection) == revision
        assert "half_done" not in {table.name for table in tables_in(connection)}


def test_starting_copies_an_older_file_beside_it_and_says_where(
    older: Engine, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    revision = schema_revision(older)
    with one_moment(older) as connection:
        before = digest_tables(connection)
    open_collection(older.url.render_as_string(hide_password=False), now=NOW).dispose()
    copies = list(tmp_path.glob("*-before-update-*"))
    if older.dialect.name == "postgresql" or revision == revisions()[-1]:
        assert copies == []
        return
    assert [one.name for one in copies] == [
        f"seedbank-before-update-{revision}-20270220T120000Z.db"
    ]
    assert str(copies[0]) in caplog.text
    kept = open_engine(f"sqlite:///{copies[0]}")
    with one_moment(kept) as connection:
        assert digest_tables(connection) == before
    assert schema_revision(kept) == revision
    kept.dispose()


def test_a_file_that_can_t_be_copied_first_is_not_brought_up_to_date(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    empty = open_engine(f"sqlite:///{tmp_path / 'seedbank.db'}")  # a server is no file to copy
    upgrade(empty, to=revisions()[0])
    before = digest_of(empty)

    def no_room(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("seedbank.upkeep.open_collection.copy_to_file", no_room)
    with pytest.raises(Exception, match="Can't use the database") as refused:
        open_collection(str(empty.url), now=NOW)
    assert "Make room" in refused.value.mend
    assert schema_revision(empty) == revisions()[0]
    assert digest_of(empty) == before
    empty.dispose()
    assert {file.name for file in tmp_path.iterdir()} <= {
        "seedbank.db", "seedbank.db-wal", "seedbank.db-shm"
    }  # fmt: skip


def digest_of(engine: Engine) -> object:
    with one_moment(engine) as connection:
        return digest_tables(connection)


def test_starting_refuses_a_newer_database_and_says_what_to_do(empty: Engine) -> None:
    upgrade(empty)
    with empty.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    before = digest_of(empty)
    with pytest.raises(NewerDatabase, match="'9999', which this seedbank does not know") as refused:
        open_collection(empty.url.render_as_string(hide_password=False), now=NOW)
    assert refused.value.mend == "Install the newer seedbank that last opened this database."
    assert digest_of(empty) == before


REPLY = {
    "lot": "4K7PM",
    "verdict": {"verdict": "rescue", "urgency": 0.4, "reasons": [{"text": "rescue it"}]},
    "outlook": {"if_none": "save-seed-this-year", "if_all": "keep", "settled": False},
    "soil": {"verdict": "good"},
    "listed": ["keep", {"to_narrow": [{"names": {"verdict": "discard"}}]}],
}


def test_old_words_for_what_to_do_are_put_over_in_what_was_kept(older: Engine) -> None:
    told = json.dumps({"verdict": "test", "note": "keep"})
    with older.begin() as connection:
        known = {one for (one,) in connection.execute(text(_TABLES_OF[older.dialect.name]))}
        kept = {"one": json.dumps(REPLY, ensure_ascii=False), "two": 'no JSON: "verdict"'}
        for key, body in kept.items():
            connection.execute(
                text(
                    "INSERT INTO answered_request "
                    "(key, fingerprint, status, location, etag, body, answered_at) "
                    "VALUES (:key, 'f', 201, '', '', :body, :now)"
                ),
                {"key": key, "body": body, "now": NOW},
            )
        run = None
        if {"plan_run", "plan_told"} <= known:
            run = connection.execute(text("SELECT max(id) FROM plan_run")).scalar()
        has_plan = run is not None
        if has_plan:
            connection.execute(text("DELETE FROM plan_told"))
            connection.execute(
                text("INSERT INTO plan_told (plan_run_id, told) VALUES (:run, :told)"),
                {"run": run, "told": told},
            )
        before = schema_of(connection)
    upgrade(older)
    old_words = before < "0019"
    with older.begin() as connection:
        rows = connection.execute(text("SELECT key, body FROM answered_request"))
        bodies = {key: body for key, body in rows if key in kept}
        report = connection.execute(text("SELECT told FROM plan_told")).scalars().all()
    assert bodies["two"] == kept["two"]
    reply = json.loads(bodies["one"])
    if not old_words:
        assert reply == REPLY
        return
    assert reply["verdict"]["verdict"] == "last-chance"
    assert reply["verdict"]["reasons"] == [{"text": "rescue it"}]
    assert reply["outlook"] == {
        "if_none": "grow-for-seed", "if_all": "sow-as-usual", "settled": False,
    }  # fmt: skip
    assert reply["soil"] == {"verdict": "good"}
    assert reply["listed"] == ["keep", {"to_narrow": [{"names": {"verdict": "can-go"}}]}]
    if has_plan:
        assert json.loads(report[0]) == {"verdict": "towel-first", "note": "keep"}


_TABLES_OF = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'table'",
    "postgresql": "SELECT tablename FROM pg_tables WHERE schemaname = current_schema()",
}


def schema_of(connection: Connection) -> str:
    """The schema's revision; words of revisions sort by age."""
    return str(connection.execute(text("SELECT version_num FROM alembic_version")).scalar())
