"""Invented lists as people have them, written down in ``messy_lists/*.txt``, and a scorer.

A list begins with ``=== name: what is odd about it``, then ``file:``, ``format:`` (``csv``, with
its delimiter and encoding, ``xlsx`` or ``ods``), ``sheet:`` for each sheet, what its owner would
``answer:``, and the most questions it may ask (``limit:``). Its rows stand as they are in the
file where a ``delimiter:`` is named, else with cells parted by `` | ``; in a workbook digits are
numbers, ``2021-03-14`` is a date, ``85%`` a share, and ``^`` is merged with the cell above.

After `` -> `` stands what the row means; after `` => `` too, but nobody can know it without asking.
"""

import csv
import io
import re
import zipfile
from base64 import b64encode
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from openpyxl import Workbook
from sqlmodel import Session

from seedbank.interchange.spreadsheet.answers import (
    SheetRowAnswer,
    Spreadsheet,
    SpreadsheetPreview,
)
from seedbank.interchange.spreadsheet.take_in_spreadsheet import preview_spreadsheet
from seedbank.interchange.spreadsheet.text import SheetRefused

FOLDER = Path(__file__).parent / "messy_lists"
_TOLD = re.compile(r"(file|format|delimiter|answer|sheet|limit): (.*)")
_MEANS = re.compile(r"\s*(->|=>) ([^;|]*(?:;.*)?)$")


class Outcome(StrEnum):
    """How a row was read; ``missed``: left unknown, or asked without the right answer."""

    RIGHT = "right"
    ASKED = "asked"
    MISSED = "missed"
    WRONG = "wrong"


@dataclass
class Meant:
    """What a row means; ``{}`` where it is no lot but the heading of a section."""

    line: int
    text: str
    must_ask: bool
    values: dict[str, str]


@dataclass
class MessyList:
    name: str
    file: str = "list.csv"
    format: str = "csv"
    delimiter: str = ""
    limit: int = 99
    answers: list[tuple[str, str, str]] = field(default_factory=list)
    sheets: list[tuple[str, list[str]]] = field(default_factory=list)
    meant: list[Meant] = field(default_factory=list)

    def content(self) -> bytes:
        """The file, as its program would write it."""
        form, *more = self.format.split()
        if form == "xlsx":
            return _xlsx(self.sheets)
        if form == "ods":
            return _ods(self.sheets)
        encoding = more[-1] if more else "utf-8"
        rows = self.sheets[0][1]
        if self.delimiter:
            text = "\r\n".join(rows) + "\r\n"
        else:
            out = io.StringIO()
            csv.writer(out, delimiter=more[0] if len(more) > 1 else ",").writerows(
                map(_cells, rows)
            )
            text = out.getvalue()
        return text.encode(encoding)


def all_lists() -> list[MessyList]:
    return [one for path in sorted(FOLDER.glob("*.txt")) for one in _lists(path.read_text("utf-8"))]


def _lists(text: str) -> list[MessyList]:
    found = []
    for block in re.split(r"^=== ", text, flags=re.MULTILINE)[1:]:
        title, *lines = block.rstrip("\n").split("\n")
        one = MessyList(title.split(":")[0])
        for line in lines:
            told = _TOLD.fullmatch(line)
            if told is not None:
                _tell(one, told[1], told[2])
            else:
                _add_row(one, line)
        found.append(one)
    return found


def _tell(one: MessyList, what: str, told: str) -> None:
    if what == "answer":
        asked, answer = told.split(" = ")
        of, _, about = asked.partition(" ")
        one.answers.append((of, about, answer))
    elif what == "sheet":
        one.sheets.append((told, []))
    else:
        setattr(one, what, int(told) if what == "limit" else told)


def _add_row(one: MessyList, line: str) -> None:
    if not one.sheets:
        one.sheets.append(("", []))
    means = _MEANS.search(line)
    one.sheets[-1][1].append(line[: means.start()] if means else line)
    if means is None:
        return
    at = sum(len(rows) for _, rows in one.sheets)
    first, *rest = (piece.strip() for piece in means[2].split(";"))
    values: dict[str, str] = {}
    if first != "section":
        kind, _, variety = first.partition(": ")
        values = {"kind": kind, "variety": variety}
        values |= {name: value for name, _, value in (piece.partition(" ") for piece in rest)}
    one.meant.append(Meant(at, line, means[1] == "=>", values))


def _cells(row: str) -> list[str]:
    return [cell.strip() for cell in row.split("|")]


def _typed(cell: str) -> str | float | date:
    if re.fullmatch(r"\d+(\.\d+)?", cell):
        return float(cell) if "." in cell else int(cell)
    return date.fromisoformat(cell) if re.fullmatch(r"\d{4}-\d\d-\d\d", cell) else cell


def _xlsx(sheets: list[tuple[str, list[str]]]) -> bytes:
    book = Workbook()
    book.remove(book.active)
    for name, rows in sheets:
        sheet = book.create_sheet(name)
        for y, row in enumerate(rows, 1):
            for x, text in enumerate(_cells(row), 1):
                if text == "^":
                    continue
                cell = sheet.cell(y, x)
                share = re.fullmatch(r"(\d+)%", text)
                cell.value = int(share[1]) / 100 if share else _typed(text) if text else None
                if share:
                    cell.number_format = "0%"
        _merge(sheet, rows)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _merge(sheet: Any, rows: list[str]) -> None:
    begins = 0
    for y, row in enumerate([*rows, ""], 1):
        if _cells(row)[0] == "^":
            begins = begins or y - 1
        elif begins:
            sheet.merge_cells(start_row=begins, end_row=y - 1, start_column=1, end_column=1)
            begins = 0
    if rows and not any(_cells(rows[0])[1:]):
        sheet.merge_cells("A1:C1")


def _ods(sheets: list[tuple[str, list[str]]]) -> bytes:
    def cell(text: str) -> str:
        value = _typed(text)
        if isinstance(value, date):
            told = f'office:value-type="date" office:date-value="{text}"'
        elif isinstance(value, str):
            told = 'office:value-type="string"'
        else:
            told = f'office:value-type="float" office:value="{text}"'
        if not text:
            return "<table:table-cell/>"
        return f"<table:table-cell {told}><text:p>{escape(text)}</text:p></table:table-cell>"

    tables = "".join(
        f'<table:table table:name="{escape(name)}">'
        + "".join(
            f"<table:table-row>{''.join(map(cell, _cells(row)))}</table:table-row>" for row in rows
        )
        + "</table:table>"
        for name, rows in sheets
    )
    spaces = "".join(
        f' xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
        for name in ("office", "table", "text")
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content{spaces} '
        f'office:version="1.2"><office:body><office:spreadsheet>{tables}'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("content.xml", content)
        entry = '<manifest:file-entry manifest:full-path="{}" manifest:media-type="{}"/>'
        kept = [
            ("/", "application/vnd.oasis.opendocument.spreadsheet"),
            ("content.xml", "text/xml"),
        ]
        packed.writestr(
            "META-INF/manifest.xml",
            "<manifest:manifest "
            'xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
            + "".join(entry.format(*one) for one in kept)
            + "</manifest:manifest>",
        )
    return out.getvalue()


@dataclass
class Score:
    """How each row of a list was read, what was read otherwise, and what was asked."""

    of: MessyList
    rows: list[tuple[Meant, Outcome, str]]
    questions: list[Any]
    stray: list[int]


def score(session: Session, one: MessyList, today: date) -> Score:
    """Read a list, answer what it asks as its owner would, and compare each row."""
    form: dict[str, Any] = {"name": one.file, "base64": b64encode(one.content()).decode()}
    try:
        first = preview_spreadsheet(session, Spreadsheet.model_validate(form), today=today)
    except SheetRefused as refused:
        return Score(one, [(m, Outcome.MISSED, str(refused)) for m in one.meant], [], [])
    answered = form | _answers(one, first)
    then = preview_spreadsheet(session, Spreadsheet.model_validate(answered), today=today)
    before = {row.line: row for row in first.rows}
    after = {row.line: row for row in then.rows}
    rows = [(m, *_outcome(m, before.get(m.line), after.get(m.line))) for m in one.meant]
    lots = {m.line for m in one.meant if m.values}
    stray = [row.line for row in first.rows if row.line not in lots]
    return Score(one, rows, first.questions, stray)


def _answers(one: MessyList, preview: SpreadsheetPreview) -> dict[str, Any]:
    """What the owner would say to each question, where that is among its choices."""
    said: dict[str, Any] = {}
    for asked in preview.questions:
        for of, about, answer in one.answers:
            if of != asked.field or answer not in asked.choices:
                continue
            if not about:
                said[of] = answer
            elif about == asked.about:
                said.setdefault(of, {})[about] = answer
    return said


def _outcome(
    meant: Meant, before: SheetRowAnswer | None, after: SheetRowAnswer | None
) -> tuple[Outcome, str]:
    if not meant.values:
        return (Outcome.RIGHT, "") if before is None else (Outcome.WRONG, "taken for a lot")
    if before is None or after is None:
        return Outcome.MISSED, "no row"
    if not before.in_the_way:
        worst, told = _compared(meant, before)
        if worst is Outcome.RIGHT and meant.must_ask:
            return Outcome.WRONG, "guessed"
        return worst, told
    worst, told = _compared(meant, after)
    if after.in_the_way:
        asked = [f"{c.heading} “{c.text}”: {c.said}" for c in after.cells if c.sure in _OPEN]
        return Outcome.MISSED, "; ".join(asked)
    return (Outcome.ASKED, "") if worst is Outcome.RIGHT else (worst, f"answered, {told}")


_OPEN = ("asked", "wrong")


def _compared(meant: Meant, row: SheetRowAnswer) -> tuple[Outcome, str]:
    worst, told = Outcome.RIGHT, []
    for name, wanted, read, unread in _fields(meant.values, row):
        if read == wanted:
            continue
        told.append(f"{name} {read} for {wanted}")
        worst = Outcome.MISSED if unread and worst is not Outcome.WRONG else Outcome.WRONG
    return worst, "; ".join(told)


def _fields(meant: dict[str, str], row: Any) -> list[tuple[str, str, str, bool]]:
    """Each field: its name, what is meant, what was read, and whether that is nothing."""
    found = []

    def add(name: str, wanted: str, read: object, nothing: object = None) -> None:
        text = "" if read is None else str(read)
        if wanted and text.startswith(wanted) and name in ("came", "by", "packed", "tested"):
            text = wanted  # as rough as it is written
        found.append((name, wanted, text, read is None or read == nothing))

    add("kind", meant["kind"], row.kind)
    add("variety", meant["variety"], row.variety, "not named")
    found.append(_amount(meant, row))
    year = None if row.harvest_year is None else f"{row.harvest_year}"
    add("harvest", meant.get("harvest", ""), year and year + "?" * row.harvest_estimated)
    add("came", meant.get("came", ""), row.acquired_on)
    add("by", meant.get("by", ""), row.sow_by)
    for name, of in _PLAIN.items():
        value = getattr(row, of, None)
        add(name, meant.get(name, ""), int(value) if isinstance(value, float) else value)
    add("treated", meant.get("treated", ""), "yes" if row.treated else None)
    add("place", meant.get("place", ""), row.place or None)
    add("donor", meant.get("donor", ""), row.donor or None)
    if meant.get("origin"):
        add("origin", meant["origin"], row.origin.value, "bought")
    return found


_PLAIN = {
    "season": "packed_for", "germ": "printed_germination_pct", "tested": "printed_test_on",
    "packed": "packed_on", "form": "seed_form", "gen": "generation", "keepers": "other_keepers",
}  # fmt: skip


def _amount(meant: dict[str, str], row: Any) -> tuple[str, str, str, bool]:
    """``seeds 12`` are counted, ``seeds ~`` estimated; ``doubt`` is that or some, never counted."""
    some = row.seeds is None and row.grams is None
    if row.grams is not None:
        read = f"grams {row.grams:.4g}"
    elif some or row.seeds == 0:
        read = "some" if some else "none"
    else:
        read = "seeds ~" if row.seeds_se else f"seeds {row.seeds}"
    wanted = next((f"{n} {meant[n]}" for n in ("seeds", "grams") if n in meant), "")
    wanted = wanted or next((n for n in ("none", "doubt") if n in meant), "some")
    if wanted == "doubt" and read in ("some", "seeds ~"):
        read = "doubt"
    return "amount", wanted, read, some
