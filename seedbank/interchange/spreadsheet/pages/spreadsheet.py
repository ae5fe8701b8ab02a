"""Somebody's own list brought in: read, shown beside what it says, taken in once it is right."""

import re
from base64 import b64encode
from collections.abc import AsyncIterator, Iterable
from dataclasses import dataclass, replace
from typing import Annotated, Any, Final

from fastapi import Depends, Request, Response
from starlette.datastructures import FormData, UploadFile

from seedbank.common.catalogue import choice_words, text_of
from seedbank.common.errors import Refused, StockFault
from seedbank.database.queries import Paging
from seedbank.interchange.folder.files import ImportRefused
from seedbank.interchange.spreadsheet.answers import (
    LARGEST,
    MOST_ANSWERS,
    BlankKinds,
    DayOrder,
    Meaning,
    Spreadsheet,
    SpreadsheetConfirmed,
    SpreadsheetPreview,
    SpreadsheetShown,
    YearPairs,
)
from seedbank.interchange.spreadsheet.days import date_choices
from seedbank.interchange.spreadsheet.take_in_spreadsheet import (
    lots_taken_in,
    preview_spreadsheet,
    take_in_spreadsheet,
)
from seedbank.interchange.spreadsheet.text import ENCODINGS, is_workbook
from seedbank.interchange.spreadsheet.text import text_of as decoded
from seedbank.kinds.tables import KindFilter
from seedbank.lots.show_lots import list_kinds
from seedbank.lots.words import origins, seed_forms
from seedbank.science.quantities import Finding
from seedbank.web.pages.form_reading import Filled, FormT
from seedbank.web.pages.page_request import PageRequestDep, Sent
from seedbank.web.pages.page_route import page_router

router = page_router()
PART: Final = 50  # rows shown at a time
LONGEST_TEXT: Final = 1_600_000  # characters a page carries along
_MOST_FIELDS = 900
_FIELD = re.compile(
    r"(columns|headings|words|kinds|others|texts|dates|quantities|amounts)\[(\d{1,3})\]"
)
_LINES = re.compile(r"(\d{1,7})(?:\s*-\s*(\d{1,7}))?")


@dataclass(frozen=True, slots=True)
class Brought:
    """A form with a file: what was sent, the sheet's text, its name and one of ``ENCODINGS``.

    A workbook has no text: it is carried along as ``base64``.
    """

    sent: Sent
    text: str
    name: str
    encoding: str
    base64: str = ""

    def form(self, model: type[FormT]) -> Filled[FormT]:
        """What was sent, as ``model``. Raises Refused: lines to leave out that aren't numbers."""
        listed: dict[str, dict[int, str]] = {}
        for path, value in self.sent.fields.items():
            found = _FIELD.fullmatch(path)
            if found is not None:
                listed.setdefault(found[1], {})[int(found[2])] = value.strip()
        others = {n: typed for n, typed in listed.get("others", {}).items() if typed}
        given: dict[str, Any] = {
            **({"base64": self.base64} if self.base64 else {"text": self.text}),
            "columns": _matched(listed.get("headings", {}), listed.get("columns", {})),
            "kinds": _matched(listed.get("words", {}), listed.get("kinds", {}) | others),
            "dates": _matched(listed.get("texts", {}), listed.get("dates", {})),
            "amounts": _matched(listed.get("quantities", {}), listed.get("amounts", {})),
            "leave_out": _lines(self.sent.get("leave_out")),
        } | ({"name": self.name} if self.name else {})
        return self.sent.form(model, given)

    def without(self, paths: Iterable[str]) -> "Brought":
        """The same, but for what was said in the fields of these paths."""
        names = {re.split(r"[.[]", path)[0] for path in paths}
        fields = {n: text for n, text in self.sent.fields.items() if n.split("[")[0] not in names}
        name = "" if "name" in names else self.name
        return replace(self, sent=replace(self.sent, fields=fields), name=name)


async def _fields(request: Request) -> AsyncIterator[FormData]:
    # A browser's file may be larger than the form says; the body's own limit is the server's.
    async with request.form(
        max_files=1, max_fields=_MOST_FIELDS, max_part_size=4 * LONGEST_TEXT
    ) as form:
        yield form


async def get_brought(
    request: PageRequestDep, form: Annotated[FormData, Depends(_fields)]
) -> Brought:
    """The form that came; a file in it is read no further than a sheet may be long.

    Raises ImportRefused: the file is no text. Refused: it is longer than a page can carry.
    """
    fields = {name: value for name, value in form.multi_items() if isinstance(value, str)}
    sent = Sent(request, fields)
    text, name, encoding = sent.fields.get("text", ""), sent.get("name"), sent.get("encoding")
    base64 = sent.get("base64")
    encoding = encoding if encoding in ENCODINGS else ""
    file = form.get("file")
    if isinstance(file, UploadFile) and file.filename:
        name = "".join(c for c in file.filename if c.isprintable())[-80:]
        content = await file.read(LARGEST + 1)
        if is_workbook(content):
            text, encoding, base64 = "", "", b64encode(content).decode()
        else:
            (text, encoding), base64 = decoded(content, name), ""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    characters = len(text) + len(base64)
    if characters > LONGEST_TEXT:
        raise Refused("sheet-too-long", "file", name, most=LONGEST_TEXT, characters=characters)
    return Brought(sent, text, name, encoding, base64)


BroughtDep = Annotated[Brought, Depends(get_brought)]


@router.get("/import")
def ask(request: PageRequestDep) -> Response:
    """Where to choose a file, or paste rows."""
    return request.show("interchange/spreadsheet/pages/import.html", **_nothing_read())


@router.get("/import/taken")
def taken(request: PageRequestDep) -> Response:
    """The lots that a list became, from the record itself."""
    asked = request.http.query_params
    lots = lots_taken_in(request.session, asked.get("from", ""), asked.get("to", ""))
    return request.show("interchange/spreadsheet/pages/import_taken.html", lots=lots, part=PART)


@router.post("/import")
def read(brought: BroughtDep) -> Response:
    """What was read of each row, and what is made of it; nothing is kept."""
    if not brought.text.strip() and not brought.base64:
        errors = {"file": text_of(Finding("no-sheet-brought"), brought.sent.request.local)}
        return brought.sent.request.show(
            "interchange/spreadsheet/pages/import.html", 422, **_nothing_read(Filled({}, errors))
        )
    return _page(brought, None, 200)


@router.post("/import/take-in")
def take_in(brought: BroughtDep) -> Response:
    """Take in what was shown, and go to the lots."""
    request = brought.sent.request

    def action(form: SpreadsheetConfirmed) -> str:
        done = take_in_spreadsheet(request.session, form, today=request.today, now=request.now)
        lots = done.lots or done.before
        if not lots:
            raise Refused("no-row-left-to-take-in", "leave_out", "")
        return f"/import/taken?from={lots[0].code}&to={lots[-1].code}"

    def again(filled: Filled[SpreadsheetConfirmed], status: int) -> Response:
        return _page(brought, filled, status)

    try:
        filled = brought.form(SpreadsheetConfirmed)
    except Refused as fault:
        return _page(
            brought, Filled(brought.sent.fields).faulted(fault, brought.sent.request.local), 422
        )
    return brought.sent.act(filled, action, again)


def _page(brought: Brought, refused: Filled[Any] | None, status: int) -> Response:
    """The sheet as it is read now, with what was refused of it, if anything was.

    What is wrong with what was said of the sheet is told, and the sheet read without it.
    """
    wrong, left = dict(refused.errors) if refused else {}, brought
    while True:
        try:
            filled = left.form(Spreadsheet)
            preview = None if filled.form is None else _preview(brought, filled.form)
        except ImportRefused as fault:
            problems = [one.text_for(brought.sent.request.local) for one in fault.problems]
            return _shown(brought, Filled(brought.sent.fields), None, problems, 422)
        except StockFault as fault:
            filled, preview = Filled().faulted(fault, brought.sent.request.local), None
        wrong = {**filled.errors, **wrong}
        less = left.without(filled.errors)
        if preview is not None or less == left:
            return _shown(brought, Filled(brought.sent.fields, wrong), preview, [], status)
        left, status = less, max(status, 422)


def _preview(brought: Brought, form: Spreadsheet) -> SpreadsheetPreview:
    request = brought.sent.request
    asked = SpreadsheetShown(
        **form.model_dump(exclude_none=True), unclear_first=True, most_rows=_shown_of(brought)
    )
    return preview_spreadsheet(request.session, asked, today=request.today)


def _shown_of(brought: Brought) -> int:
    typed = brought.sent.get("shown")
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 6 else PART


def _shown(
    brought: Brought,
    filled: Filled[Any],
    preview: SpreadsheetPreview | None,
    problems: list[str],
    status: int,
) -> Response:
    request = brought.sent.request
    kinds = list_kinds(request.session, KindFilter(), Paging(200)).items
    words = _asked(brought, preview, "kinds", "words")
    texts = _asked(brought, preview, "dates", "texts")
    return request.show(
        "interchange/spreadsheet/pages/import.html",
        status,
        filled=filled,
        preview=preview,
        problems=problems,
        rows=[] if preview is None else preview.rows,
        asked={(one.field, one.about): one for one in (preview.questions if preview else ())},
        shown=_shown_of(brought),
        part=PART,
        brought=brought,
        encoding=text_of(Finding("sheet-encoding", {"choice": brought.encoding})),
        meanings=choice_words("sheet-meaning", Meaning),
        seed_forms=seed_forms(),
        orders=choice_words("sheet-order", DayOrder),
        origins=origins(),
        kinds=kinds,
        kind_names={one.slug: one.name for one in kinds},
        words=words,
        quantities=_asked(brought, preview, "amounts", "quantities"),
        pairs=choice_words("sheet-pair", YearPairs),
        blanks=choice_words("sheet-blank", BlankKinds),
        texts=[
            (
                text,
                answer,
                dict.fromkeys([*date_choices(text, request.today), *filter(None, [answer])]),
            )
            for text, answer in texts
        ],
    )


def _asked(
    brought: Brought, preview: SpreadsheetPreview | None, field: str, named: str
) -> list[tuple[str, str]]:
    """What was asked before, in its order, and then what is asked now; each with its answer."""
    fields = brought.sent.fields
    places = range(MOST_ANSWERS)
    given = {fields.get(f"{named}[{n}]", ""): brought.sent.get(f"{field}[{n}]") for n in places}
    given.pop("", None)
    new = [one.about for one in (preview.questions if preview else ()) if one.field == field]
    return list((given | {one: given.get(one, "") for one in new}).items())[:MOST_ANSWERS]


def _nothing_read(filled: Filled[Any] | None = None) -> dict[str, Any]:
    return {"filled": filled or Filled(), "preview": None, "problems": [], "brought": None}


def _matched(names: dict[int, str], values: dict[int, str]) -> dict[str, str]:
    return {name: values[n] for n, name in names.items() if name and values.get(n)}


def _lines(typed: str) -> list[int]:
    """Lines such as ``7, 9-12``. Raises Refused."""
    lines: set[int] = set()
    for piece in filter(None, (one.strip() for one in typed.split(","))):
        found = _LINES.fullmatch(piece)
        if found is None or int(found[2] or found[1]) - int(found[1]) > 2000:
            raise Refused("no-line", "leave_out", piece, piece=piece[:40])
        lines.update(range(int(found[1]), int(found[2] or found[1]) + 1))
    return sorted(lines)
