"""Everything out into one file and in again at the command line."""

import json
from pathlib import Path

import pytest
from openpyxl import load_workbook


def test_a_collection_is_exported_and_taken_in_again(type_in, demo: Path, tmp_path: Path) -> None:
    said = type_in("export", tmp_path / "all.zip", "--database", demo)
    assert said.code == 0, said.err
    assert "lot.csv" in said.out
    again = tmp_path / "again.sqlite"
    dry = type_in("import", tmp_path / "all.zip", "--database", again, "--dry-run", "--json")
    assert dry.code == 0, dry.err
    taken = type_in("import", tmp_path / "all.zip", "--database", again, "--json")
    assert taken.code == 0, taken.err
    assert json.loads(taken.out)["rows"] == json.loads(dry.out)["rows"]
    type_in("export", tmp_path / "second.zip", "--database", again)
    assert (tmp_path / "second.zip").read_bytes() == (tmp_path / "all.zip").read_bytes()


def test_no_file_is_overwritten_and_none_is_left_half_written(
    type_in, demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    mine = tmp_path / "mine.zip"
    mine.write_text("mine", "utf-8")
    said = type_in("export", mine, "--database", demo)
    assert said.code == 2
    assert "none is overwritten" in said.err
    assert mine.read_text("utf-8") == "mine"

    def breaks(*_: object, **__: object) -> None:
        raise OSError("No space left on device")

    monkeypatch.setattr("seedbank.interchange.folder.commands.export.export_collection", breaks)
    with pytest.raises(OSError, match="No space"):
        type_in("export", tmp_path / "new.zip", "--database", demo)
    assert not [path for path in tmp_path.iterdir() if "new.zip" in path.name]


def test_an_archive_is_refused_where_there_is_seed_already(
    type_in, demo: Path, tmp_path: Path
) -> None:
    type_in("export", tmp_path / "all.zip", "--database", demo)
    said = type_in("import", tmp_path / "all.zip", "--database", demo)
    assert said.code == 2
    assert "empty collection" in said.err


def test_a_file_that_is_no_archive_is_refused(type_in, tmp_path: Path) -> None:
    odd = tmp_path / "odd.zip"
    odd.write_bytes(b"not a zip archive")
    said = type_in("import", odd, "--database", tmp_path / "own.sqlite")
    assert said.code == 2
    assert "odd.zip: bring a zip archive that seedbank export wrote" in said.err


def test_a_workbook_is_written_once_and_named_in_full(type_in, demo: Path, tmp_path: Path) -> None:
    words = ("export", "--workbook", tmp_path / "seed.xlsx", "--database", demo)
    told = json.loads(type_in(*words, "--json").out)
    assert told["lots"] == load_workbook(tmp_path / "seed.xlsx")["lots"].max_row - 1
    assert type_in(*words).code == 2
    assert "all.zip" in type_in("export", "--database", demo).err
