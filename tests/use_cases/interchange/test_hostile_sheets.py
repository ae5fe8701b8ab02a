"""Files nobody should bring, by either way in: told by line in plain words, and nothing changed."""

import json
import re
import subprocess
import sys
from base64 import b64encode
from collections.abc import Callable
from pathlib import Path

import pytest

from seedbank.interchange.folder import files as import_guard
from seedbank.interchange.folder.import_collection import ImportRefused, import_collection
from seedbank.interchange.spreadsheet.answers import Spreadsheet, SpreadsheetConfirmed
from seedbank.interchange.spreadsheet.take_in_spreadsheet import (
    preview_spreadsheet,
    take_in_spreadsheet,
)
from seedbank.interchange.spreadsheet.text import LONGEST_ROW, MOST_ROWS
from tests.use_cases.conftest import Garden

Bring = Callable[[Garden, bytes, Path], None]
HEADING = "kind,variety,notes\n"
ROW = "carrot,Dusk Finger,thin\n"
MIB = 1024**2


def as_own_sheet(garden: Garden, content: bytes, _: Path) -> None:
    """The way a person's own list comes in: shown, then confirmed."""
    form = Spreadsheet(name="varieties.csv", base64=b64encode(content).decode())
    digest = preview_spreadsheet(garden.session, form, today=garden.today).digest
    confirmed = SpreadsheetConfirmed(**form.model_dump(), digest=digest)
    take_in_spreadsheet(garden.session, confirmed, **garden.when)


def as_folder(garden: Garden, content: bytes, folder: Path) -> None:
    """The way a folder of collection files comes in."""
    (folder / "varieties.csv").write_bytes(content)
    import_collection(garden.session, folder, garden.now)


BOTH = pytest.mark.parametrize("bring", [as_own_sheet, as_folder], ids=["sheet", "folder"])


def refused(garden: Garden, bring: Bring, content: bytes, folder: Path) -> ImportRefused:
    before = garden.dump()
    with pytest.raises(ImportRefused) as told:
        bring(garden, content, folder)
    assert garden.dump() == before
    said = str(told.value)
    assert said.startswith("Nothing was imported")
    assert len(said) < 5000
    return told.value


@BOTH
@pytest.mark.parametrize(
    ("content", "line", "said"),
    [
        ((HEADING + ROW).encode() + b"pea,\x81\x8d,\n", 3, "save the file as CSV in UTF-8"),
        (b"\xef\xbb\xbf" + HEADING.encode() + b"pea,\xff,\n", 2, "save the file as CSV in UTF-8"),
        ((HEADING + ROW + "pea,Lo\0w,\n").encode(), 3, "a NUL stands here"),
        ((HEADING + ROW + 'pea,"Low,\n').encode(), 3, "quote"),
        ((HEADING + ROW + 'pea,"Lo"w,\n').encode(), 3, "quote"),
        ((HEADING + ROW + "pea,Low," + "x" * 20_000 + "\n").encode(), 3, "characters"),
        ((HEADING + ROW + "pea,Low," + "x," * 10_000 + "\n").encode(), 3, "columns"),
        ((HEADING.strip() + ",a" * 10_000 + "\n" + ROW).encode(), 1, "columns"),
        (b"kind,variety,variety\ncarrot,A,B\n", 1, "variety"),
        ((HEADING + ROW + "pea,=cmd|'/c calc'!A0,\n").encode(), 3, "formula"),
        ((HEADING + ROW + "pea,@SUM(A1),\n").encode(), 3, "formula"),
        ((HEADING + ROW + "pea,Low,\u202egnitset\n").encode(), 3, "\u202e|U\\+202E|control"),
    ],
    ids=["wrong bytes", "wrong bytes after a BOM", "NUL", "unclosed quote", "quote in a cell",
         "long cell", "wide row", "wide heading", "two alike", "formula", "at sign",
         "turned direction"],
)  # fmt: skip
def test_it_is_told_by_line_and_changes_nothing(
    garden: Garden, tmp_path: Path, bring: Bring, content: bytes, line: int, said: str
) -> None:
    told = refused(garden, bring, content, tmp_path)
    assert told.problems[0].line == line
    assert re.search(said, f"{told} {told.problems[0]}"), str(told)


@BOTH
@pytest.mark.parametrize(
    "content", [b"", b"\n\n\n", b"\xef\xbb\xbf"], ids=["empty", "blank", "BOM"]
)
def test_a_file_with_nothing_in_it_is_refused(
    garden: Garden, tmp_path: Path, bring: Bring, content: bytes
) -> None:
    assert refused(garden, bring, content, tmp_path).problems[0].line == 1


def test_a_heading_alone_is_no_list(garden: Garden, tmp_path: Path) -> None:
    told = refused(garden, as_own_sheet, b"kind\n", tmp_path)
    assert "no rows" in str(told)
    before = garden.dump()
    as_folder(garden, HEADING.encode(), tmp_path)  # a file of no varieties is a whole one
    assert garden.dump() == before


@BOTH
def test_utf_16_is_read_where_it_can_be_and_else_refused(
    garden: Garden, tmp_path: Path, bring: Bring
) -> None:
    content = (HEADING + ROW).encode("utf-16")
    if bring is as_folder:
        assert refused(garden, bring, content, tmp_path).problems[0].line == 1
        return
    bring(garden, content, tmp_path)
    assert any("Dusk Finger" in row for row in garden.dump()["variety"])


@pytest.mark.parametrize(
    "amount", ["1e308", "1e9999", "nan", "NaN", "inf", "-inf", "-5", "-0.5", "99999999999"]
)
@pytest.mark.parametrize("column", ["seeds", "grams"])
def test_a_number_no_amount_can_be_is_refused_by_line_either_way(
    garden: Garden, tmp_path: Path, amount: str, column: str
) -> None:
    heading = {"seeds": "How many", "grams": "Weight (g)"}[column]
    sheet = f"Crop,Variety,{heading}\ncarrot,Dusk,20\ncarrot,Dawn,{amount}\n"
    told = refused(garden, as_own_sheet, sheet.encode(), tmp_path)
    assert [(one.line, one.column, one.value) for one in told.problems] == [(3, heading, amount)]
    lot = garden.lot(10)
    movements = f"lot,date,reason,{column}\n{lot.code},2024-03-01,acquired,{amount}\n"
    (tmp_path / "movements.csv").write_text(movements)
    before = garden.dump()
    with pytest.raises(ImportRefused) as by_folder:
        import_collection(garden.session, tmp_path, garden.now)
    assert [(one.line, one.column) for one in by_folder.value.problems] == [(2, column)]
    assert garden.dump() == before


@pytest.mark.parametrize("degrees", ["nan", "inf", "1e308", "-300"])
def test_a_temperature_that_cannot_be_is_refused(
    garden: Garden, tmp_path: Path, degrees: str
) -> None:
    heading = "place,winter_temperature_c\n"
    (tmp_path / "places.csv").write_text(f"{heading}tin,{degrees}\n")
    before = garden.dump()
    with pytest.raises(ImportRefused) as told:
        import_collection(garden.session, tmp_path, garden.now)
    assert [one.line for one in told.value.problems] == [2]
    assert garden.dump() == before


@BOTH
def test_more_rows_than_are_taken_at_once_are_refused_by_the_line_that_is_too_many(
    garden: Garden, tmp_path: Path, bring: Bring, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(import_guard, "MOST_LINES", 2500)
    content = (HEADING + ROW * (2600 if bring is as_folder else MOST_ROWS + 1)).encode()
    told = refused(garden, bring, content, tmp_path)
    line = 2501 if bring is as_folder else MOST_ROWS + 2
    assert told.problems[0].line == line
    assert "at most" in str(told) or "may hold" in str(told)


def test_limits_are_what_a_row_of_notes_can_hold() -> None:
    assert LONGEST_ROW < 4000 < import_guard.LONGEST_CELL


# VmHWM is the process's own; getrusage would begin at that of the process it was forked from.
_MEASURED = """
import io, json, sys
from contextlib import redirect_stderr
from pathlib import Path
import seedbank.main as cli
first, *others = json.loads(sys.argv[1])
for typed in (first, first, *others):  # once before it counts, for what is loaded then
    Path("/proc/self/clear_refs").write_text("5")  # the peak begins anew: proc(5)
    with redirect_stderr(io.StringIO()) as said:
        code = cli.app(typed, standalone_mode=False)
    most = next(line.split()[1] for line in open("/proc/self/status") if "VmHWM" in line)
    print(json.dumps([int(most) * 1024, code, said.getvalue()]))
"""
FLOODS = ["ten million rows", "a cell of 10 MB", "10 MB without an end"]


def write_flood(flood: Path, what: str) -> None:
    with flood.open("wb") as file:
        file.write(HEADING.encode())
        if what == "ten million rows":
            for _ in range(100):
                file.write(b"carrot,A,\n" * 100_000)
        else:
            quote = b'"' if what == "10 MB without an end" else b""
            file.write(b"carrot,A," + quote + b"x" * 10 * MIB + b"\n")


@pytest.fixture(scope="module")
def peaks(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, str], tuple[int, str]]:
    """Peak memory in bytes of refusing a file of one line and each flood, either way, and what
    was said; one process a way, in which each begins where the one before it ended.
    """
    folders = {what: tmp_path_factory.mktemp("flood") for what in ("one line", *FLOODS)}
    files = {what: folder / "varieties.csv" for what, folder in folders.items()}
    files["one line"].write_text("kind,variety,variety\n")
    for what in FLOODS:
        write_flood(files[what], what)
    database = f"sqlite:///{tmp_path_factory.mktemp('flooded') / 'a.sqlite'}"
    found = {}
    for way, places in (("sheet", files), ("folder", folders)):
        typed = [["import", str(place), "--database", database] for place in places.values()]
        done = subprocess.run(
            [sys.executable, "-c", _MEASURED, json.dumps(typed)],
            capture_output=True, text=True, check=True, timeout=480,
        )  # fmt: skip
        for what, line in zip(places, done.stdout.splitlines()[1:], strict=True):
            most, code, said = json.loads(line)
            assert code == 2, line
            found[way, what] = most, said
    for file in files.values():
        file.unlink()
    return found


@pytest.mark.skipif(not Path("/proc/self/status").is_file(), reason="peak memory is read in /proc")
@pytest.mark.parametrize("what", FLOODS)
@pytest.mark.parametrize("way", ["sheet", "folder"])
def test_a_flood_is_refused_early_in_bounded_memory(
    peaks: dict[tuple[str, str], tuple[int, str]],
    capsys: pytest.CaptureFixture[str],
    way: str,
    what: str,
) -> None:
    most, said = peaks[way, what]
    rest, _ = peaks[way, "one line"]
    with capsys.disabled():
        sys.stdout.write(f"\n{way}, {what}: {most / MIB:.0f} MiB, {(most - rest) / MIB:.1f} more\n")
    line = 2 if what != "ten million rows" else MOST_ROWS + 2 if way == "sheet" else 1_000_001
    assert f"varieties.csv line {line}" in said
    assert most - rest < 40 * MIB
