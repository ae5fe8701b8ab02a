"""A person's own spreadsheet as text: its encoding and delimiter found out, and said.

Nothing in the file is trusted. It is read no further than ``LARGEST`` bytes, and what is too
large, too long or isn't text is told by its line before anything is made of it.
"""

import csv
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import IO, Final

from seedbank.interchange.folder.files import ImportProblem, ImportRefused
from seedbank.interchange.spreadsheet.answers import LARGEST

MOST_ROWS: Final = 2_000
MOST_COLUMNS: Final = 60
LONGEST_ROW: Final = 3_000  # characters: a row is kept whole in its lot's notes
_MOST_PROBLEMS = 100
_DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}
_BINARY = {
    b"PK\x03\x04": "a workbook or an archive",
    b"\xd0\xcf\x11\xe0": "a workbook of the old kind",
    b"%PDF": "a PDF",
}
# Controls, and marks that turn the direction of what follows: a name could show as another.
_UNWRITTEN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\u202a-\u202e\u2066-\u2069\ufffe\uffff]")
_SEP = re.compile(r"sep=([,;\t])", re.IGNORECASE)


class SheetRefused(ImportRefused):
    """The spreadsheet can't be read or taken in; nothing was changed."""

    named = "sheet-refused"

    def __init__(self, problems: list[ImportProblem]) -> None:
        super().__init__(problems[:_MOST_PROBLEMS])


@dataclass(frozen=True, slots=True)
class SheetRow:
    """The cells of a row, trimmed, and the physical line it begins on."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A spreadsheet's first line and the rows below it. ``said`` tells what was assumed."""

    name: str
    first: SheetRow
    rows: tuple[SheetRow, ...]
    said: tuple[str, ...]


def bytes_of(brought: IO[bytes]) -> bytes:
    """What is brought, but never more than a byte over the limit."""
    return brought.read(LARGEST + 1)


def read_sheet(content: bytes, name: str) -> Sheet:
    """The rows of a delimited text file. Raises SheetRefused: what is wrong, by line."""
    text, encoding = text_of(content, name)
    _check_characters(text, name)
    delimiter, skipped = _delimiter(text)
    rows = list(_rows(text, name, delimiter, skipped))
    if len(rows) < 2 and not (rows and len(rows[0].cells) > 1):
        raise _refusal(name, 1, "there are no rows here to take in")
    said = (encoding, f"Cells are set apart by {_DELIMITERS[delimiter]}.")
    return Sheet(name, rows[0], tuple(rows[1:]), said)


def text_of(content: bytes, name: str) -> tuple[str, str]:
    """The text of a file, and a sentence on its encoding. Raises SheetRefused: it isn't text."""
    kind = next((what for magic, what in _BINARY.items() if content.startswith(magic)), None)
    if kind is not None:
        mend = f"this is {kind}; save the sheet as CSV in your spreadsheet program"
        raise _refusal(name, 0, f"{mend}, and bring that")
    if len(content) > LARGEST:
        raise _too_large(content, name)
    return _decoded(content, name)


def _refusal(name: str, line: int, mend: str) -> SheetRefused:
    return SheetRefused([ImportProblem(name, line, "", "", mend)])


def _too_large(content: bytes, name: str) -> SheetRefused:
    """A file over the limit: the line that makes it so, as far as it was read."""
    lines = content.split(b"\n")
    long = next((n for n, line in enumerate(lines, 1) if len(line) > 4 * LONGEST_ROW), None)
    if long is not None:
        return _refusal(name, long, f"a row may hold {LONGEST_ROW} characters, this holds more")
    if len(lines) > MOST_ROWS + 1:
        return _refusal(name, MOST_ROWS + 2, f"bring at most {MOST_ROWS} rows at a time")
    return _refusal(name, len(lines), f"bring a file of at most {LARGEST} bytes")


def _decoded(content: bytes, name: str) -> tuple[str, str]:
    """The text, and a sentence on the encoding it was read in."""
    encoding, said = _encoding(content)
    try:
        return content.decode(encoding), said
    except UnicodeDecodeError as fault:
        wrong = fault
        if encoding == "utf-8":
            try:
                return content.decode("cp1252"), _CP1252
            except UnicodeDecodeError as worse:
                wrong = worse
        line = content[: wrong.start].count(b"\n") + 1
        mend = f"bytes here are no {wrong.encoding} text; save the file as CSV in UTF-8"
        raise _refusal(name, line, mend) from wrong


_CP1252 = "Read as Windows-1252, as it is no UTF-8: look whether accented letters came out right."


def _encoding(content: bytes) -> tuple[str, str]:
    if content.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig", "Read as UTF-8, as its byte order mark says."
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16", "Read as UTF-16, as its byte order mark says."
    head = content[:2000]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if len(head) >= 8 and max(even, odd) > len(head) // 3 and not min(even, odd):
        order = "utf-16-le" if odd else "utf-16-be"
        return order, "Read as UTF-16, as every other byte of it is empty."
    return "utf-8", "Read as UTF-8."


def _check_characters(text: str, name: str) -> None:
    problems = []
    for found in _UNWRITTEN.finditer(text):
        line = text.count("\n", 0, found.start()) + 1
        what = "a NUL" if found[0] == "\0" else f"the character U+{ord(found[0]):04X}"
        mend = f"{what} stands here, which nobody can see and which can mislead; delete it"
        problems.append(ImportProblem(name, line, "", "", mend))
        if len(problems) == _MOST_PROBLEMS:
            break
    if problems:
        raise SheetRefused(problems)


def _delimiter(text: str) -> tuple[str, int]:
    """What sets the cells apart, and how many characters at the start say so themselves."""
    stated = _SEP.match(text)
    if stated is not None and text[stated.end() : stated.end() + 1] in ("\r", "\n"):
        end = stated.end()
        return stated[1], end + (2 if text[end : end + 2] == "\r\n" else 1)
    sample = [line for line in text[:50_000].splitlines()[:25] if line.strip()]
    return max(_DELIMITERS, key=lambda one: _fit(sample, one)), 0


def _fit(sample: list[str], delimiter: str) -> float:
    """How well a delimiter fits: columns times the share of lines that have as many."""
    try:
        widths = [len(cells) for cells in csv.reader(sample, delimiter=delimiter) if cells]
    except csv.Error:
        return 0.0
    if not widths or widths[0] < 2:
        return 0.0
    return widths[0] * Counter(widths)[widths[0]] / len(widths)


def _rows(text: str, name: str, delimiter: str, skipped: int) -> Iterator[SheetRow]:
    """Rows with something in them. Raises SheetRefused at the first that can't be read."""
    before = text.count("\n", 0, skipped)
    lines = re.split(r"(?<=\n)|(?<=\r)(?!\n)", text[skipped:])
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    begins, number = before + 1, 0
    csv.field_size_limit(max(csv.field_size_limit(), LARGEST))
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                number += 1
                _check_size(cells, name, begins, number)
                yield SheetRow(begins, tuple(_tidied(cell) for cell in cells))
            begins = before + reader.line_num + 1
    except csv.Error as wrong:
        said = f"a quote that begins here isn't closed, or stands within a cell ({wrong})"
        raise _refusal(name, begins, said) from wrong


def _check_size(cells: list[str], name: str, line: int, number: int) -> None:
    while cells and not cells[-1].strip():
        cells.pop()  # spreadsheets pad rows to the widest
    if number > MOST_ROWS + 1:
        raise _refusal(name, line, f"bring at most {MOST_ROWS} rows at a time")
    if len(cells) > MOST_COLUMNS:
        mend = f"this row has {len(cells)} columns; bring at most {MOST_COLUMNS}"
        raise _refusal(name, line, mend)
    size = sum(map(len, cells))
    if size > LONGEST_ROW:
        mend = f"this row holds {size} characters; a row may hold {LONGEST_ROW}"
        raise _refusal(name, line, f"{mend}, as it is kept whole in the lot's notes")


def _tidied(cell: str) -> str:
    return " ".join(cell.split())
