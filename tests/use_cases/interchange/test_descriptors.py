"""Lots told in, and made from, the genebanks' passport descriptors, held against the standard."""

import csv
import io
from pathlib import Path
from typing import Any

import pytest
from sqlmodel import Session, select

from seedbank.common.errors import Conflict, Refused
from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.interchange.descriptors.answers import RecordsArrival
from seedbank.interchange.descriptors.rules import check_value, codes, date_text, descriptors
from seedbank.interchange.descriptors.take_in_descriptors import (
    check_record,
    import_records,
    read_records,
    take_in_records,
    write_records,
)
from seedbank.interchange.descriptors.write_descriptors import write_descriptors
from seedbank.interchange.folder.files import ImportRefused
from seedbank.kinds.tables import Kind
from tests.use_cases.conftest import Garden
from tests.use_cases.interchange.archives import every_row
from tests.use_cases.interchange.test_export_archive import second_collection

# FAO/Bioversity Multi-Crop Passport Descriptors V.2.1 (2015), descriptors 0 to 28: field names in
# the published order, as the descriptor texts quoted in the BrAPI specification carry them.
_FIELDS = (
    "PUID INSTCODE ACCENUMB COLLNUMB COLLCODE COLLNAME COLLINSTADDRESS COLLMISSID GENUS SPECIES "
    "SPAUTHOR SUBTAXA SUBTAUTHOR CROPNAME ACCENAME ACQDATE ORIGCTY COLLSITE DECLATITUDE LATITUDE "
    "DECLONGITUDE LONGITUDE COORDUNCERT COORDDATUM GEOREFMETH ELEVATION COLLDATE BREDCODE BREDNAME "
    "SAMPSTAT ANCEST COLLSRC DONORCODE DONORNAME DONORNUMB OTHERNUMB DUPLSITE DUPLINSTNAME STORAGE "
    "MLSSTAT REMARKS"
)
PUBLISHED = _FIELDS.split()
CODES = {  # descriptors 19, 21, 26 and 27 of the same
    "SAMPSTAT": "100 110 120 130 200 300 400 410 411 412 413 414 415 416 420 421 422 423 500 600 "
    "999",
    "COLLSRC": "10 11 12 13 14 15 20 21 22 23 24 25 26 27 28 30 40 50 60 61 62 99",
    "STORAGE": "10 11 12 13 20 30 40 50 99",
    "MLSSTAT": "0 1 99",
}


def told(garden: Garden, code: str, **more: Any) -> dict[str, str]:
    return write_descriptors(garden.session, code, today=garden.today, **more).record


def test_the_packaged_fields_and_codes_are_the_published_ones_in_order() -> None:
    assert list(descriptors()) == PUBLISHED
    numbers = [tuple(map(int, row.number.split("."))) for row in descriptors().values()]
    assert numbers == sorted(numbers)
    assert {field: " ".join(codes(field)) for field in CODES} == CODES
    assert {row.field for row in descriptors().values() if row.format == "code"} == set(CODES)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        # examples the standard itself gives (descriptors 1, 15.1 to 15.4, 26, 28 and dates)
        ("INSTCODE", "COL001"),
        ("DECLATITUDE", "-44.6975"),
        ("DECLONGITUDE", "+120.9123"),
        ("LATITUDE", "103020S"),
        ("LONGITUDE", "0762510W"),
        ("LATITUDE", "10----S"),
        ("LONGITUDE", "076----W"),
        ("STORAGE", "20;30"),
        ("REMARKS", "COLLSRC:riverside"),
        ("ACQDATE", "19680000"),
        ("COLLDATE", "1975----"),
        ("COLLDATE", "197506--"),
        ("SPECIES", "sp."),
        ("OTHERNUMB", "NOR017:NGB17773;:X12"),
        ("ELEVATION", "-12"),
        ("SAMPSTAT", "300"),
    ],
)
def test_what_the_standard_allows_is_allowed(field: str, value: str) -> None:
    check_value(field, value)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("INSTCODE", "colombia"),
        ("DECLATITUDE", "91"),
        ("DECLATITUDE", "10,5"),
        ("DECLONGITUDE", "181"),
        ("LATITUDE", "1030S"),
        ("LATITUDE", "106020S"),
        ("LATITUDE", "10--20S"),
        ("LONGITUDE", "762510W"),
        ("STORAGE", "20; 30"),
        ("STORAGE", "14"),
        ("ACQDATE", "1968-01-01"),
        ("ACQDATE", "19681301"),
        ("ACQDATE", "19680230"),
        ("ACQDATE", "1968--12"),
        ("GENUS", "daucus"),
        ("SPECIES", "Carota"),
        ("ORIGCTY", "GB"),
        ("SAMPSTAT", "301"),
        ("MLSSTAT", "2"),
        ("OTHERNUMB", "X12"),
        ("REMARKS", "two\nlines"),
    ],
)
def test_what_the_standard_does_not_allow_is_refused(field: str, value: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        check_value(field, value)


def full_lot(garden: Garden, **more: Any) -> str:
    variety = garden.variety(breeding="landrace")
    parent = garden.lot(10, variety_id=variety)
    body = {
        "variety_id": variety,
        "origin": "gift",
        "donor": "neighbour at number 9; Mill Lane",
        "harvest_date": "2023-09-10",
        "harvest_estimated": True,
        "acquired_on": "2023-10-01",
        "seed_parents": 24,
        "isolation": "cage",
        "purity": "risk",
        "purity_note": "a hole in the cage",
        "treated": True,
        "parents": [parent.code],
    }
    code = garden.lot(400, **(body | more)).code
    days = {"started_on": "2026-02-01", "finished_on": "2026-02-15"}
    rows = [{"seeds_set": 50, "normal": 41}]
    record_test(
        garden.session,
        TestRecord.model_validate({"lot": code, "replicates": rows, **days}),
        **garden.when,
    )
    return code


def test_a_lot_is_told_field_by_field(garden: Garden) -> None:
    code = full_lot(garden)
    record = told(garden, code, institute="AAA001")
    assert record.pop("ANCEST").startswith("raised from ")
    assert record.pop("ACCENAME").startswith("Invented")
    assert record == {
        "INSTCODE": "AAA001",
        "ACCENUMB": code,
        "GENUS": "Daucus",
        "SPECIES": "carota",
        "CROPNAME": "carrot",
        "ACQDATE": "20231001",
        "SAMPSTAT": "300",
        "DONORNAME": "neighbour at number 9, Mill Lane",
        "STORAGE": "10",
        "REMARKS": "ACQDATE:seed harvested 2023-09-10, estimated;ACCENAME:may have crossed a hole "
        "in the cage;ANCEST:seed of 24 plants;ANCEST:isolation cage;STORAGE:the seed carries a "
        "chemical treatment;STORAGE:41 of 50 seeds germinated in a test begun 2026-02-01",
    }


def test_every_value_told_is_one_the_standard_allows(garden: Garden) -> None:
    codes_ = [
        full_lot(garden),
        full_lot(garden, origin="collected", harvest_date=None, harvest_year=2021),
        full_lot(garden, origin="bought", donor=""),
    ]
    codes_ += [garden.lot(5, kind=slug).code for slug in _slugs(garden)]
    for code in codes_:
        record = told(garden, code)
        assert list(record) == [field for field in PUBLISHED if field in record]
        check_record(record, at="")
        for remark in record.get("REMARKS", "").split(";"):
            assert not remark or remark.split(":")[0] in PUBLISHED
        assert "ORIGCTY" not in record


def _slugs(garden: Garden) -> list[str]:
    return list(garden.session.exec(select(Kind.slug)))


@pytest.mark.parametrize(
    ("breeding", "origin", "status"),
    [
        ("landrace", "self-saved", "300"),
        ("f1", "bought", "500"),
        ("f1", "self-saved", None),
        ("open-pollinated", "bought", None),
        ("unknown", "gift", None),
    ],
)
def test_only_a_status_that_is_known_is_told(
    garden: Garden, breeding: str, origin: str, status: str | None
) -> None:
    code = garden.lot(5, variety_id=garden.variety(breeding=breeding), origin=origin).code
    answer = write_descriptors(garden.session, code, today=garden.today)
    assert answer.record.get("SAMPSTAT") == status
    assert status or any("SAMPSTAT is left out" in note.text for note in answer.notes)


def test_the_answer_warns_of_moving_seed_and_of_protected_varieties(garden: Garden) -> None:
    answer = write_descriptors(garden.session, full_lot(garden), today=garden.today)
    said = " ".join(caution.text for caution in answer.cautions)
    assert "phytosanitary certificate" in said
    assert "Plant breeders rights" in said
    assert "dyed" in said  # treated seed
    assert any("DONORNAME may name a person" in note.text for note in answer.notes)


def test_a_code_that_is_no_institutes_is_refused(garden: Garden) -> None:
    with pytest.raises(Refused) as refusal:
        told(garden, full_lot(garden), institute="my garden")
    assert refusal.value.field == "institute"


def taken(session: Session, garden: Garden, *records: dict[str, str]) -> list[Any]:
    form = RecordsArrival(records=list(records))
    return take_in_records(session, form, **garden.when).lots


def test_a_record_written_here_makes_the_lot_there(garden: Garden, tmp_path: Path) -> None:
    record = told(garden, full_lot(garden), institute="AAA001")
    out = io.StringIO(newline="")
    write_records(out, [record])
    with second_collection(tmp_path) as second:
        brought = io.BytesIO(out.getvalue().encode())
        lots = import_records(second, brought, name="gift.csv", **garden.when).lots
        assert lots[0].variety.kind == "carrot"
        assert lots[0].variety.name == record["ACCENAME"]
        assert lots[0].donor == "AAA001"
        assert f"ACCENUMB: {record['ACCENUMB']}" in lots[0].notes
        for field, value in record.items():
            assert f"{field}: {value}" in lots[0].notes
        assert "SAMPSTAT: 300 (traditional cultivar or landrace)" in lots[0].notes
        assert lots[0].harvest_date is None  # dates of the standard are the genebank's
        again = write_descriptors(second, lots[0].code, today=garden.today).record
        same = ("GENUS", "SPECIES", "CROPNAME", "ACCENAME", "SAMPSTAT", "STORAGE")
        assert {field: again[field] for field in same} == {field: record[field] for field in same}


def test_a_species_with_several_kinds_needs_the_crop_named(garden: Garden) -> None:
    record = {"GENUS": "Brassica", "SPECIES": "oleracea", "ACCENAME": "Grey Mill"}
    with pytest.raises(Refused) as refusal:
        taken(garden.session, garden, record)
    assert refusal.value.field == "records[0].CROPNAME"
    assert "kale" in refusal.value.mend
    lots = taken(garden.session, garden, record | {"CROPNAME": "kale", "SUBTAXA": "var. sabellica"})
    assert lots[0].variety.kind == "kale"


def test_an_accession_is_taken_in_once_and_all_records_or_none(garden: Garden) -> None:
    record = {
        "INSTCODE": "AAA001", "ACCENUMB": "X 1", "CROPNAME": "carrot", "ACCENAME": "Grey Mill",
    }  # fmt: skip
    taken(garden.session, garden, record)
    before = every_row(garden.session)
    with pytest.raises(Conflict) as refusal:
        taken(garden.session, garden, record | {"ACCENUMB": "X 2"}, record)
    assert refusal.value.field == "records[1].ACCENUMB"
    assert every_row(garden.session) == before


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"GENUS,ACCENAME\r\ndaucus,A\r\n", "gift.csv line 2, GENUS 'daucus': Write the genus"),
        (b"GENUS,NICUN\r\nDaucus,A\r\n", "gift.csv line 1: head each column with one of"),
        (b"GENUS,GENUS\r\nDaucus,A\r\n", "gift.csv line 1: head each column with one of"),
        (b"GENUS,ACCENAME\r\nDaucus\r\n", "gift.csv line 2: the heading has 2 columns"),
        (b"GENUS,ACCENAME\r\n\xff,A\r\n", "gift.csv: save the file as CSV in UTF-8"),
        (b"", "gift.csv line 1: head each column"),
        (b"GENUS,ACCENAME\r\n", "gift.csv: bring 1 to 200 records at a time"),
        (b"GENUS,ACCENAME\r\nOrchis,A\r\n", "Add the kind with its botanical name first"),
        (b"GENUS,ACCENAME\r\n" + b"Daucus,A\r\n" * 201, "bring 1 to 200 records"),
        (b"GENUS,ACCENAME\r\nDaucus,\r\n", "Give the name of the variety"),
        (b"x" * 4_000_001, "Bring a file of at most"),
    ],
)
def test_a_file_that_cannot_be_is_refused_by_line_and_changes_nothing(
    garden: Garden, text: bytes, said: str
) -> None:
    before = every_row(garden.session)
    with pytest.raises(ImportRefused) as refusal:
        import_records(garden.session, io.BytesIO(text), name="gift.csv", **garden.when)
    assert said in str(refusal.value)
    assert every_row(garden.session) == before


def test_a_file_of_records_holds_no_formula_and_reads_back() -> None:
    record = {"ACCENAME": "=cmd|'/c calc'!A0", "DECLATITUDE": "-44.6975", "REMARKS": "@home"}
    out = io.StringIO(newline="")
    write_records(out, [record])
    rows = list(csv.reader(io.StringIO(out.getvalue(), newline="")))
    assert rows[0] == PUBLISHED
    assert rows[1][PUBLISHED.index("DECLATITUDE")] == "-44.6975"
    assert rows[1][PUBLISHED.index("ACCENAME")].startswith("'=")
    records, _ = read_records(io.BytesIO(out.getvalue().encode()), "gift.csv")
    assert records == [record]


def test_a_day_is_written_without_hyphens(garden: Garden) -> None:
    assert date_text(garden.today) == "20270301"


def test_what_the_packet_says_is_remarked(garden: Garden) -> None:
    lot = garden.lot(
        seed_form="pelleted",
        printed_germination_pct=88.5,
        printed_test_on="2025-10",
        acquired_on="2026-01-05",
    )
    record = write_descriptors(garden.session, lot.code, today=garden.today).record
    assert "STORAGE:the seed is pelleted" in record["REMARKS"]
    told = "STORAGE:88.5 % germination printed on the packet, tested 2025-10"
    assert told in record["REMARKS"]
