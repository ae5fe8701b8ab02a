"""Somebody's own spreadsheet looked over beside what is here: what every row would become."""

import hashlib
import json
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from pydantic import TypeAdapter
from sqlmodel import Session, col, func, or_, select

from seedbank.common.errors import Refused
from seedbank.interchange.folder.files import ImportProblem
from seedbank.interchange.spreadsheet.answers import Meaning, Spreadsheet, Sure
from seedbank.interchange.spreadsheet.cells import KnownNames, name_key, plain_form, quoted
from seedbank.interchange.spreadsheet.columns import Columns, columns_of
from seedbank.interchange.spreadsheet.days import (
    OrderRead,
    is_unknown,
    order_of,
    read_harvest,
    year_pairs_of,
)
from seedbank.interchange.spreadsheet.rows import RowRead, Setting, Weights, read_rows
from seedbank.interchange.spreadsheet.text import Sheet, SheetRefused, read_sheets
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.tables.brought_in import BroughtBy, lots_of_rows
from seedbank.lots.tables.lots import Lot
from seedbank.lots.weighing import kind_weight
from seedbank.science.quantities import Finding

DATED: Final = (
    Meaning.HARVESTED, Meaning.ACQUIRED_ON, Meaning.SOW_BY, Meaning.PACKED_ON, Meaning.PRINTED_TEST,
)  # fmt: skip
_TOLD_EVERY = 500  # rows
_LONGEST_SHEET_NAME = 80  # in notes


@dataclass(frozen=True, slots=True)
class SheetLooked:
    """A sheet read: its columns, and what was found of its columns' dates."""

    sheet: Sheet
    columns: Columns
    orders: Mapping[str, OrderRead]


@dataclass(frozen=True, slots=True)
class LookedOver:
    """A list read: its sheets and rows, and what is here of it.

    ``unread`` are titles of sheets that hold no seed, ``headings`` how many rows head a section.
    ``before`` is the lot made of a row earlier, by the row's mark; ``like`` the lots that look like
    one, by line. ``digest`` stands for the list, the owner's word, and all that was read.
    """

    name: str
    sheets: tuple[SheetLooked, ...]
    unread: tuple[str, ...]
    headings: int
    rows: tuple[RowRead, ...]
    before: Mapping[str, str]
    like: Mapping[int, tuple[str, ...]]
    known: KnownNames
    digest: str


def look_over(
    session: Session,
    form: Spreadsheet,
    *,
    today: date,
    on_progress: Callable[[int, int], None] | None = None,
) -> LookedOver:
    """Read the list. Raises SheetRefused: it can't be read, by line. Refused: the form."""
    sheets = read_sheets(form.content, form.name[:_LONGEST_SHEET_NAME])
    known = known_names(session, form)
    _check_dates(form, today)
    looked, unread = [], []
    for sheet in sheets:
        columns = columns_of(sheet, form.columns, today=today, is_kind=known.is_kind)
        if columns is None:
            unread.append(sheet.title)
        else:
            looked.append(SheetLooked(sheet, columns, _orders(columns, form)))
    if not any(one.columns.rows for one in looked):
        first = Finding("sheet-no-rows")
        raise SheetRefused([ImportProblem(sheets[0].name, 1, "", "", first)])
    _check_columns(form, looked)
    weights, times = _Weights(session), Counter[str]()
    read = []
    of = sum(len(one.columns.rows) for one in looked)
    for one in looked:
        setting = _setting(form, one, known, weights, today)
        for row in read_rows(one.columns.rows, setting, times):
            read.append(row)
            if on_progress is not None and not len(read) % _TOLD_EVERY:
                on_progress(len(read), of)
    rows = tuple(read)
    _check_left_out(form, rows)
    return LookedOver(
        sheets[0].name, tuple(looked), tuple(unread), of - len(rows), rows, _before(session, rows),
        _like(session, rows, known), known, _digest(form, looked, rows),
    )  # fmt: skip


def _setting(
    form: Spreadsheet, looked: SheetLooked, known: KnownNames, weights: Weights, today: date
) -> Setting:
    orders = {heading: one.order or form.day_order for heading, one in looked.orders.items()}
    pairs = {
        one.heading: year_pairs_of((text for _, text in looked.columns.cells(place)), today)
        or form.short_dates
        for place, one in enumerate(looked.columns.columns)
        if one.heading in looked.orders
    }
    return Setting(
        sheet=looked.sheet,
        form=form,
        columns=looked.columns.columns,
        known=known,
        weights=weights,
        orders=orders,
        year_pairs=pairs,
        today=today,
    )


def _check_columns(form: Spreadsheet, looked: list[SheetLooked]) -> None:
    """Raises Refused: a column that the form names stands in no sheet."""
    headings = [one.heading for sheet in looked for one in sheet.columns.columns]
    there = {plain_form(one) for one in headings}
    for heading in form.columns:
        if plain_form(heading) not in there:
            shown = ", ".join(quoted(one) for one in headings)
            raise Refused("no-such-column", "columns", heading, headings=shown)


def known_names(session: Session, form: Spreadsheet) -> KnownNames:
    """Kinds and varieties here, with the owner's word on kinds. Raises Refused: no such kind."""
    kinds = {kind.slug: kind.name for kind in session.exec(select(Kind))}
    varieties: dict[str, set[str]] = {}
    named = select(Variety.name, Kind.slug).join(Kind, col(Kind.id) == col(Variety.kind_id))
    for name, slug in session.exec(named):
        varieties.setdefault(name_key(name), set()).add(slug)
    of = {name: frozenset(slugs) for name, slugs in varieties.items()}
    bare = KnownNames(kinds, of, {})
    chosen = {}
    for words, kind in form.kinds.items():
        found = bare.kind(kind)
        if found.slug is None:
            raise Refused("no-such-kind", "kinds", kind, why=found.said)
        chosen[name_key(words)] = found.slug
    return KnownNames(kinds, of, chosen)


class _Weights:
    """Thousand-seed weights of kinds by slug, looked up once."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.found: dict[str, tuple[float | None, float]] = {}

    def __call__(self, slug: str) -> tuple[float | None, float]:
        if slug not in self.found:
            kind = self.session.exec(select(Kind).where(Kind.slug == slug)).one()
            weight = kind_weight(facts_for(self.session, kind))
            self.found[slug] = (None, 0.0) if weight is None else (weight.tsw_g, weight.tsw_se_g)
        return self.found[slug]


def _check_dates(form: Spreadsheet, today: date) -> None:
    """Raises Refused: what is said a date means isn't understood itself."""
    for meant in form.dates.values():
        read = read_harvest(meant, None, today)
        if read.sure not in (Sure.WRITTEN, Sure.ESTIMATED) and not is_unknown(meant):
            raise Refused("meant-date-misread", "dates", meant, why=read.said)


def _orders(columns: Columns, form: Spreadsheet) -> dict[str, OrderRead]:
    orders = {}
    for place, column in enumerate(columns.columns):
        if column.meaning in DATED:
            cells = columns.cells(place)
            asked = ((line, text) for line, text in cells if text not in form.dates)
            orders[column.heading] = order_of(asked)
    return orders


def _check_left_out(form: Spreadsheet, rows: tuple[RowRead, ...]) -> None:
    strays = sorted(set(form.leave_out) - {row.line for row in rows})
    if strays:
        raise Refused("no-row-on-line", "leave_out", strays[0])


def _before(session: Session, rows: tuple[RowRead, ...]) -> dict[str, str]:
    """Codes of lots that were made of these very rows, by the row's mark."""
    found = lots_of_rows(session, BroughtBy.SPREADSHEET, (row.mark for row in rows))
    return {mark: lot.code for mark, lot in found.items()}


def _like(
    session: Session, rows: tuple[RowRead, ...], known: KnownNames
) -> dict[int, tuple[str, ...]]:
    """Codes of lots of the same variety and harvest year, by the row's line."""
    names = {row.variety for row in rows if name_key(row.variety) in known.varieties}
    if not names:
        return {}
    lower = {name.lower() for name in names}
    query = (
        select(Lot.code, Lot.harvest_year, Variety.name, Kind.slug)
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(or_(col(Variety.name).in_(names), func.lower(col(Variety.name)).in_(lower)))
        .order_by(col(Lot.id))
    )
    here: dict[tuple[str, str, int | None], list[str]] = {}
    for code, year, name, slug in session.exec(query):
        here.setdefault((slug, name_key(name), year), []).append(code)
    found = {r.line: here.get((r.kind or "", name_key(r.variety), r.harvest.year)) for r in rows}
    return {line: tuple(codes) for line, codes in found.items() if codes}


_NOT_READ_BY = {"text", "base64", "digest", "columns", "unclear_first", "most_rows"}


def _digest(form: Spreadsheet, looked: list[SheetLooked], rows: tuple[RowRead, ...]) -> str:
    """Of all that decides what is taken in; not of what else is here."""
    # What the columns are is told below, whether it was guessed or said.
    answered = form.model_dump(mode="json", exclude=_NOT_READ_BY)
    answered["leave_out"] = sorted(set(form.leave_out))
    read = TypeAdapter(tuple[RowRead, ...]).dump_json(rows)
    headings = [[c.heading, c.meaning] for one in looked for c in one.columns.columns]
    taken = json.dumps([answered, headings])
    digest = hashlib.sha256(hashlib.sha256(form.content).digest())
    digest.update(taken.encode("utf-8", "surrogatepass") + b"\n" + read)
    return digest.hexdigest()
