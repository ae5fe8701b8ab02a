"""What came in by a list is known again by its row, whatever the gardener writes on the lot."""

import io
from pathlib import Path

import pytest
from sqlmodel import func, select

from seedbank.common.errors import Conflict
from seedbank.database.queries import Paging
from seedbank.database.transaction import transaction
from seedbank.interchange.descriptors.answers import RecordsArrival
from seedbank.interchange.descriptors.take_in_descriptors import take_in_records
from seedbank.interchange.folder.files import ImportRefused
from seedbank.interchange.folder.import_collection import import_collection
from seedbank.interchange.spreadsheet.answers import Spreadsheet, SpreadsheetConfirmed
from seedbank.interchange.spreadsheet.take_in_spreadsheet import (
    lots_taken_in,
    preview_spreadsheet,
    take_in_spreadsheet,
)
from seedbank.lots.forms import LotChange
from seedbank.lots.show_lots import list_lots, show_lot
from seedbank.lots.tables.lot_search import LotFilter
from seedbank.lots.tables.lots import Lot
from seedbank.lots.take_in_lots import change_lot, delete_lot
from tests.use_cases.conftest import Garden
from tests.use_cases.interchange.archives import archive_of, every_row, without

SHEET = "kind;variety;amount;notes\ncarrot;Purple Lantern;50;damp\nbeet;Round One;none;\n"


def lots_in(garden: Garden) -> int:
    return garden.session.exec(select(func.count()).select_from(Lot)).one()


def written_over(garden: Garden) -> None:
    """The gardener's own words in place of all that stands on each lot."""
    for code in garden.session.exec(select(Lot.code)).all():
        form = LotChange(notes="my own words", donor="somebody")
        change_lot(garden.session, code, form, expected=None, today=garden.today)


def sheet_taken_in(garden: Garden) -> list[str]:
    digest = preview_spreadsheet(garden.session, Spreadsheet(text=SHEET), today=garden.today).digest
    form = SpreadsheetConfirmed(text=SHEET, digest=digest)
    taken = take_in_spreadsheet(garden.session, form, **garden.when)
    return [one.code for one in taken.lots]


def folder_taken_in(garden: Garden, folder: Path) -> None:
    (folder / "varieties.csv").write_text("kind,variety\npea,Fenwythe Greyhood\n")
    (folder / "lots.csv").write_text(
        "label,kind,variety,origin,notes\nTin Seven,pea,Fenwythe Greyhood,gift,\n"
        "Tin Eight,pea,Fenwythe Greyhood,gift,from the fair\n"
    )
    import_collection(garden.session, folder, garden.now)


def refused(garden: Garden, folder: Path) -> list[str]:
    try:
        folder_taken_in(garden, folder)
    except ImportRefused as refusal:
        return [one.mend for one in refusal.problems]
    return []


def test_a_list_brought_again_is_known_though_the_notes_were_written_over(garden: Garden) -> None:
    first = sheet_taken_in(garden)
    written_over(garden)
    assert sheet_taken_in(garden) == []
    assert lots_in(garden) == len(first) == 2


def test_a_folder_brought_again_is_known_though_notes_and_variety_were_changed(
    garden: Garden, tmp_path: Path
) -> None:
    folder_taken_in(garden, tmp_path)
    written_over(garden)
    other = garden.variety("pea")
    for lot in garden.session.exec(select(Lot)).all():
        form = LotChange(variety_id=other)
        change_lot(garden.session, lot.code, form, expected=None, today=garden.today)
    assert refused(garden, tmp_path) == ["nothing to do: all 2 lots were imported before"]
    assert lots_in(garden) == 2


def test_an_accession_brought_again_is_known_though_its_donor_was_written_over(
    garden: Garden,
) -> None:
    record = {"INSTCODE": "XYZ001", "ACCENUMB": "7", "CROPNAME": "carrot", "ACCENAME": "Longfen"}
    form = RecordsArrival(records=[record])
    take_in_records(garden.session, form, **garden.when)
    written_over(garden)
    with pytest.raises(Conflict, match="taken in before"):
        take_in_records(garden.session, form, **garden.when)
    assert lots_in(garden) == 1


def test_notes_hold_what_was_written_and_no_mark_of_ours(garden: Garden, tmp_path: Path) -> None:
    codes = sheet_taken_in(garden)
    assert show_lot(garden.session, codes[0], today=garden.today).notes == (
        "From pasted text, line 2, as it was written:\n"
        "kind: carrot\nvariety: Purple Lantern\namount: 50\nnotes: damp"
    )
    folder_taken_in(garden, tmp_path)
    notes = garden.session.exec(select(Lot.notes).order_by(Lot.id)).all()  # type: ignore[arg-type]
    assert notes[-2:] == ["", "from the fair"]


def test_the_label_of_a_folder_is_shown_and_found(garden: Garden, tmp_path: Path) -> None:
    folder_taken_in(garden, tmp_path)
    for words, label in (("tin eight", "Tin Eight"), ("SEVEN", "Tin Seven")):
        page = list_lots(garden.session, LotFilter(q=words), Paging(9), today=garden.today)
        assert [one.label for one in page.items] == [label]
    assert show_lot(garden.session, garden.lot(3).code, today=garden.today).label == ""


def test_lots_of_a_list_are_told_though_their_notes_were_written_over(garden: Garden) -> None:
    codes = sheet_taken_in(garden)
    garden.lot(5)
    written_over(garden)
    last = garden.lot(6).code
    told = lots_taken_in(garden.session, codes[0], last)
    assert [one.code for one in told] == codes


def test_a_lot_taken_out_may_be_brought_in_again(garden: Garden) -> None:
    beet = sheet_taken_in(garden)[1]
    delete_lot(garden.session, beet, expected=None)
    assert len(sheet_taken_in(garden)) == 1


def test_an_archive_carries_the_rows_and_an_older_one_has_them_read_from_its_notes(
    garden: Garden, tmp_path: Path
) -> None:
    from seedbank.interchange.folder.import_archive import import_archive
    from tests.use_cases.interchange.test_import_archive import empty

    sheet_taken_in(garden)
    folder_taken_in(garden, tmp_path)
    kept = every_row(garden.session)
    archive = archive_of(garden.session)
    empty(garden.session)
    import_archive(garden.session, io.BytesIO(archive), name="a.zip")
    assert every_row(garden.session) == kept

    marks = {row[0]: row for row in kept["brought_in"]}
    with transaction(garden.session):
        for lot in garden.session.exec(select(Lot)).all():
            _, source, mark, label = marks[lot.id]
            lot.notes = (
                f"{lot.notes}\n[row {mark}]"
                if source == "spreadsheet"
                else f"Label: {label}\n{lot.notes}".strip()
            )
            garden.session.add(lot)
    older = without(archive_of(garden.session), "brought_in.csv")
    empty(garden.session)
    import_archive(garden.session, io.BytesIO(older), name="a.zip")
    assert every_row(garden.session) == kept
    assert sheet_taken_in(garden) == []
    assert refused(garden, tmp_path) == ["nothing to do: all 2 lots were imported before"]
