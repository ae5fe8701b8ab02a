"""Reading a folder of collection files: CSV with a header line, comma-separated, in UTF-8.

Files are gone through piece by piece first, so that one too large for the memory is refused in
little of it, by the line at which it grew too large. What is wrong is found all together, each
with its line.
"""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, Generic, TypeVar

from pydantic import ValidationError

from seedbank.common import catalogue
from seedbank.common.errors import StockFault
from seedbank.common.local_format import Local
from seedbank.interchange.filled_forms import errors_of
from seedbank.interchange.folder.rows import (
    ROW_TYPES,
    CountRow,
    CsvRow,
    EmergenceRow,
    FloweringRow,
    GearRow,
    KindFactRow,
    LossRow,
    LotRow,
    MovementRow,
    PlaceRow,
    SeedCropRow,
    SiteRow,
    SowingRow,
    StayRow,
    TestRow,
    VarietyRow,
)
from seedbank.interchange.spreadsheet.cells import is_formula
from seedbank.science.quantities import Finding

_SHOWN = 10
Why = Finding | StockFault | str


@dataclass(frozen=True, slots=True)
class ImportProblem:
    """One thing to mend. ``line`` counts from 1 (the header); ``column`` empty: the whole line."""

    file: str
    line: int
    column: str
    value: str
    why: Why

    def text_for(self, local: Local | None = None) -> str:
        """What to mend, and where, as this reader writes days and sizes."""
        where = Finding(
            "import-problem",
            {
                "file": self.file, "line": self.line, "column": self.column or None,
                "value": repr(self.value),
            },
        )  # fmt: skip
        return f"{catalogue.text_of(where, local or catalogue.PLAIN)} {self._told(local)}"

    def _told(self, local: Local | None) -> str:
        if isinstance(self.why, StockFault):
            return f"{self.why.text_for(local)} {self.why.mend_for(local)}"
        if isinstance(self.why, Finding):
            return catalogue.text_of(self.why, local or catalogue.PLAIN)
        return self.why

    @property
    def mend(self) -> str:
        """What to mend."""
        return self._told(None)

    def __str__(self) -> str:
        return self.text_for()


class ImportRefused(StockFault):
    """The files hold problems, so nothing was taken in. ``problems`` lists them all, in order."""

    lists = True
    named = "import-refused"
    """Its code."""

    def __init__(self, problems: list[ImportProblem]) -> None:
        first = problems[0]
        super().__init__(self.named, first.file, first.value, problems=len(problems))
        self.problems = problems

    def text_for(self, local: Local | None = None) -> str:
        shown = [problem.text_for(local) for problem in self.problems[:_SHOWN]]
        if more := len(self.problems) - len(shown):
            shown.append(
                catalogue.text_of(
                    Finding("problems-more", {"more": more}), local or catalogue.PLAIN
                )
            )
        return "\n".join((super().text_for(local), *shown))


@dataclass(slots=True)
class Problems:
    """Problems as they are found; ``refuse`` raises them together, if there are any."""

    found: list[ImportProblem] = field(default_factory=list)

    def add(self, file: str, line: int, column: str, value: object, why: Why) -> None:
        shown = "" if value is None else str(value)
        self.found.append(ImportProblem(file, line, column, shown, why))

    def refuse(self) -> None:
        """Raises ImportRefused when a problem has been found."""
        if self.found:
            raise ImportRefused(sorted(self.found, key=lambda p: (p.file, p.line)))


LARGEST: Final = 256 * 1024**2  # bytes of a file
MOST_LINES: Final = 1_000_000
LONGEST_LINE: Final = 1_000_000  # bytes
LONGEST_CELL: Final = 10_000  # characters; notes hold 4,000
MOST_COLUMNS: Final = 200
_PIECE = 1 << 20


def text_of(path: Path, problems: Problems) -> str | None:
    """The text of a file in UTF-8, with or without byte order mark; None if it can't be read so.

    What is in the way is added to ``problems``, by line.
    """
    found = _in_the_way(path)
    if found is not None:
        problems.add(path.name, found[0], "", "", found[1])
        return None
    content = path.read_bytes()
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = content[: wrong.start].count(b"\n") + 1
        problems.add(path.name, line, "", "", "save the file as CSV in UTF-8")
        return None


def _in_the_way(path: Path) -> tuple[int, str] | None:
    """The line at which the file can't be read on, and the mend; None if it can be read whole."""
    line, length, size = 1, 0, 0
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            size += len(piece)
            nul = piece.find(b"\0")
            if nul >= 0:
                mend = "a NUL stands here, so it is no CSV in UTF-8; save the file as that"
                return line + piece.count(b"\n", 0, nul), mend
            ends = piece.count(b"\n")
            first = piece.find(b"\n")
            longest = length + (first if first >= 0 else len(piece))
            if longest > LONGEST_LINE:
                return line, f"a line may hold {LONGEST_LINE:,} bytes, this one holds more"
            if line + ends > MOST_LINES + 1:
                return MOST_LINES + 1, f"a file may hold {MOST_LINES:,} lines; bring it in parts"
            length = longest if first < 0 else len(piece) - piece.rfind(b"\n") - 1
            line += ends
            if size > LARGEST:
                return line, f"a file may hold {LARGEST:,} bytes; bring it in parts"
    return None


R = TypeVar("R", bound=CsvRow, covariant=True)


@dataclass(frozen=True, slots=True)
class Numbered(Generic[R]):
    """A row and where it stands."""

    file: str
    line: int
    row: R


@dataclass(frozen=True, slots=True)
class CollectionFiles:
    """Everything read from a folder, in the order written; a file that isn't there has no rows."""

    places: list[Numbered[PlaceRow]]
    kinds: list[Numbered[KindFactRow]]
    varieties: list[Numbered[VarietyRow]]
    lots: list[Numbered[LotRow]]
    stays: list[Numbered[StayRow]]
    movements: list[Numbered[MovementRow]]
    tests: list[Numbered[TestRow]]
    counts: list[Numbered[CountRow]]
    sowings: list[Numbered[SowingRow]]
    emergence: list[Numbered[EmergenceRow]]
    losses: list[Numbered[LossRow]]
    sites: list[Numbered[SiteRow]]
    gear: list[Numbered[GearRow]]
    flowering: list[Numbered[FloweringRow]]
    seed_crops: list[Numbered[SeedCropRow]]


def read_collection_files(folder: Path) -> CollectionFiles:
    """Read every collection file in ``folder`` (see ``import_rows`` for files and columns).

    Raises ImportRefused with all problems at once: no such file at all, a file that is no CSV
    in UTF-8, a column missing, unknown or twice, a cell that can't be what its column says.
    """
    problems = Problems()
    paths = {name: folder / name for name in ROW_TYPES}
    if not any(path.is_file() for path in paths.values()):
        problems.add(str(folder), 0, "", "", f"put at least one of {', '.join(paths)} there")
    read: dict[str, Any] = {
        name.removesuffix(".csv"): _read_file(path, ROW_TYPES[name], problems)
        for name, path in paths.items()
    }
    problems.refuse()
    return CollectionFiles(**read)


def _read_file(path: Path, row_type: type[R], problems: Problems) -> list[Numbered[R]]:
    if not path.is_file():
        return []
    text = text_of(path, problems)
    if text is None:
        return []
    try:
        lines = list(_lines(text))
    except _NotCsvError as wrong:
        mend = f"save the file as comma-separated CSV, every quote closed ({wrong.why})"
        problems.add(path.name, wrong.line, "", "", mend)
        return []
    if not lines:
        problems.add(path.name, 1, "", "", f"begin with a header: {_columns(row_type)}")
        return []
    header = [cell.strip() for cell in lines[0][1]]
    if not _header_fits(path.name, header, row_type, problems):
        return []
    rows = (
        _read_row(path.name, line, header, cells, row_type, problems) for line, cells in lines[1:]
    )
    return [row for row in rows if row is not None]


def _lines(text: str) -> Iterator[tuple[int, list[str]]]:
    """Lines with something in them and the number of the physical line each begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    begins = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield begins, cells
            begins = reader.line_num + 1
    except csv.Error as wrong:
        raise _NotCsvError(begins, str(wrong)) from wrong


class _NotCsvError(Exception):
    """A row that isn't CSV, by the line it begins on."""

    def __init__(self, line: int, why: str) -> None:
        super().__init__(line, why)
        self.line = line
        self.why = why


def _columns(row_type: type[CsvRow]) -> str:
    return ",".join(row_type.model_fields)


def _header_fits(file: str, header: list[str], row_type: type[CsvRow], problems: Problems) -> bool:
    known = row_type.model_fields
    before = len(problems.found)
    if len(header) > MOST_COLUMNS:
        mend = f"there are {len(header)} columns; use {_columns(row_type)}"
        problems.add(file, 1, "", "", mend)
        return False
    for name in dict.fromkeys(header):
        if name not in known:
            problems.add(file, 1, "", "", f"there is no column {name!r}; use {_columns(row_type)}")
        elif header.count(name) > 1:
            problems.add(file, 1, "", "", f"keep only one column {name!r}")
    for name, about in known.items():
        if about.is_required() and name not in header:
            problems.add(file, 1, "", "", f"add the column {name!r}")
    return len(problems.found) == before


def _read_row(
    file: str, line: int, header: list[str], cells: list[str], row_type: type[R], problems: Problems
) -> Numbered[R] | None:
    if any(cell.strip() for cell in cells[len(header) :]):
        mend = f"the header has {len(header)} columns; put text with commas in double quotes"
        problems.add(file, line, "", "", mend)
        return None
    given = {name: cell.strip() for name, cell in zip(header, cells, strict=False) if cell.strip()}
    if not _cells_fit(file, line, given, problems):
        return None
    try:
        return Numbered(file, line, row_type.model_validate(given))
    except ValidationError as wrong:
        for error, one in zip(wrong.errors(), errors_of(wrong), strict=True):
            column = str(error["loc"][0]) if error["loc"] else ""
            mend = _IN_CELLS.get(error["type"], one.mend)
            problems.add(file, line, column, given.get(column, ""), mend)
        return None


def _cells_fit(file: str, line: int, given: dict[str, str], problems: Problems) -> bool:
    """A cell is neither a formula nor longer than anything kept here."""
    before = len(problems.found)
    for column, cell in given.items():
        if len(cell) > LONGEST_CELL:
            mend = f"a cell holds at most {LONGEST_CELL} characters, this one {len(cell)}"
            problems.add(file, line, column, cell[:40], mend)
        elif is_formula(cell):
            problems.add(file, line, column, cell[:80], "write what the formula gives")
    return len(problems.found) == before


_IN_CELLS = {
    "missing": "fill this in",
    "bool_parsing": "write yes or no",
    "too_short": "write at least one, separated by semicolons",
}
