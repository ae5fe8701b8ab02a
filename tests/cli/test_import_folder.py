import json
import shutil
from pathlib import Path

DEMO = Path(__file__).parents[2] / "demo_data"


def test_a_folder_is_taken_in_and_counted_and_a_dry_run_counts_the_same_but_keeps_nothing(
    type_in, tmp_path: Path
) -> None:
    own = ("--database", tmp_path / "own.sqlite", "--json")
    dry = type_in("import", DEMO, "--dry-run", *own)
    assert dry.code == 0, dry.err
    real = type_in("import", DEMO, *own)  # would be refused, had anything been kept
    assert real.code == 0, real.err
    assert json.loads(real.out) == json.loads(dry.out)
    lots = (DEMO / "lots.csv").read_text("utf-8").splitlines()
    assert json.loads(real.out)["lots"] == len(lots) - 1


def test_a_wrong_cell_is_named_by_file_line_and_column_and_nothing_is_taken_in(
    type_in, tmp_path: Path
) -> None:
    folder, own = tmp_path / "mine", tmp_path / "own.sqlite"
    folder.mkdir()
    for name in ("kinds.csv", "varieties.csv", "lots.csv"):
        shutil.copy(DEMO / name, folder)
    header, first, *rest = (DEMO / "places.csv").read_text("utf-8").splitlines()
    wrong = "\n".join([header + ",colour", first + ",blue", *rest])
    (folder / "places.csv").write_text(wrong, "utf-8")
    said = type_in("import", folder, "--database", own)
    assert said.code == 2
    assert "Nothing was imported" in said.err
    assert "places.csv" in said.err
    assert "colour" in said.err
    assert said.out == ""
    shutil.copy(DEMO / "places.csv", folder)
    right = type_in("import", folder, "--database", own)  # would be refused, had a lot been kept
    assert right.code == 0, right.err


def test_importing_twice_books_nothing_twice(type_in, demo: Path) -> None:
    said = type_in("import", DEMO, "--database", demo)
    assert said.code == 2
    assert "imported before" in said.err


def test_a_folder_that_is_not_there_is_named(type_in) -> None:
    said = type_in("import", "nowhere")
    assert said.code == 2
    assert said.err == "folder can't be nowhere. Name a folder of CSV files.\n"
