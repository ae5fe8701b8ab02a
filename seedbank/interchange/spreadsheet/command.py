"""``seedbank import MY.csv``: somebody's own spreadsheet, shown as read; ``--yes`` takes it in."""

from base64 import b64encode
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Any

import typer

from seedbank.cli.command_context import settings_for
from seedbank.cli.screen import bullets, heading, screen, words
from seedbank.common.errors import Refused
from seedbank.interchange.descriptors.rules import descriptors
from seedbank.interchange.spreadsheet.answers import (
    DayOrder,
    Meaning,
    QuestionAnswer,
    SheetRowAnswer,
    Spreadsheet,
    SpreadsheetConfirmed,
    SpreadsheetPreview,
    Sure,
)
from seedbank.interchange.spreadsheet.take_in_spreadsheet import (
    preview_spreadsheet,
    take_in_spreadsheet,
)
from seedbank.interchange.spreadsheet.text import bytes_of, read_sheet
from seedbank.lots.tables.lots import Origin
from seedbank.upkeep.command_session import opened

_SHEETS = frozenset({".csv", ".txt", ".tsv", ".xlsx", ".xls", ".ods"})
_MEANINGS = ", ".join(Meaning)
YesOption = Annotated[bool, typer.Option("--yes", help="Of a sheet: take in what is shown.")]
MapOption = Annotated[
    list[str] | None,
    typer.Option(
        "--map", help=f"Of a sheet: what a column is, as Bought=acquired_on ({_MEANINGS})."
    ),
]
KindOption = Annotated[
    list[str] | None, typer.Option("--kind", help="Of a sheet: the kind meant, as neep=turnip.")
]
DatesOption = Annotated[
    DayOrder | None, typer.Option(help="Of a sheet: what comes first in dates like 12/3/2019.")
]
MeantOption = Annotated[
    list[str] | None,
    typer.Option("--meant", help="Of a sheet: what a date means, as '2009-10=October 2009'."),
]
PacketOption = Annotated[
    int | None, typer.Option(help="Of a sheet: seeds in a packet, where it doesn't say.")
]
OriginOption = Annotated[
    Origin, typer.Option(help="Of a sheet: how the seed came, where it doesn't say.")
]
LeaveOutOption = Annotated[
    list[int] | None, typer.Option("--leave-out", help="Of a sheet: a line not to take in.")
]


def is_sheet(file: Path) -> bool:
    """Is it somebody's own sheet, rather than an archive or records of passport descriptors?"""
    if not file.is_file() or file.suffix.lower() not in _SHEETS:
        return False
    with file.open("rb") as opened_file:
        first = opened_file.read(4000).removeprefix(b"\xef\xbb\xbf").splitlines()[:1]
    names = [name.strip(b' "') for name in first[0].split(b",")] if first else []
    return not any(name.decode("ascii", "replace") in descriptors() for name in names)


def spreadsheet_of(
    file: Path,
    columns: Iterable[str] | None,
    kinds: Iterable[str] | None,
    dates: DayOrder | None,
    meant: Iterable[str] | None,
    packet: int | None,
    origin: Origin,
    leave_out: list[int] | None,
) -> Spreadsheet:
    """The sheet and what was typed of it. Raises SheetRefused: it can't be read, by line."""
    with file.open("rb") as brought:
        content = bytes_of(brought)
    read_sheet(content, file.name)  # before it is copied about: it may be too large
    form: dict[str, Any] = {
        "name": file.name,
        "base64": b64encode(content).decode(),
        "columns": _pairs("map", columns),
        "kinds": _pairs("kind", kinds),
        "day_order": dates,
        "dates": _pairs("meant", meant),
        "packet_seeds": packet,
        "origin": origin,
        "leave_out": leave_out or [],
    }
    return Spreadsheet.model_validate(form)


def show_or_take_in(form: Spreadsheet, *, database: str | None, yes: bool, json: bool) -> None:
    """Show what was read; take it in only with ``yes``. Raises SheetRefused, Refused."""
    with opened(settings_for(database), begins=True, keeps=yes) as collection:
        session, today = collection.session, collection.today
        preview = preview_spreadsheet(session, form, today=today)
        if not yes:
            print(preview.model_dump_json(indent=2)) if json else _show(preview)
            return
        confirmed = {**form.model_dump(exclude={"text"}), "digest": preview.digest}
        taken = take_in_spreadsheet(
            session,
            SpreadsheetConfirmed.model_validate(confirmed),
            today=today,
            now=collection.now,
        )
    if json:
        print(taken.model_dump_json(indent=2))
        return
    rows = {row.line: row for row in preview.rows}
    for lot in taken.lots:
        screen().print(f"Lot {lot.code}, line {lot.line}: {_lot(rows[lot.line])}")
    for lot in taken.before:
        screen().print(f"Line {lot.line} was taken in before, as lot {lot.code}.")
    screen().print(f"Taken in: {len(taken.lots)} lots.")


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
    say(f"{preview.name}, as it was read. Nothing is taken in yet.")
    bullets(preview.said)
    heading("Columns")
    bullets(f"{one.heading}: {one.meaning.value} ({one.said})" for one in preview.columns)
    heading("Rows")
    for row in preview.rows:
        say(f"Line {row.line}: {_lot(row)}{_state(row)}")
        bullets([*_told(row), *row.warnings])
    if preview.questions:
        heading("To be answered")
        bullets(f"{one.about}: {one.said} ({_answer(one)})" for one in preview.questions)
    if preview.sources:
        heading("What estimates rest on")
        bullets(preview.sources)
    say()
    if preview.in_the_way:
        say(f"{preview.in_the_way} rows have to be answered, mended or left out first.")
    elif preview.lots:
        say(f"Add --yes to take in {preview.lots} lots.")
    else:
        say("There is nothing new.")


def _lot(row: SheetRowAnswer) -> str:
    parts = [f"{row.variety} ({row.kind or 'no kind'})"]
    if row.seeds is not None:
        error = f" (give or take {round(row.seeds_se) or row.seeds_se:g})" if row.seeds_se else ""
        parts.append(f"{row.seeds} seeds{error}")
    elif row.grams is not None:
        parts.append(f"{row.grams:g} g")
    else:
        parts.append(words("amount", seeds=None))
    if row.harvest_year is not None:
        parts.append(f"harvest of {row.harvest_year}{'?' if row.harvest_estimated else ''}")
    return ", ".join(parts)


def _state(row: SheetRowAnswer) -> str:
    if row.taken_in_as is not None:
        return f" – taken in before, as lot {row.taken_in_as}"
    if row.in_the_way:
        return " – can't be taken in yet"
    return "" if row.takes_in else " – left out"


def _told(row: SheetRowAnswer) -> list[str]:
    """What was read otherwise than it stands there."""
    return [
        f"{one.heading} “{one.text}”: {one.said}" if one.text else f"{one.heading}: {one.said}"
        for one in row.cells
        if one.sure is not Sure.WRITTEN
    ]


def _answer(one: QuestionAnswer) -> str:
    if one.field == "day_order":
        return "--dates day-first or month-first"
    if one.field == "dates":
        return " or ".join(f"--meant '{one.about}={choice}'" for choice in one.choices)
    return "--kind WORDS=KIND"
