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
from seedbank.interchange.spreadsheet.answers import LARGEST, MOST_COLUMNS
from seedbank.interchange.spreadsheet.words import accented_words
from seedbank.interchange.spreadsheet.workbooks import WorkbookError, tables_of
from seedbank.science.quantities import Finding, Value

MOST_ROWS: Final = 50_000
LONGEST_ROW: Final = 3_000  # characters: a row is kept whole in its lot's notes
_MOST_PROBLEMS = 100
_DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_BINARY = {b"\xd0\xcf\x11\xe0": "old-workbook", b"%PDF": "pdf"}
_GUESSED = {
    "cp1252": "windows-1252", "mac_roman": "mac-roman", "cp850": "dos-850",
    "cp1250": "windows-1250",
}  # fmt: skip
_LOOKED_AT = 20_000  # bytes
ENCODINGS: Final = (
    "utf-8", "utf-8-marked", "utf-16", "utf-16-marked", *_GUESSED.values(),
)  # fmt: skip
"""How a file's text may have been read; ``marked`` by the byte order mark it begins with."""
# Controls, and marks that turn the direction of what follows: a name could show as another.
_UNWRITTEN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\u202a-\u202e\u2066-\u2069\ufffe\uffff]")
_SEP = re.compile(r"sep=([,;|\t])", re.IGNORECASE)


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
    """A sheet of a file, by its title in a workbook, and its rows, headings among them.

    Lines are counted on from sheet to sheet, from ``begins`` on. ``said`` tells what was assumed.
    """

    name: str
    rows: tuple[SheetRow, ...]
    said: tuple[Finding, ...]
    title: str = ""
    begins: int = 0


def bytes_of(brought: IO[bytes]) -> bytes:
    """What is brought, but never more than a byte over the limit."""
    return brought.read(LARGEST + 1)


def read_sheets(content: bytes, name: str) -> tuple[Sheet, ...]:
    """The sheets of a workbook, or the one of a delimited text file, with something in them.

    Raises SheetRefused: what is wrong, by line.
    """
    if not is_workbook(content):
        return (_read_text(content, name),)
    if len(content) > LARGEST:
        raise _refusal("file-too-large", name, 0, most=LARGEST)
    try:
        tables = tables_of(content, most_rows=MOST_ROWS, most_columns=MOST_COLUMNS)
    except WorkbookError as fault:
        raise _refusal(fault.code, name, 0, **fault.values) from fault
    sheets, begins, number = [], 0, 0
    for title, table in tables:
        rows = []
        for line, row in enumerate(table, begins + 1):
            cells = [_tidied(cell) for cell in row]
            if any(cells):
                number += 1
                _check_characters(" ".join(cells), name, line)
                _check_size(cells, name, line, number)
                rows.append(SheetRow(line, tuple(cells)))
        if rows:
            sheets.append(Sheet(name, tuple(rows), (), title, begins))
        begins += len(table)
    if not sheets:
        raise _refusal("sheet-no-rows", name, 1)
    return tuple(sheets)


def is_workbook(content: bytes) -> bool:
    return content.startswith(b"PK\x03\x04")


def _read_text(content: bytes, name: str) -> Sheet:
    text, encoding = text_of(content, name)
    _check_characters(text, name)
    delimiter, skipped = _delimiter(text)
    rows = list(_rows(text, name, delimiter, skipped))
    if len(rows) < 2 and not (rows and len(rows[0].cells) > 1):
        raise _refusal("sheet-no-rows", name, 1)
    apart = Finding("sheet-cells-apart", {"delimiter": _DELIMITERS[delimiter]})
    read = Finding("sheet-encoding", {"choice": encoding})
    return Sheet(name, tuple(rows), (read, apart))


def text_of(content: bytes, name: str) -> tuple[str, str]:
    """The text of a file, and how it was read (``ENCODINGS``). Raises SheetRefused: no text."""
    if is_workbook(content):
        raise _refusal("sheet-no-csv", name, 0, kind="workbook")
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
            guessed = _guessed(content)
            try:
                return content.decode(guessed), _GUESSED[guessed]
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


def _guessed(content: bytes) -> str:
    """Which old encoding of one byte a character it is: that in which the most words are known ones
    of lists, then that in which the fewest characters are no letters; Windows' where none is known.
    """
    lines = [line for line in content.splitlines() if not line.isascii()]
    beyond = b"\n".join(lines)[:_LOOKED_AT]

    def fit(encoding: str) -> tuple[int, int]:
        text = beyond.decode(encoding, "replace")
        words = {word for word in re.findall(r"[^\W\d_]+", text.casefold()) if not word.isascii()}
        others = sum(not one.isascii() and not one.isalpha() for one in text)
        return len(words & accented_words()), -others

    best = max(_GUESSED, key=fit)
    return best if fit(best)[0] else "cp1252"


def _check_characters(text: str, name: str, first_line: int = 1) -> None:
    problems = []
    for found in _UNWRITTEN.finditer(text):
        line = first_line + text.count("\n", 0, found.start())
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
    fits = {one: _fit(sample, one) for one in _DELIMITERS}
    if not any(fits.values()):  # a column alone, in which a comma parts nothing
        parts = (one for one in _DELIMITERS if re.search(rf"{re.escape(one)}(?!\s)", text))
        return next(parts, None) or next((one for one in "\t|;" if one not in text), ","), 0
    return max(fits, key=lambda one: fits[one]), 0


def _fit(sample: list[str], delimiter: str) -> float:
    """How well a delimiter fits: columns times the share of lines that have as many."""
    try:
        widths = [len(cells) for cells in csv.reader(sample, delimiter=delimiter) if cells]
    except csv.Error:
        return 0.0
    usual = max(Counter(widths).items(), key=lambda one: one[::-1]) if widths else (0, 0)
    width, lines = usual
    return width * lines / len(widths) if width > 1 else 0.0


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
