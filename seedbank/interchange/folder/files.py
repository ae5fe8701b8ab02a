"""Reading the files of a collection written by hand: CSV with a header line, in UTF-8.

Files are gone through line by line first, so that one too large for the memory is refused in
little of it, by the line at which it grew too large. What is wrong is found all together, each
with its line.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, Generic, TypeVar, cast

from pydantic import ValidationError

from seedbank.common import catalogue
from seedbank.common.errors import StockFault
from seedbank.common.local_format import Local
from seedbank.interchange.filled_forms import errors_of
from seedbank.interchange.folder.csv_lines import CsvLines, LineRefused
from seedbank.interchange.folder.rows import FILES, ROWS, CsvRow
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
        return f"{catalogue.text_of(where, local or catalogue.PLAIN)} {self._text(local)}"

    def _text(self, local: Local | None) -> str:
        if isinstance(self.why, StockFault):
            return f"{self.why.text_for(local)} {self.why.mend_for(local)}"
        if isinstance(self.why, Finding):
            return catalogue.text_of(self.why, local or catalogue.PLAIN)
        return self.why

    @property
    def mend(self) -> str:
        """What to mend."""
        return self._text(None)

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

    def text_for(self, local: Local | None = None, part: str = "") -> str:
        shown = [problem.text_for(local) for problem in self.problems[:_SHOWN]]
        if more := len(self.problems) - len(shown):
            shown.append(
                catalogue.text_of(
                    Finding("problems-more", {"more": more}), local or catalogue.PLAIN
                )
            )
        return "\n".join((super().text_for(local, part), *shown))


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
LONGEST_LINE: Final = 1_000_000  # characters
LONGEST_CELL: Final = 10_000  # characters; notes hold 4,000
MOST_COLUMNS: Final = 200

R = TypeVar("R", bound=CsvRow, covariant=True)
S = TypeVar("S", bound=CsvRow)


@dataclass(frozen=True, slots=True)
class Numbered(Generic[R]):
    """A row and where it stands. ``called``: columns that go by another name in its file."""

    file: str
    line: int
    row: R
    called: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class CollectionFiles:
    """Everything read from a folder, in the order written; a file that isn't there has no rows."""

    lines: dict[type[CsvRow], list[Numbered[CsvRow]]]

    def of(self, row: type[S]) -> list[Numbered[S]]:
        """The lines of one file."""
        return cast("list[Numbered[S]]", self.lines[row])


def read_collection_files(folder: Path) -> CollectionFiles:
    """Read every collection file in ``folder`` (see ``rows`` for files and columns).

    Raises ImportRefused with all problems at once: no such file at all, a file that is no CSV
    in UTF-8, a column missing, unknown or twice, a cell that can't be what its column says.
    """
    problems = Problems()
    there = {name: folder / name for name in FILES if (folder / name).is_file()}
    if not there:
        problems.add(str(folder), 0, "", "", Finding("folder-no-file", {"files": ", ".join(FILES)}))
    read: dict[type[CsvRow], list[Numbered[CsvRow]]] = {row: [] for row in ROWS}
    for name, path in there.items():
        try:
            read[FILES[name]] += _FileReader(path, FILES[name], problems).rows()
        except LineRefused as wrong:
            problems.add(name, wrong.line, "", "", wrong.mend)
    problems.refuse()
    return CollectionFiles(read)


class _FileReader:
    """Turns the lines of one file into rows, and keeps what is wrong with them."""

    def __init__(self, path: Path, row_type: type[CsvRow], problems: Problems) -> None:
        self.path, self.row_type, self.problems = path, row_type, problems
        self.called: dict[str, str] = {}

    def rows(self) -> list[Numbered[CsvRow]]:
        """Raises LineRefused: the line at which it can't be read on."""
        if self.path.stat().st_size > LARGEST:
            raise LineRefused(1, Finding("folder-file-too-large", {"most": LARGEST}))
        for _ in self._lines():
            pass  # to the end, before anything of it is kept
        lines = self._lines()
        header = [cell.strip() for cell in next(lines, (1, []))[1]]
        before = (
            self.row_type.before if self.row_type.writes_as_before(self.path.stem, header) else {}
        )
        self.called |= {name: column for column, name in before.items()}
        if not self._header_fits(header):
            return []
        fields = [before.get(name, name) for name in header]
        rows = (self._row(line, fields, cells) for line, cells in lines)
        return [row for row in rows if row is not None]

    def _lines(self) -> Iterator[tuple[int, list[str]]]:
        """Lines with something in them."""
        with self.path.open("rb") as file:
            for line, cells in CsvLines(file, LONGEST_LINE, MOST_LINES):
                if any(cell.strip() for cell in cells):
                    yield line, cells

    def _complain(self, line: int, name: str, value: object, mend: Why) -> None:
        self.problems.add(self.path.name, line, self.called.get(name, name), value, mend)

    def _header_fits(self, header: list[str]) -> bool:
        known = {
            self.called.get(name, name): one for name, one in self.row_type.model_fields.items()
        }
        use, found = {"columns": ",".join(known)}, list[Finding]()
        if len(header) > MOST_COLUMNS:
            found.append(Finding("folder-columns-too-many", {"number": len(header), **use}))
            header = list(known)
        elif not header:
            found.append(Finding("folder-no-header", use))
            header = list(known)
        for name in dict.fromkeys(header):
            if name not in known:
                found.append(Finding("folder-column-unknown", {"name": repr(name), **use}))
            elif header.count(name) > 1:
                found.append(Finding("folder-column-twice", {"name": repr(name)}))
        for name, about in known.items():
            if about.is_required() and name not in header:
                found.append(Finding("folder-column-missing", {"name": repr(name)}))
        for mend in found:
            self._complain(1, "", "", mend)
        return not found

    def _row(self, line: int, fields: list[str], cells: list[str]) -> Numbered[CsvRow] | None:
        if any(cell.strip() for cell in cells[len(fields) :]):
            self._complain(line, "", "", Finding("folder-cells-beyond", {"columns": len(fields)}))
            return None
        given = {
            name: cell.strip() for name, cell in zip(fields, cells, strict=False) if cell.strip()
        }
        if not self._cells_fit(line, given):
            return None
        try:
            row = self.row_type.model_validate(given)
            return Numbered(self.path.name, line, row, self.called)
        except ValidationError as wrong:
            for error, one in zip(wrong.errors(), errors_of(wrong), strict=True):
                name = str(error["loc"][0]) if error["loc"] else ""
                mend: Why = _IN_CELLS.get(error["type"], one.mend)
                self._complain(line, name, given.get(name, ""), mend)
            return None

    def _cells_fit(self, line: int, given: dict[str, str]) -> bool:
        """A cell is neither a formula nor longer than anything kept here."""
        before = len(self.problems.found)
        for name, cell in given.items():
            if len(cell) > LONGEST_CELL:
                sizes = {"most": LONGEST_CELL, "characters": len(cell)}
                self._complain(line, name, cell[:40], Finding("folder-cell-too-long", sizes))
            elif is_formula(cell):
                self._complain(line, name, cell[:80], Finding("folder-formula"))
        return len(self.problems.found) == before


_IN_CELLS = {
    "missing": Finding("folder-cell-empty"),
    "bool_parsing": Finding("folder-yes-or-no"),
    "too_short": Finding("folder-at-least-one"),
}
