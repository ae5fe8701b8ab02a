"""Reading collection files: what can't be right is told by file, line and column."""

from pathlib import Path

import pytest

from seedbank.interchange.folder.files import ImportProblem, ImportRefused, read_collection_files


def written(folder: Path, **texts: str) -> Path:
    """A folder with these files in it (``lots="…"`` for lots.csv)."""
    for name, text in texts.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return folder


def problems_in(folder: Path) -> list[ImportProblem]:
    with pytest.raises(ImportRefused) as refusal:
        read_collection_files(folder)
    return refusal.value.problems


BAD_CELLS = [
    ("places", "place,winter_temperature_c\ncellar,warm\n", "winter_temperature_c", "a number"),
    ("places", "place,sealed\ncellar,mostly\n", "sealed", "yes or no"),
    ("varieties", "kind,variety,breeding\npea,X,hybrid\n", "breeding", "open-pollinated"),
    ("lots", "label,kind,variety,origin\nA,pea,Fenwythe Greyhood,\n", "origin", "fill this in"),
    ("movements", "lot,date,reason,seeds\nA,1.10.2024,acquired,5\n", "date", "year-month-day"),
    ("movements", "lot,date,reason,seeds\nA,20241001,acquired,5\n", "date", "year-month-day"),
    ("movements", "lot,date,reason,seeds\nA,2024-10-01,acquired,5.5\n", "seeds", "whole number"),
    (
        "tests",
        "test,lot,started_on,replicate_seeds\nt,A,2025-02-01,10+10\n",
        "replicate_seeds",
        "whole number",
    ),
    ("kinds", "kind,fact,value,source\npea,colour,green,my notes\n", "fact", "botanical"),
]


@pytest.mark.parametrize(("file", "text", "column", "mend"), BAD_CELLS)
def test_a_cell_that_cant_be_right_is_told_by_line_and_column(
    file: str,
    text: str,
    column: str,
    mend: str,
    tmp_path: Path,
) -> None:
    (problem,) = problems_in(written(tmp_path, **{file: text}))
    assert (problem.file, problem.line, problem.column) == (f"{file}.csv", 2, column)
    assert mend in problem.mend


def test_all_problems_are_told_together_in_order(tmp_path: Path) -> None:
    folder = written(
        tmp_path,
        movements="lot,date,reason,seeds\nA,someday,lost,100\nA,2024-10-01,acquired,many\n",
        places="place,sealed\n,no\n",
    )
    problems = problems_in(folder)
    assert [(p.file, p.line, p.column) for p in problems] == [
        ("movements.csv", 2, "date"),
        ("movements.csv", 2, "reason"),
        ("movements.csv", 3, "seeds"),
        ("places.csv", 2, "place"),
    ]


def test_a_spreadsheets_byte_order_mark_and_line_breaks_in_cells_keep_the_lines_right(
    tmp_path: Path,
) -> None:
    folder = written(tmp_path)
    text = 'place,notes,sealed\r\ndrawer,"dry,\r\nwarm",no\r\n\r\ncellar,,perhaps\r\n'
    (folder / "places.csv").write_bytes(b"\xef\xbb\xbf" + text.encode())
    (problem,) = problems_in(folder)
    assert (problem.line, problem.column, problem.value) == (5, "sealed", "perhaps")


def test_a_file_that_is_no_utf8_csv_or_has_a_wrong_header_is_told(tmp_path: Path) -> None:
    folder = written(
        tmp_path,
        movements="lot;date;reason;seeds\nA;2024-10-01;acquired;100\n",
        stays="lot,place\nA,drawer\n",
        losses="sowing,date,cause,lost,lost\n",
        tests='test,lot\n"t1,A\n',
    )
    (folder / "places.csv").write_bytes("place\nséchoir\n".encode("latin-1"))
    with pytest.raises(ImportRefused) as refusal:
        read_collection_files(folder)
    told = {(p.file, p.line, p.mend) for p in refusal.value.problems}
    assert ("places.csv", 2, "save the file as CSV in UTF-8") in told
    assert ("stays.csv", 1, "add the column 'from_date'") in told
    assert ("losses.csv", 1, "keep only one column 'lost'") in told
    assert {file for file, _, _ in told} >= {"movements.csv", "tests.csv"}


def test_a_folder_without_any_collection_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ImportRefused, match=r"lots\.csv"):
        read_collection_files(tmp_path)
