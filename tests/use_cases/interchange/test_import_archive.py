"""An archive that isn't what it should be is refused, by file and line, and changes nothing."""

import csv
import io
import json
import struct
import tracemalloc
from pathlib import Path
from typing import IO, Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import pytest
from sqlmodel import Session

from seedbank.common.errors import Conflict
from seedbank.interchange.folder import guard as guard
from seedbank.interchange.folder import import_archive as importing
from seedbank.interchange.folder.export_archive import MANIFEST, export_collection
from seedbank.interchange.folder.guard import ArchiveRefused
from seedbank.interchange.folder.import_archive import import_archive
from seedbank.kinds.edit_kinds import add_packaged_kinds
from tests.use_cases.conftest import Garden
from tests.use_cases.interchange.archives import (
    WHEN,
    archive_of,
    changed,
    contents,
    every_row,
    packed,
)


@pytest.fixture
def archive(garden: Garden) -> bytes:
    """A small collection as an archive; the collection itself is emptied again."""
    lot = garden.lot(250)
    garden.lot(40, parents=[lot.code], notes="=cmd|'/c calc'!A0")
    made = archive_of(garden.session)
    empty(garden.session)
    return made


def empty(session: Session) -> None:
    from sqlalchemy import delete, text

    from seedbank.interchange.folder.whole_collection import collection_tables

    for table in reversed(collection_tables()):
        session.execute(delete(table))
        numbered = table.autoincrement_column
        if numbered is not None and session.get_bind().dialect.name == "postgresql":
            sequence = f"pg_get_serial_sequence('{table.name}', '{numbered.name}')"
            session.execute(text(f"SELECT setval({sequence}, 1, false)"))
    session.commit()
    add_packaged_kinds(session)


def refused(session: Session, archive: bytes | IO[bytes]) -> list[str]:
    """What is said of it, the collection being left as it was."""
    before = every_row(session)
    session.rollback()
    brought = io.BytesIO(archive) if isinstance(archive, bytes) else archive
    with pytest.raises(ArchiveRefused) as refusal:
        import_archive(session, brought, name="brought.zip")
    assert every_row(session) == before
    return [str(problem) for problem in refusal.value.problems]


def edit(old: bytes, new: bytes) -> Any:
    def change(data: bytes) -> bytes:
        assert old in data
        return data.replace(old, new, 1)

    return change


def test_a_dry_run_says_what_would_be_taken_in_and_changes_nothing(
    session: Session, archive: bytes
) -> None:
    before = every_row(session)
    report = import_archive(session, io.BytesIO(archive), name="a.zip", dry_run=True)
    assert report.rows["lot"] == 2
    assert report.dry_run
    assert every_row(session) == before
    import_archive(session, io.BytesIO(archive), name="a.zip")
    assert len(every_row(session)["lot"]) == 2


def test_a_collection_with_something_in_it_takes_no_archive(garden: Garden, archive: bytes) -> None:
    garden.variety()
    before = every_row(garden.session)
    with pytest.raises(Conflict, match="empty collection"):
        import_archive(garden.session, io.BytesIO(archive), name="a.zip")
    assert every_row(garden.session) == before


@pytest.mark.parametrize(
    ("name", "old", "new", "said"),
    [
        ("lot.csv", b"bought", b"stolen", "lot.csv line 2, origin 'stolen': Write one of bought"),
        ("movement.csv", b",250,", b",2.5,", "movement.csv line 2, seeds '2.5': Write a whole"),
        ("movement.csv", b",250,", b",1e308,", "seeds '1e308': Write a whole number"),
        ("movement.csv", b"2025-12-31", b"1/3/2027", "on_date '1/3/2027': Write the date as"),
        ("movement.csv", b",0.0,", b",nan,", "seeds_se 'nan': Write a number"),
        ("lot.csv", b",no,", b",maybe,", "Write yes or no"),
        ("lot.csv", b"version,id", b"version,number", "line 1: there is no column 'number'"),
        ("lot.csv", b"version,id", b"version,version", "line 1: there is no column 'version', or"),
        ("variety.csv", b"Invented", b"x" * 130 + b"Invented", "Write text at most 120 characters"),
        ("variety.csv", b"Invented", b"\xff\xfe", "save the file as CSV in UTF-8"),
        ("variety.csv", b"Invented", b'"Inv"ented', "every quote closed"),
        ("variety.csv", b"Invented 1", b"Invented 1,more", "the heading has"),
    ],
)
def test_a_cell_that_cannot_be_is_named_by_file_line_and_column(
    session: Session, archive: bytes, name: str, old: bytes, new: bytes, said: str
) -> None:
    assert said in refused(session, changed(archive, name, edit(old, new)))[0]


def test_rows_the_database_will_not_have_are_named_by_line(
    session: Session, archive: bytes
) -> None:
    twice = changed(archive, "lot_parent.csv", lambda data: data + data.split(b"\r\n")[1] + b"\r\n")
    assert "lot_parent.csv line 3: it can't stand beside" in refused(session, twice)[0]
    orphan = changed(archive, "lot_parent.csv", lambda data: data + b"1,99\r\n")
    said = refused(session, orphan)[0]
    assert "lot_parent.csv line 3: it can't stand beside" in said


def test_a_ledger_that_does_not_add_up_is_refused(session: Session, archive: bytes) -> None:
    wrong = changed(archive, "movement.csv", edit(b",250,0.0,250,", b",250,0.0,249,"))
    assert "don't add up" in refused(session, wrong)[0]


def test_every_problem_of_a_file_is_told_up_to_a_hundred(session: Session, archive: bytes) -> None:
    def many(data: bytes) -> bytes:
        heading, first, *_ = data.split(b"\r\n")
        return b"\r\n".join([heading, *[first.replace(b",250,", b",x,", 1)] * 5000, b""])

    said = refused(session, changed(archive, "movement.csv", many))
    assert len(said) == 100
    assert said[99].startswith("movement.csv line 101, ")


def test_a_file_changed_since_is_refused(session: Session, archive: bytes) -> None:
    files = contents(archive)
    files["lot.csv"] = files["lot.csv"].replace(b"bought", b"gifted")
    assert "Write one of" in refused(session, packed(files))[0]
    files = contents(archive)
    files["variety.csv"] = files["variety.csv"].replace(b"Invented", b"Imagined")
    assert refused(session, packed(files)) == [
        "variety.csv: it was changed since it was exported; export it again"
    ]
    files["variety.csv"] += b"\r\n"
    assert "its size differs from the manifest" in refused(session, packed(files))[0]


@pytest.mark.parametrize(
    "name", ["../lot.csv", "/etc/passwd", "lot.csv/", "deep/lot.csv", "C:\\lot.csv", "extra.csv"]
)
def test_names_no_export_has_are_refused(session: Session, archive: bytes, name: str) -> None:
    said = refused(session, packed(contents(archive) | {name: b"x"}))
    assert "no export has a file of that name" in said[0]


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_stands_twice_is_refused(session: Session, archive: bytes) -> None:
    out = io.BytesIO(archive)
    with ZipFile(out, "a") as opened:
        opened.writestr("lot.csv", b"again")
    assert refused(session, out.getvalue()) == ["lot.csv: the archive holds it twice; keep one"]


@pytest.mark.parametrize(
    "brought", [b"", b"lot,code\r\n", b"PK\x03\x04" + b"\0" * 100, b"PK\x05\x06" + b"\0" * 18]
)
def test_what_is_no_archive_is_refused(session: Session, brought: bytes) -> None:
    add_packaged_kinds(session)
    assert refused(session, brought)


def test_an_archive_cut_short_or_with_a_flipped_byte_is_refused(
    session: Session, archive: bytes
) -> None:
    assert refused(session, archive[:-200])
    at = archive.index(b"lot.csv") + 40
    assert refused(session, archive[:at] + bytes([archive[at] ^ 0xFF]) + archive[at + 1 :])


def test_wherever_a_byte_is_flipped_nothing_but_a_refusal_or_the_same_rows_comes_of_it(
    session: Session, archive: bytes
) -> None:
    rows = import_archive(session, io.BytesIO(archive), name="a.zip", dry_run=True).rows
    found = 0
    for at in range(0, len(archive), len(archive) // 60):
        flipped = archive[:at] + bytes([archive[at] ^ 0xFF]) + archive[at + 1 :]
        try:
            report = import_archive(session, io.BytesIO(flipped), name="a.zip", dry_run=True)
        except ArchiveRefused:
            found += 1
        else:  # a date or an attribute of a file, which nobody reads
            assert report.rows == rows
    assert found > 40


def test_an_archive_of_a_newer_program_is_refused(session: Session, archive: bytes) -> None:
    files = contents(archive)
    told = json.loads(files[MANIFEST])
    for newer in ({"schema_revision": "9999"}, {"format_version": 2}):
        files[MANIFEST] = json.dumps(told | newer).encode()
        assert "install that one first" in refused(session, packed(files))[0]
    files[MANIFEST] = b"[" * 100_000
    assert "it isn't a manifest" in refused(session, packed(files))[0]


def test_a_bomb_is_refused_by_what_it_says_of_itself(session: Session, archive: bytes) -> None:
    out = io.BytesIO(archive)
    files = contents(archive)
    with ZipFile(out, "w", ZIP_DEFLATED) as opened:
        for name, data in files.items():
            if name != "stay.csv":
                opened.writestr(name, data)
        with opened.open("stay.csv", "w") as bomb:
            for _ in range(64):
                bomb.write(b"0" * 1024**2)
    assert "it unpacks to over 250 times its size" in refused(session, out.getvalue())[0]


def test_a_bomb_that_lies_about_its_size_is_refused_by_its_real_size(
    session: Session, archive: bytes
) -> None:
    # The directory says lot.csv unpacks to as much as the export wrote; 64 MB are packed in it.
    files = contents(archive)
    honest = len(files["lot.csv"])
    bomb = packed(files | {"lot.csv": b"0" * 64 * 1024**2})
    at = bomb.rindex(b"lot.csv") - 46  # the entry in the directory (APPNOTE.TXT 4.3.12)
    assert bomb[at : at + 4] == b"PK\x01\x02"
    lying = bomb[: at + 24] + struct.pack("<L", honest) + bomb[at + 28 :]
    tracemalloc.start()
    said = refused(session, lying)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert said
    assert most < 20 * 1024**2


def test_sizes_and_numbers_of_entries_are_bounded(
    session: Session, archive: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    for limit, value, said in [
        ("MOST_ENTRIES", 5, "an export has at most 5"),
        ("LARGEST_ARCHIVE", 1000, "bring an archive of at most 1000 bytes"),
        ("LARGEST_FILE", 100, "unpacked it says to be over 100 bytes"),
        ("LARGEST_TOTAL", 100, "unpacked it says to be over 100 bytes"),
    ]:
        with monkeypatch.context() as patched:
            patched.setattr(guard, limit, value)
            assert said in refused(session, archive)[0]
    monkeypatch.setattr(importing, "LONGEST_ROW", 100)
    assert "a line may hold 100 bytes" in refused(session, archive)[0]


def test_an_encrypted_or_oddly_packed_archive_is_refused(session: Session, archive: bytes) -> None:
    at = archive.rindex(b"lot.csv") - 46
    locked = archive[: at + 8] + b"\x01\x00" + archive[at + 10 :]
    assert "encrypted" in refused(session, locked)[0]
    odd = archive[: at + 10] + b"\x0c\x00" + archive[at + 12 :]
    assert "packed in a way no export is" in refused(session, odd)[0]
    newer = archive[: at + 6] + b"\xff" + archive[at + 7 :]  # of a version yet to come
    assert "packed in a way no export is" in refused(session, newer)[0]


def test_a_row_without_an_end_does_not_fill_the_memory(session: Session, archive: bytes) -> None:
    def endless(data: bytes) -> bytes:
        return data + b'"' + b'\n","' * 4_000_000

    brought = changed(archive, "lot.csv", endless)
    tracemalloc.start()
    said = refused(session, brought)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "a line may hold" in said[0] or "it unpacks to over" in said[0]
    assert most < 300 * 1024**2


def test_exporting_and_taking_in_keep_within_a_batch_of_memory(
    garden: Garden, tmp_path: Path
) -> None:
    """Ten times the rows don't take ten times the memory."""
    from sqlalchemy import insert

    from seedbank.lots.tables.places import Place

    most = []
    for rows in (2_000, 20_000):
        empty(garden.session)
        places = [{"name": f"Place {n}", "notes": "x" * 200} for n in range(rows)]
        garden.session.execute(insert(Place), places)
        garden.session.commit()
        file = tmp_path / f"{rows}.zip"
        del places
        tracemalloc.start()
        with file.open("wb") as out:
            export_collection(garden.session, out, now=WHEN)
        garden.session.rollback()
        wrote = tracemalloc.get_traced_memory()[1]
        empty(garden.session)
        tracemalloc.reset_peak()
        with file.open("rb") as brought:
            import_archive(garden.session, brought, name=file.name)
        most.append((wrote, tracemalloc.get_traced_memory()[1]))
        tracemalloc.stop()
    assert most[1][0] < 2 * most[0][0]
    assert most[1][1] < 2 * most[0][1]


def test_a_zip_of_an_older_program_fills_what_it_did_not_know_with_the_usual(
    session: Session, archive: bytes
) -> None:
    # Schema 0001 had no seed crops and no purity of a lot.
    files = contents(archive)
    del files["seed_crop.csv"]
    told = json.loads(files[MANIFEST])
    told["schema_revision"] = "0001"
    told["files"] = [entry for entry in told["files"] if entry["name"] != "seed_crop.csv"]
    files[MANIFEST] = json.dumps(told).encode()
    lots = list(csv.reader(io.StringIO(files["lot.csv"].decode(), newline="")))
    places = [n for n, name in enumerate(lots[0]) if name not in ("purity", "purity_note")]
    assert len(places) == len(lots[0]) - 2
    kept = io.StringIO(newline="")
    csv.writer(kept).writerows([row[n] for n in places] for row in lots)
    without = kept.getvalue().encode()
    older = changed(packed(files), "lot.csv", lambda _: without)
    import_archive(session, io.BytesIO(older), name="older.zip")
    assert len(every_row(session)["lot"]) == 2


def test_the_directory_of_entries_is_looked_at_before_it_is_read(session: Session) -> None:
    add_packaged_kinds(session)
    out = io.BytesIO()
    with ZipFile(out, "w") as opened:
        for number in range(guard.MOST_ENTRIES + 100):
            opened.writestr(ZipInfo(f"{number}.csv"), b"")
    assert f"it lists {guard.MOST_ENTRIES + 100} files" in refused(session, out.getvalue())[0]
