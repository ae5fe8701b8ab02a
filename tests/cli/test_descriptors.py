"""Passport descriptors at the command line."""

import csv
from pathlib import Path


def test_lots_are_told_in_a_file_and_taken_in_elsewhere(
    type_in, demo: Path, tmp_path: Path
) -> None:
    file = tmp_path / "gift.csv"
    said = type_in("descriptors", "6X3K8", "--out", file, "--database", demo)
    assert said.code == 0, said.err
    assert "phytosanitary" in said.err
    with file.open(encoding="utf-8", newline="") as opened:
        (record,) = csv.DictReader(opened)
    assert (record["GENUS"], record["SPECIES"]) == ("Pastinaca", "sativa")
    again = type_in("descriptors", "6X3K8", "--out", file, "--database", demo)
    assert again.code == 2
    other = tmp_path / "other.sqlite"
    dry = type_in("import", file, "--database", other, "--dry-run")
    assert "nothing was kept" in " ".join(dry.out.split())
    taken = type_in("import", file, "--database", other)
    assert taken.code == 0, taken.err
    assert "(parsnip), from another keeper" in taken.out.replace("\n", " ")
    twice = type_in("import", file, "--database", other)
    assert twice.code == 2
    assert "gift.csv line 2, ACCENUMB '6X3K8'" in twice.err


def test_records_are_shown_where_no_file_is_named(type_in, demo: Path) -> None:
    said = type_in("descriptors", "6x3-k8", "--institute", "AAA001", "--database", demo)
    assert said.out.startswith("PUID,INSTCODE,ACCENUMB")
    assert "AAA001,6X3K8" in said.out
