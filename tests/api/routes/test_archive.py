"""The whole collection over HTTP."""

import csv
import io
import json
from zipfile import ZipFile

from openpyxl import load_workbook

from seedbank.access.tables import Rights
from seedbank.server.token_guard import rights_needed
from tests.api.conftest import Hand


def test_everything_is_in_one_archive(hand: Hand) -> None:
    code = hand.lot(250, notes="=1+1")
    before = hand.dump()
    response = hand.get("/export")
    assert response.status_code == 200
    assert response.headers["content-type"] == "application/zip"
    assert response.headers["content-disposition"] == (
        'attachment; filename="seedbank-2027-03-01.zip"'
    )
    assert int(response.headers["content-length"]) == len(response.content)
    with ZipFile(io.BytesIO(response.content)) as archive:
        assert archive.testzip() is None
        manifest = json.loads(archive.read("manifest.json"))
        lots = list(csv.DictReader(io.StringIO(archive.read("lot.csv").decode(), newline="")))
    assert [(lot["code"], lot["notes"]) for lot in lots] == [(code, "'=1+1")]
    assert {entry["table"]: entry["rows"] for entry in manifest["files"]}["movement"] == 1
    assert hand.dump() == before


def test_no_secret_leaves_with_it(hand: Hand) -> None:
    hand.lot(250)
    with ZipFile(io.BytesIO(hand.get("/export").content)) as archive:
        names = archive.namelist()
    assert not [name for name in names if "token" in name or "request" in name or "audit" in name]


def test_a_workbook_is_beside_it(hand: Hand) -> None:
    code = hand.lot(250, notes="=1+1")
    response = hand.get("/export/workbook")
    assert response.status_code == 200
    assert response.headers["content-disposition"] == (
        'attachment; filename="seedbank-2027-03-01.xlsx"'
    )
    assert int(response.headers["content-length"]) == len(response.content)
    sheet = load_workbook(io.BytesIO(response.content))["lots"]
    assert sheet["A2"].value == code
    assert "=1+1" in [cell.value for cell in sheet[2] if cell.data_type == "s"]


def test_donors_are_the_owners_alone_in_archive_and_workbook() -> None:
    assert {rights_needed(path, "GET") for path in ("/export", "/export/workbook")} == {
        Rights.OWNER
    }
