"""A zip archive of a folder is taken for the folder, a folder of an archive for the archive."""

import io
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

import pytest
from sqlmodel import col, select

from seedbank.common.errors import Conflict
from seedbank.interchange.descriptors.answers import RecordsArrival
from seedbank.interchange.descriptors.take_in_descriptors import take_in_records
from seedbank.interchange.folder.containers import export_in, folder_in, holds_export
from seedbank.interchange.folder.files import ImportRefused
from seedbank.interchange.folder.guard import ArchiveRefused
from seedbank.interchange.folder.import_archive import import_archive
from seedbank.interchange.folder.import_collection import import_collection
from seedbank.interchange.folder.rows import ROWS, MixturePartRow
from seedbank.interchange.spreadsheet.answers import Spreadsheet
from seedbank.interchange.spreadsheet.take_in_spreadsheet import preview_spreadsheet
from seedbank.lots.tables.lots import Lot
from tests.use_cases.conftest import Garden
from tests.use_cases.interchange.archives import archive_of, contents, every_row, packed
from tests.use_cases.interchange.test_import_archive import empty

DEMO = Path(__file__).parents[3] / "demo_data"
# The demonstration tells nothing of a climate or of mixtures.
TOLD = [row for row in ROWS if row is not MixturePartRow]


def zip_of(path: Path, files: dict[str, bytes]) -> Path:
    path.write_bytes(packed(files))
    return path


def demo_files() -> dict[str, bytes]:
    return {name: (DEMO / name).read_bytes() for name in (f"{row.was}.csv" for row in TOLD)}


def test_a_zip_of_a_folder_gives_what_the_folder_gives(garden: Garden, tmp_path: Path) -> None:
    when = garden.now.replace(year=2028)
    import_collection(garden.session, DEMO, when)
    rows = every_row(garden.session)
    empty(garden.session)
    zipped = zip_of(tmp_path / "mine.zip", demo_files())
    assert not holds_export(zipped)
    with folder_in(zipped) as folder:
        import_collection(garden.session, folder, when)
    assert not folder.exists()
    assert every_row(garden.session) == rows


def test_files_and_columns_by_the_names_of_an_export_give_what_the_old_names_give(
    garden: Garden, tmp_path: Path
) -> None:
    when = garden.now.replace(year=2028)
    import_collection(garden.session, DEMO, when)
    rows = every_row(garden.session)
    empty(garden.session)
    for row in TOLD:
        heading, _, lines = (DEMO / f"{row.was}.csv").read_text("utf-8").partition("\n")
        columns = [row.before.get(name, name) for name in heading.split(",")]
        assert {*columns} <= {*row.model_fields}
        text = ",".join(columns) + "\n" + lines
        (tmp_path / f"{row.table}.csv").write_text(text, "utf-8")
    import_collection(garden.session, tmp_path, when)
    assert every_row(garden.session) == rows


def test_a_folder_of_an_export_gives_what_the_archive_gives(garden: Garden, tmp_path: Path) -> None:
    garden.lot(40, notes="=1+1")
    rows, archive = every_row(garden.session), archive_of(garden.session)
    folder = tmp_path / "unpacked"
    with ZipFile(io.BytesIO(archive)) as opened:
        opened.extractall(folder)
    assert holds_export(folder)
    empty(garden.session)
    with export_in(folder) as brought:
        import_archive(garden.session, brought, name="unpacked")
    assert every_row(garden.session) == rows


def test_an_export_that_lost_its_manifest_is_not_taken_for_files_written_by_hand(
    garden: Garden, tmp_path: Path
) -> None:
    garden.lot(40)
    files = contents(archive_of(garden.session))
    del files["manifest.json"]
    (tmp_path / "unpacked").mkdir()
    for name, data in files.items():
        (tmp_path / "unpacked" / name).write_bytes(data)
    for lost in (zip_of(tmp_path / "lost.zip", files), tmp_path / "unpacked"):
        assert holds_export(lost)
        with export_in(lost) as brought, pytest.raises(ArchiveRefused, match="is missing"):
            import_archive(garden.session, brought, name=lost.name)


@pytest.mark.parametrize("name", ["../lots.csv", "mine/lots.csv", "/etc/lots.csv", "notes.txt"])
def test_a_zip_with_a_name_no_folder_has_is_refused_before_it_is_unpacked(
    tmp_path: Path, name: str
) -> None:
    zipped = zip_of(tmp_path / "mine.zip", {name: b"x", "lots.csv": b"label\n"})
    with pytest.raises(ArchiveRefused, match="take it out"), folder_in(zipped):
        pytest.fail("it was unpacked")
    assert [one.name for one in tmp_path.iterdir()] == ["mine.zip"]


def test_a_zip_that_is_none_or_would_fill_the_disk_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = tmp_path / "text.zip"
    text.write_text("nothing\n")
    with pytest.raises(ArchiveRefused, match="bring a zip archive"):
        holds_export(text)
    bomb: Any = io.BytesIO()
    with ZipFile(bomb, "w", ZIP_DEFLATED) as archive:
        archive.writestr("lots.csv", b"0" * 9 * 1024**2)
    (tmp_path / "bomb.zip").write_bytes(bomb.getvalue())
    with pytest.raises(ArchiveRefused, match="unpacks to over 250 times"):
        holds_export(tmp_path / "bomb.zip")
    monkeypatch.setattr("seedbank.interchange.folder.containers.LARGEST", 3)
    zipped = zip_of(tmp_path / "mine.zip", {"lots.csv": b"label\n"})
    with pytest.raises(ArchiveRefused, match="3 bytes"), folder_in(zipped):
        pytest.fail("it was unpacked")


SAMPLES = Path(__file__).parent / "samples"
SHEET = "kind;variety;amount;notes\ncarrot;Purple Lantern;50;damp\nbeet;Round One;none;\n"


def test_an_archive_and_a_folder_written_before_are_read_for_ever(garden: Garden) -> None:
    """The folder and the archive that schema 0006 made of it, a list and a record; never renew."""
    with export_in(SAMPLES / "archive-0006.zip") as brought:
        report = import_archive(garden.session, brought, name="archive-0006.zip")
    assert (report.schema_revision, report.rows["lot"], report.rows["movement"]) == ("0006", 4, 5)
    lots = garden.session.exec(select(Lot).order_by(col(Lot.id))).all()
    assert [lot.notes.splitlines()[-1:] for lot in lots] == [
        [], ["notes: damp"], ["amount: none"], ["ACCENAME: Longfen"],
    ]  # fmt: skip
    shown = preview_spreadsheet(garden.session, Spreadsheet(text=SHEET), today=garden.today)
    assert [row.taken_in_as for row in shown.rows] == [lots[1].code, lots[2].code]
    with pytest.raises(ImportRefused, match="all 1 lots were imported before"):
        import_collection(garden.session, SAMPLES / "folder", garden.now)
    record = {"INSTCODE": "XYZ001", "ACCENUMB": "7", "CROPNAME": "carrot", "ACCENAME": "Longfen"}
    with pytest.raises(Conflict, match=f"as lot {lots[3].code}"):
        take_in_records(garden.session, RecordsArrival(records=[record]), **garden.when)
