"""An exported collection taken in again is the same collection, row for row, on both engines."""

import csv
import hashlib
import io
import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import Engine, delete, insert
from sqlmodel import Session, SQLModel

from seedbank.database.engine import open_engine, session_factory
from seedbank.interchange.folder.cells import cell_writer, guarded, unguarded
from seedbank.interchange.folder.columns import HEADING, CellType, ColumnSpec, renewed, specs_of
from seedbank.interchange.folder.export_archive import DICTIONARY, MANIFEST
from seedbank.interchange.folder.import_archive import import_archive
from seedbank.interchange.folder.whole_collection import LEFT_OUT, collection_tables
from seedbank.kinds.edit_kinds import add_packaged_kinds
from tests.use_cases.interchange.archives import archive_of, contents, every_row
from tests.use_cases.interchange.hostile import hostile_collections

RENEW = "python -m seedbank.interchange.folder.columns api_docs/interchange.md"


@contextmanager
def second_collection(tmp_path: Path) -> Iterator[Session]:
    """Another collection, with nothing but the packaged kinds in it."""
    engine = open_engine(f"sqlite:///{tmp_path / 'second.db'}")
    SQLModel.metadata.create_all(engine)
    with session_factory(engine)() as session:
        add_packaged_kinds(session)
        yield session
    engine.dispose()


@contextmanager
def emptied(session: Session) -> Iterator[Session]:
    """The same database again with nothing but the packaged kinds in it."""
    session.rollback()
    for table in reversed(collection_tables()):
        if table.name == "movement":
            session.execute(table.update().values(reverses_id=None))
        session.execute(delete(table))
    session.commit()
    add_packaged_kinds(session)
    yield session


@pytest.fixture
def demo(garden_engine: Engine) -> Iterator[Session]:
    with session_factory(garden_engine)() as session:
        yield session


def test_the_demonstration_comes_back_row_for_row(demo: Session, tmp_path: Path) -> None:
    before = every_row(demo)
    archive = archive_of(demo)
    with second_collection(tmp_path) as second:
        report = import_archive(second, io.BytesIO(archive), name="demo.zip")
        assert every_row(second) == before
        assert report.rows == {table: len(rows) for table, rows in before.items()}
        assert archive_of(second) == archive
    with emptied(demo) as again:
        import_archive(again, io.BytesIO(archive), name="demo.zip")
        assert every_row(again) == before
    assert sum(map(len, before.values())) > 1500


def test_what_is_added_after_taking_in_gets_numbers_of_its_own(demo: Session) -> None:
    archive = archive_of(demo)
    with emptied(demo) as again:
        import_archive(again, io.BytesIO(archive), name="demo.zip")
        for table in collection_tables():
            if table.name in ("place", "site"):
                again.execute(insert(table).values(name="One more place", version=1, notes="",
                    **({"sealed": False} if table.name == "place" else {})))  # fmt: skip
        again.commit()


@settings(
    max_examples=15,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(rows=hostile_collections())
def test_a_hostile_collection_comes_back_row_for_row(
    session: Session, rows: dict[str, list[dict[str, object]]]
) -> None:
    with emptied(session) as filled:
        filled.execute(delete(SQLModel.metadata.tables["kind"]))
        for table in collection_tables():
            for row in rows.get(table.name, ()):
                filled.execute(insert(table), [row])
        filled.commit()
        add_packaged_kinds(filled)
        before = every_row(filled)
        archive = archive_of(filled)
    check_no_formulas(archive)
    with emptied(session) as again:
        import_archive(again, io.BytesIO(archive), name="hostile.zip")
        assert every_row(again) == before


def check_no_formulas(archive: bytes) -> None:
    """No cell that isn't a number begins as a formula does."""
    for name, data in contents(archive).items():
        if not name.endswith(".csv"):
            continue
        for cells in csv.reader(io.StringIO(data.decode(), newline=""), strict=True):
            for cell in cells:
                if cell.lstrip()[:1] in tuple("=+-@") or cell[:1] in ("\t", "\r"):
                    float(cell)  # a negative number stays one


@given(st.text())
def test_a_guarded_text_reads_back_as_it_was(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert guarded(text).lstrip()[:1] not in tuple("=+-@")


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("=1+1", "'=1+1"),
        ("  =1+1", "'  =1+1"),
        ("-dash", "'-dash"),
        ("@home", "'@home"),
        ("\tx", "'\tx"),
        ("\rx", "'\rx"),
        ("'quoted'", "''quoted'"),
        ("plain - text", "plain - text"),
    ],
)
def test_a_text_that_begins_as_a_formula_gets_an_apostrophe(text: str, cell: str) -> None:
    assert guarded(text) == cell


def test_a_negative_number_stays_a_number() -> None:
    spec = next(s for t in collection_tables() for s in specs_of(t) if s.name == "seeds")
    assert cell_writer(spec)(-30) == "-30"
    winter = next(s for t in collection_tables() for s in specs_of(t) if s.name == "temp_winter_c")
    assert cell_writer(winter)(-12.5) == "-12.5"


def test_the_manifest_holds_rows_and_digests_of_what_is_there(demo: Session) -> None:
    files = contents(archive_of(demo))
    manifest = json.loads(files[MANIFEST])
    assert {entry["name"] for entry in manifest["files"]} == set(files) - {MANIFEST}
    for entry in manifest["files"]:
        data = files[entry["name"]]
        assert entry["sha256"] == hashlib.sha256(data).hexdigest()
        assert entry["bytes"] == len(data)
        rows = list(csv.reader(io.StringIO(data.decode(), newline=""), strict=True))
        assert entry["rows"] == len(rows) - 1
        assert {len(row) for row in rows} == {len(rows[0])}
    assert manifest["schema_revision"]
    assert manifest["left_out"] == dict(LEFT_OUT)


def test_lines_end_as_the_standard_says_and_numbers_carry_no_words(demo: Session) -> None:
    # RFC 4180, section 2: records end with CRLF; fields with commas, quotes or breaks are quoted.
    lots = contents(archive_of(demo))["lot.csv"]
    assert lots.endswith(b"\r\n")
    assert not lots.startswith(b"\xef\xbb\xbf")
    first = next(csv.DictReader(io.StringIO(lots.decode(), newline="")))
    assert first["created_at"].endswith("Z")
    assert first["treated"] in ("yes", "no")


def test_every_column_of_every_table_is_in_the_dictionary_with_its_meaning(demo: Session) -> None:
    files = contents(archive_of(demo))
    rows = list(csv.DictReader(io.StringIO(files[DICTIONARY].decode(), newline="")))
    assert tuple(rows[0]) == HEADING
    told = {(row["table"], row["column"]) for row in rows}
    assert told == {(t.name, c.name) for t in collection_tables() for c in t.columns}
    assert all(row["meaning"] for row in rows)
    everything = {table.name for table in SQLModel.metadata.sorted_tables}
    assert everything - {table for table, _ in told} <= set(LEFT_OUT)


@pytest.mark.parametrize("ending", ["_c", "_pct", "_g", "_m", "_m2", "seeds", "_se", "_se_g"])
def test_a_column_with_a_unit_in_its_name_has_it_in_the_dictionary(ending: str) -> None:
    named = [s for t in collection_tables() for s in specs_of(t) if s.name.endswith(ending)]
    assert named
    assert all(spec.unit for spec in named)


def test_a_text_of_no_characters_and_no_text_at_all_are_told_apart() -> None:
    spec = ColumnSpec("t", "c", "", "", CellType.TEXT, (), 10, (), True, True, "", None)
    assert cell_writer(spec)("") == "'"
    assert unguarded(cell_writer(spec)("'")) == "'"


def test_what_is_written_meanwhile_is_not_half_in_the_archive(demo: Session) -> None:
    # The archive's tables are read one after another; a lot written in between is in none of them.
    archive = json.loads(contents(archive_of(demo))[MANIFEST])
    rows = {entry["table"]: entry["rows"] for entry in archive["files"]}
    assert rows["lot"] == len(every_row(demo)["lot"])


def test_the_page_that_tells_every_column_is_up_to_date() -> None:
    page = (Path(__file__).parents[3] / "api_docs/interchange.md").read_text("utf-8")
    if page != renewed(page):
        pytest.fail(f"interchange.md is stale; renew it with: {RENEW}", pytrace=False)
    with pytest.raises(ValueError, match="no mark"):
        renewed("a page without it")
