"""Somebody's own spreadsheet looked over beside what is here: what every row would become."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from pydantic import TypeAdapter
from sqlmodel import Session, col, func, or_, select

from seedbank.common.errors import Refused
from seedbank.interchange.folder.files import ImportProblem
from seedbank.interchange.spreadsheet.answers import DayOrder, Meaning, Spreadsheet, Sure
from seedbank.interchange.spreadsheet.cells import KnownNames, name_key
from seedbank.interchange.spreadsheet.columns import Columns, columns_of, repeated
from seedbank.interchange.spreadsheet.days import OrderRead, is_unknown, order_of, read_harvest
from seedbank.interchange.spreadsheet.rows import RowRead, Setting, read_rows
from seedbank.interchange.spreadsheet.text import Sheet, SheetRefused, read_sheet
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.tables.brought_in import BroughtBy, lots_of_rows
from seedbank.lots.tables.lots import Lot
from seedbank.lots.weighing import kind_weight
from seedbank.science.quantities import Finding

_DATED = (
    Meaning.HARVESTED, Meaning.ACQUIRED_ON, Meaning.SOW_BY, Meaning.PRINTED_TEST, Meaning.PACKED_ON,
)  # fmt: skip
_LONGEST_SHEET_NAME = 80  # in notes


@dataclass(frozen=True, slots=True)
class LookedOver:
    """A sheet read: its rows, what was said of its columns' dates, and what is here of it.

    ``before`` is the lot made of a row earlier, by the row's mark; ``like`` the lots that look
    like one, by line. ``digest`` stands for the sheet, the owner's word, and all that was read.
    """

    sheet: Sheet
    columns: Columns
    orders: Mapping[str, OrderRead]
    rows: tuple[RowRead, ...]
    before: Mapping[str, str]
    like: Mapping[int, tuple[str, ...]]
    known: KnownNames
    digest: str


def look_over(session: Session, form: Spreadsheet, *, today: date) -> LookedOver:
    """Read the sheet. Raises SheetRefused: it can't be read, by line. Refused: the form."""
    sheet = read_sheet(form.content, form.name[:_LONGEST_SHEET_NAME])
    names = list(sheet.first.cells)
    if repeated(names):
        twice = Finding("sheet-heading-twice", {"heading": repeated(names)[0]})
        raise SheetRefused([ImportProblem(sheet.name, sheet.first.line, "", "", twice)])
    known = known_names(session, form)
    columns = columns_of(sheet, form.columns, today=today, is_kind=known.is_kind)
    _check_dates(form, today)
    orders = _orders(columns, form)
    setting = Setting(
        name=sheet.name,
        columns=columns.columns,
        known=known,
        weights=_Weights(session),
        orders={heading: one.order or form.day_order for heading, one in orders.items()},
        dates=form.dates,
        packet_seeds=form.packet_seeds,
        origin=form.origin,
        today=today,
    )
    rows = tuple(read_rows(columns.rows, setting))
    _check_left_out(form, rows)
    return LookedOver(
        sheet, columns, orders, rows, _before(session, rows), _like(session, rows, known), known,
        _digest(form, columns, rows),
    )  # fmt: skip


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
        if column.meaning in _DATED:
            cells = ((r.line, r.cells[place]) for r in columns.rows if len(r.cells) > place)
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


def _digest(form: Spreadsheet, columns: Columns, rows: tuple[RowRead, ...]) -> str:
    """Of all that decides what is taken in; not of what else is here."""
    # What the columns are is told below, whether it was guessed or said.
    answered = form.model_dump(mode="json", exclude={"text", "base64", "digest", "columns"})
    answered["leave_out"] = sorted(set(form.leave_out))
    read = TypeAdapter(tuple[RowRead, ...]).dump_json(rows)
    taken = json.dumps([answered, [[one.heading, one.meaning] for one in columns.columns]])
    digest = hashlib.sha256(hashlib.sha256(form.content).digest())
    digest.update(taken.encode("utf-8", "surrogatepass") + b"\n" + read)
    return digest.hexdigest()


def date_question(order: OrderRead, given: DayOrder | None) -> bool:
    """Does a column's order of day and month still have to be said?"""
    return order.asks and order.order is None and given is None
