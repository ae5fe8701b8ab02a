"""``seedbank import MY.csv`` (or .xlsx, .ods): somebody's own spreadsheet, shown as it was read;
``--yes`` takes it in.
"""

from base64 import b64encode
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Any, Final

import typer
from pydantic import BaseModel

from seedbank.cli.command_context import settings_for
from seedbank.cli.screen import bar, bullets, heading, screen, words
from seedbank.common.errors import Refused
from seedbank.interchange.descriptors.rules import descriptors
from seedbank.interchange.spreadsheet.answers import (
    BlankKinds,
    DayOrder,
    Meaning,
    QuestionAnswer,
    SheetRowAnswer,
    Spreadsheet,
    SpreadsheetConfirmed,
    SpreadsheetPreview,
    SpreadsheetShown,
    Sure,
    YearPairs,
)
from seedbank.interchange.spreadsheet.questions import OF_LIST
from seedbank.interchange.spreadsheet.take_in_spreadsheet import (
    preview_spreadsheet,
    take_in_spreadsheet,
)
from seedbank.interchange.spreadsheet.text import bytes_of, read_sheets
from seedbank.lots.tables.lots import Origin
from seedbank.upkeep.command_session import opened

_SHEETS = frozenset({".csv", ".txt", ".tsv", ".xlsx", ".xls", ".ods"})
_ROWS_SHOWN = 50
_MEANINGS = ", ".join(Meaning)


class SheetOptions(BaseModel):
    """What is said of somebody's own sheet."""

    yes: Annotated[bool, typer.Option("--yes", help="Of a sheet: take in what is shown.")] = False
    columns: Annotated[
        list[str] | None,
        typer.Option(
            "--map", help=f"Of a sheet: what a column is, as Bought=acquired_on ({_MEANINGS})."
        ),
    ] = None
    kinds: Annotated[
        list[str] | None, typer.Option("--kind", help="Of a sheet: the kind meant, as neep=turnip.")
    ] = None
    dates: Annotated[
        DayOrder | None, typer.Option(help="Of a sheet: what comes first in dates like 12/3/2019.")
    ] = None
    meant: Annotated[
        list[str] | None,
        typer.Option(help="Of a sheet: what a date means, as '2009-10=October 2009'."),
    ] = None
    short_dates: Annotated[
        YearPairs | None, typer.Option(help="Of a sheet: what 2009-10 is, a month or two years.")
    ] = None
    blank_kinds: Annotated[
        BlankKinds | None, typer.Option(help="Of a sheet: what a row without a kind is.")
    ] = None
    amounts: Annotated[
        list[str] | None,
        typer.Option("--amount", help="Of a sheet: an amount meant, as '2,500 g=2.5 g'."),
    ] = None
    packet: Annotated[
        int | None, typer.Option(help="Of a sheet: seeds in a packet, where it doesn't say.")
    ] = None
    origin: Annotated[
        Origin, typer.Option(help="Of a sheet: how the seed came, where it doesn't say.")
    ] = Origin.BOUGHT
    leave_out: Annotated[
        list[int] | None, typer.Option("--leave-out", help="Of a sheet: a line not to take in.")
    ] = None


def is_sheet(file: Path) -> bool:
    """Is it somebody's own sheet, rather than an archive or records of passport descriptors?"""
    if not file.is_file() or file.suffix.lower() not in _SHEETS:
        return False
    with file.open("rb") as opened_file:
        first = opened_file.read(4000).removeprefix(b"\xef\xbb\xbf").splitlines()[:1]
    names = [name.strip(b' "') for name in first[0].split(b",")] if first else []
    return not any(name.decode("ascii", "replace") in descriptors() for name in names)


def spreadsheet_of(file: Path, options: SheetOptions) -> Spreadsheet:
    """The sheet and what was typed of it. Raises SheetRefused: it can't be read, by line."""
    with file.open("rb") as brought:
        content = bytes_of(brought)
    read_sheets(content, file.name)  # before it is copied about: it may be too large
    form: dict[str, Any] = {
        "name": file.name,
        "base64": b64encode(content).decode(),
        "columns": _pairs("map", options.columns),
        "kinds": _pairs("kind", options.kinds),
        "day_order": options.dates,
        "dates": _pairs("meant", options.meant),
        "short_dates": options.short_dates,
        "blank_kinds": options.blank_kinds,
        "amounts": _pairs("amount", options.amounts),
        "packet_seeds": options.packet,
        "origin": options.origin,
        "leave_out": options.leave_out or [],
    }
    return Spreadsheet.model_validate(form)


def show_or_take_in(form: Spreadsheet, *, database: str | None, yes: bool, json: bool) -> None:
    """Show what was read; take it in only with ``yes``. Raises SheetRefused, Refused."""
    with opened(settings_for(database), begins=True, keeps=yes) as collection:
        session, today = collection.session, collection.today
        with bar(words("taking-in", choice="reading")) as tell:
            asked = SpreadsheetShown(**form.model_dump(exclude={"text"}), unclear_first=not json)
            preview = preview_spreadsheet(session, asked, today=today, on_progress=tell)
        if not yes:
            print(preview.model_dump_json(indent=2)) if json else _show(preview)
            return
        confirmed = {**form.model_dump(exclude={"text"}), "digest": preview.digest}
        with bar(words("taking-in", choice="list")) as tell:
            taken = take_in_spreadsheet(
                session,
                SpreadsheetConfirmed.model_validate(confirmed),
                today=today,
                now=collection.now,
                on_progress=tell,
            )
    if json:
        print(taken.model_dump_json(indent=2))
        return
    rows = {row.line: row for row in preview.rows}
    for lot in taken.lots:
        made = _lot(rows[lot.line])
        screen().print(words("sheet-lot-made", lot=lot.code, line=lot.line, made=made))
    for lot in taken.before:
        screen().print(words("sheet-line-taken-before", line=lot.line, lot=lot.code))
    screen().print(words("sheet-taken-in", lots=len(taken.lots)))


def _pairs(option: str, typed: Iterable[str] | None) -> dict[str, str]:
    pairs = {}
    for one in typed or ():
        name, sign, value = one.rpartition("=")
        if not sign or not name.strip():
            raise Refused("option-not-name-value", f"--{option}", one)
        pairs[name.strip()] = value.strip()
    return pairs


def _show(preview: SpreadsheetPreview) -> None:
    say = screen().print
    say(words("sheet-as-read", file=preview.name))
    bullets(preview.said)
    heading(words("sheet-heading", choice="columns"))
    bullets(f"{one.heading}: {one.meaning.value} ({one.said})" for one in preview.columns)
    heading(words("sheet-heading", choice="rows"))
    say(preview.summary)
    shown = preview.rows[:_ROWS_SHOWN]
    for row in shown:
        say(
            words(
                "sheet-row", line=row.line, lot=_lot(row), state=_state(row), as_lot=row.taken_in_as
            )
        )
        bullets([*_readings(row), *row.warnings])
    if len(preview.rows) > len(shown):
        say(words("sheet-rows-more", rows=len(preview.rows) - len(shown)))
    if preview.questions:
        heading(words("sheet-heading", choice="questions"))
        bullets(f"{one.about}: {one.said} ({_answer(one)})" for one in preview.questions)
    if preview.sources:
        heading(words("sheet-heading", choice="sources"))
        bullets(preview.sources)
    say()
    say(words("sheet-next-step", in_the_way=preview.in_the_way, lots=preview.lots))


def _lot(row: SheetRowAnswer) -> str:
    return words(
        "sheet-lot",
        variety=row.variety,
        kind=row.kind,
        seeds=row.seeds,
        seeds_se=(round(row.seeds_se) or row.seeds_se) or None,
        weight_g=row.grams,
        year=row.harvest_year,
        sure="guess" if row.harvest_estimated else "sure",
    )


def _state(row: SheetRowAnswer) -> str:
    if row.taken_in_as is not None:
        return "before"
    return "in-the-way" if row.in_the_way else "new" if row.takes_in else "left-out"


def _readings(row: SheetRowAnswer) -> list[str]:
    """What was read otherwise than it stands there."""
    return [
        f"{one.heading} “{one.text}”: {one.said}" if one.text else f"{one.heading}: {one.said}"
        for one in row.cells
        if one.sure is not Sure.WRITTEN
    ]


_OPTIONS: Final = {
    "columns": "map", "kinds": "kind", "day_order": "dates", "dates": "meant", "amounts": "amount",
}  # fmt: skip
"""Options that answer a field, where they are called otherwise than it."""


def _answer(one: QuestionAnswer) -> str:
    option = f"--{_OPTIONS.get(one.field, one.field.replace('_', '-'))}"
    if not one.choices:
        return words("sheet-answer-kind")
    if one.field in OF_LIST:
        meant = tuple(f"{option} {choice}" for choice in one.choices)
    else:
        meant = tuple(f"{option} '{one.about}={choice}'" for choice in one.choices)
    return words("sheet-answer", options=meant)
