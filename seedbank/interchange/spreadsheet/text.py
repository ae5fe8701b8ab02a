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
from seedbank.science.quantities import Finding, Value

MOST_ROWS: Final = 2_000
MOST_COLUMNS: Final = 60
LONGEST_ROW: Final = 3_000  # characters: a row is kept whole in its lot's notes
_MOST_PROBLEMS = 100
_DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab"}
_BINARY = {b"PK\x03\x04": "workbook", b"\xd0\xcf\x11\xe0": "old-workbook", b"%PDF": "pdf"}
ENCODINGS: Final = ("utf-8", "utf-8-marked", "utf-16", "utf-16-marked", "windows-1252")
"""How a file's text may have been read; ``marked`` by the byte order mark it begins with."""
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
    said: tuple[Finding, ...]


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
        raise _refusal("sheet-no-rows", name, 1)
    apart = Finding("sheet-cells-apart", {"delimiter": _DELIMITERS[delimiter]})
    read = Finding("sheet-encoding", {"choice": encoding})
    return Sheet(name, rows[0], tuple(rows[1:]), (read, apart))


def text_of(content: bytes, name: str) -> tuple[str, str]:
    """The text of a file, and how it was read (``ENCODINGS``). Raises SheetRefused: no text."""
    kind = next((what for magic, what in _BINARY.items() if content.startswith(magic)), None)
    if kind is not None:
        raise _refusal("sheet-no-csv", name, 0, kind=kind)
    if len(content) > LARGEST:
        raise _too_large(content, name)
    return _decoded(content, name)


def _refusal(code: str, name: str, line: int, **values: Value) -> SheetRefused:
    return SheetRefused([ImportProblem(name, line, "", "", Finding(code, values))])


def _too_large(content: bytes, name: str) -> SheetRefused:
    """A file over the limit: the line that makes it so, as far as it was read."""
    lines = content.split(b"\n")
    long = next((n for n, line in enumerate(lines, 1) if len(line) > 4 * LONGEST_ROW), None)
    if long is not None:
        return _refusal("sheet-line-too-long", name, long, most=LONGEST_ROW)
    if len(lines) > MOST_ROWS + 1:
        return _refusal("sheet-too-many-rows", name, MOST_ROWS + 2, most=MOST_ROWS)
    return _refusal("file-too-large", name, len(lines), most=LARGEST)


def _decoded(content: bytes, name: str) -> tuple[str, str]:
    """The text, and how it was read."""
    encoding, read = _encoding(content)
    try:
        return content.decode(encoding), read
    except UnicodeDecodeError as fault:
        wrong = fault
        if encoding == "utf-8":
            try:
                return content.decode("cp1252"), "windows-1252"
            except UnicodeDecodeError as worse:
                wrong = worse
        line = content[: wrong.start].count(b"\n") + 1
        raise _refusal("sheet-no-text", name, line, encoding=wrong.encoding) from wrong


def _encoding(content: bytes) -> tuple[str, str]:
    if content.startswith(b"\xef\xbb\xbf"):
        return "utf-8-sig", "utf-8-marked"
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16", "utf-16-marked"
    head = content[:2000]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    if len(head) >= 8 and max(even, odd) > len(head) // 3 and not min(even, odd):
        return "utf-16-le" if odd else "utf-16-be", "utf-16"
    return "utf-8", "utf-8"


def _check_characters(text: str, name: str) -> None:
    problems = []
    for found in _UNWRITTEN.finditer(text):
        line = text.count("\n", 0, found.start()) + 1
        sign = {"sign": "NUL" if found[0] == "\0" else f"U+{ord(found[0]):04X}"}
        problems.append(ImportProblem(name, line, "", "", Finding("sheet-unseen-sign", sign)))
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
        raise _refusal("sheet-open-quote", name, begins, fault=str(wrong)) from wrong


def _check_size(cells: list[str], name: str, line: int, number: int) -> None:
    while cells and not cells[-1].strip():
        cells.pop()  # spreadsheets pad rows to the widest
    if number > MOST_ROWS + 1:
        raise _refusal("sheet-too-many-rows", name, line, most=MOST_ROWS)
    if len(cells) > MOST_COLUMNS:
        raise _refusal("sheet-too-many-columns", name, line, columns=len(cells), most=MOST_COLUMNS)
    size = sum(map(len, cells))
    if size > LONGEST_ROW:
        raise _refusal("sheet-row-too-long", name, line, characters=size, most=LONGEST_ROW)


def _tidied(cell: str) -> str:
    return " ".join(cell.split())
