"""Somebody's own spreadsheet taken in once they say it was read right, and which rows became
lots.
"""

from collections import Counter
from collections.abc import Callable
from datetime import date, datetime

from sqlmodel import Session, col, select

from seedbank.common.errors import Conflict, StockFault
from seedbank.database.find import row_id
from seedbank.database.transaction import transaction
from seedbank.interchange.filled_forms import filled
from seedbank.interchange.folder.files import ImportProblem
from seedbank.interchange.spreadsheet.answers import (
    CellAnswer,
    ColumnAnswer,
    Meaning,
    SheetLot,
    SheetRowAnswer,
    Spreadsheet,
    SpreadsheetConfirmed,
    SpreadsheetPreview,
    SpreadsheetShown,
    SpreadsheetTakenIn,
    Sure,
    TakenRow,
)
from seedbank.interchange.spreadsheet.cells import name_key, quoted
from seedbank.interchange.spreadsheet.packets import PACKET
from seedbank.interchange.spreadsheet.preview_spreadsheet import LookedOver, look_over
from seedbank.interchange.spreadsheet.questions import questions_of
from seedbank.interchange.spreadsheet.rows import RowRead
from seedbank.interchange.spreadsheet.text import SheetRefused
from seedbank.kinds.edit_varieties import new_variety
from seedbank.kinds.forms import VarietyCreate
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import LotCreate, PlaceCreate
from seedbank.lots.tables.brought_in import BroughtBy, BroughtIn
from seedbank.lots.tables.ledger import balances
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.lots.tables.places import Place
from seedbank.lots.take_in_lots import Arrival, add_lots
from seedbank.science.quantities import Finding

Progress = Callable[[int, int], None]  # rows done, of how many


def preview_spreadsheet(
    session: Session, form: Spreadsheet, *, today: date, on_progress: Progress | None = None
) -> SpreadsheetPreview:
    """What would be taken in of each row, from what text, how sure. Nothing is changed.

    Raises SheetRefused: the sheet can't be read, by line. Refused: what the form says of it.
    """
    looked = look_over(session, form, today=today, on_progress=on_progress)
    left_out = set(form.leave_out)
    counts = Counter(_state(row, looked, left_out) for row in looked.rows)
    shown = list(looked.rows)
    if isinstance(form, SpreadsheetShown):
        if form.unclear_first:
            shown.sort(key=lambda row: _state(row, looked, left_out) != "in_the_way")
        shown = shown[: form.most_rows]
    sources = dict.fromkeys(source for row in looked.rows for source in row.amount.sources)
    return SpreadsheetPreview(
        name=looked.name,
        said=_remarks(looked, form),
        columns=[
            ColumnAnswer(sheet=one.sheet.title, heading=c.heading, meaning=c.meaning, said=c.said)
            for one in looked.sheets
            for c in one.columns.columns
        ],
        questions=questions_of(looked, left_out),
        rows=[_shown(row, looked, left_out) for row in shown],
        summary=Finding(
            "sheet-sum",
            {
                "rows": len(looked.rows),
                **{state: counts[state] for state in ("new", "in_the_way", "before", "left_out")},
            },
        ),
        rows_in_all=len(looked.rows),
        lots=counts["new"],
        in_the_way=counts["in_the_way"],
        sources=list(sources),
        digest=looked.digest,
    )


def take_in_spreadsheet(
    session: Session,
    form: SpreadsheetConfirmed,
    *,
    today: date,
    now: datetime,
    on_progress: Progress | None = None,
) -> SpreadsheetTakenIn:
    """Make a lot of each row that isn't left out and wasn't taken in before, all or none.

    Raises SheetRefused: rows that are still to be answered or mended, or that the collection
    refuses, by line. Conflict: what is read now isn't what was shown. Refused: the form.
    """
    with transaction(session):
        looked = look_over(session, form, today=today, on_progress=on_progress)
        if looked.digest != form.digest:
            raise Conflict("sheet-changed-since", "digest", form.digest)
        left_out = set(form.leave_out)
        wanted = [row for row in looked.rows if row.line not in left_out]
        new = [row for row in wanted if row.mark not in looked.before]
        _refuse_in_the_way(looked, new)
        codes = _take(session, looked, new, today=today, now=now)
        lots = [TakenRow(line=row.line, code=code) for row, code in zip(new, codes, strict=True)]
        before = [
            TakenRow(line=row.line, code=looked.before[row.mark])
            for row in wanted
            if row.mark in looked.before
        ]
        return SpreadsheetTakenIn(lots=lots, before=before, left_out=sorted(left_out))


def _refuse_in_the_way(looked: LookedOver, rows: list[RowRead]) -> None:
    problems = [
        ImportProblem(looked.name, row.line, one.heading, one.text[:80], one.said)
        for row in rows
        for one in row.in_the_way
        if one.said
    ]
    if problems:
        raise SheetRefused(problems)


def _take(
    session: Session, looked: LookedOver, rows: list[RowRead], *, today: date, now: datetime
) -> list[str]:
    """Codes of the lots made of rows. Raises SheetRefused: all that are refused, by line."""
    problems: list[ImportProblem] = []

    def refused(position: int, fault: StockFault) -> None:
        shown = "" if fault.value is None else str(fault.value)[:80]
        line = rows[position].line
        problems.append(ImportProblem(looked.name, line, fault.field, shown, fault))

    forms = _Forms(session)
    at_fault = set()
    for position, row in enumerate(rows):
        try:
            forms.meet(row)
        except StockFault as fault:
            at_fault.add(position)
            refused(position, fault)
    session.flush()
    arrivals, at = [], []
    for position, row in enumerate(rows):
        if position in at_fault:
            continue
        try:
            arrivals.append(Arrival(forms.of(row), (BroughtBy.SPREADSHEET, row.mark, "")))
            at.append(position)
        except StockFault as fault:
            refused(position, fault)
    lots = add_lots(
        session, arrivals, today=today, now=now, refused=lambda n, fault: refused(at[n], fault)
    )
    if problems:
        raise SheetRefused(sorted(problems, key=lambda one: one.line))
    return [lot.code for lot in lots]


_OF_PACKET = tuple(one.value for one in PACKET if one is not Meaning.TREATED)


class _Forms:
    """Forms of lots filled from rows; varieties that are new are met first, and flushed at once:
    one by one each would be looked for among those before it. Places are added as they come.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.kinds = {kind.slug: kind for kind in session.exec(select(Kind))}
        slugs = {kind.id: slug for slug, kind in self.kinds.items()}
        self.varieties = {
            (slugs[one.kind_id], name_key(one.name)): one for one in session.exec(select(Variety))
        }
        self.places = {name_key(one.name): row_id(one.id) for one in session.exec(select(Place))}

    def meet(self, row: RowRead) -> None:
        """Add the row's variety where it is new. Raises Refused: no form would take it."""
        assert row.kind is not None  # else it is in the way
        key = row.kind, name_key(row.variety)
        if key in self.varieties:
            return
        told = {} if row.other_keepers is None else {"other_keepers": row.other_keepers}
        form = filled(VarietyCreate, {"kind": row.kind, "name": row.variety, **told})
        self.varieties[key] = new_variety(form, self.kinds[row.kind])
        self.session.add(self.varieties[key])

    def of(self, row: RowRead) -> LotCreate:
        """The form of a row whose variety was met. Raises Refused, Conflict."""
        assert row.kind is not None
        amount = row.amount
        given: dict[str, object] = {
            "variety_id": row_id(self.varieties[row.kind, name_key(row.variety)].id),
            "origin": row.origin,
            "donor": row.donor,
            "harvest_year": row.harvest.year,
            "harvest_date": row.harvest.day,
            "harvest_estimated": row.harvest.sure is Sure.ESTIMATED,
            "acquired_on": row.acquired_on,
            "sow_by": row.sow_by,
            **row.packet,
            "notes": row.notes,
        }
        if amount.seeds is not None:
            given["amount"] = {"seeds": amount.seeds, "seeds_se": amount.seeds_se}
        elif amount.grams is not None:
            given["amount"] = {"grams": amount.grams}
        if row.place:
            given["place_id"] = self._place(row.place)
        return filled(LotCreate, given)

    def _place(self, name: str) -> int:
        key = name_key(name)
        if key not in self.places:
            self.places[key] = add_place(self.session, filled(PlaceCreate, {"name": name})).id
        return self.places[key]


def _state(row: RowRead, looked: LookedOver, left_out: set[int]) -> str:
    if row.mark in looked.before:
        return "before"
    if row.line in left_out:
        return "left_out"
    return "in_the_way" if row.in_the_way else "new"


def _shown(row: RowRead, looked: LookedOver, left_out: set[int]) -> SheetRowAnswer:
    state = _state(row, looked, left_out)
    return SheetRowAnswer(
        line=row.line,
        sheet=row.sheet,
        kind=row.kind,
        variety=row.variety,
        seeds=row.amount.seeds,
        seeds_se=round(row.amount.seeds_se, 1),
        grams=row.amount.grams,
        harvest_year=row.harvest.year,
        harvest_date=row.harvest.day,
        harvest_estimated=row.harvest.sure is Sure.ESTIMATED,
        acquired_on=row.acquired_on,
        sow_by=row.sow_by,
        **{name: row.packet.get(name) for name in _OF_PACKET},
        other_keepers=row.other_keepers,
        treated=bool(row.packet.get(Meaning.TREATED.value)),
        origin=row.origin,
        donor=row.donor,
        place=row.place,
        cells=[CellAnswer.model_validate(one) for one in row.readings],
        warnings=_warnings(row, looked) if state in ("new", "in_the_way") else [],
        takes_in=state == "new",
        in_the_way=state == "in_the_way",
        taken_in_as=looked.before.get(row.mark),
    )


def _warnings(row: RowRead, looked: LookedOver) -> list[Finding]:
    like = looked.like.get(row.line, ())
    return [Finding("sheet-like-lots", {"lots": len(like), "lot": like[0]})] if like else []


def _remarks(looked: LookedOver, form: Spreadsheet) -> list[Finding]:
    remarks = []
    for one in looked.sheets:
        remarks += [*one.sheet.said, *one.columns.said]
        for heading, order in one.orders.items():
            order_found = order.said if order.order is not None else None
            if order.order is None and order.asks and form.day_order is not None:
                order_found = Finding("sheet-order-said", {"first": form.day_order.value})
            if order_found is not None:
                of = quoted(heading)
                remarks.append(Finding("sheet-column-order", {"heading": of, "order": order_found}))
    if looked.headings:
        remarks.append(Finding("sheet-sections", {"lines": looked.headings}))
    remarks += [Finding("sheet-not-read", {"sheet": quoted(title)}) for title in looked.unread]
    if any(row.place for row in looked.rows):
        remarks.append(Finding("sheet-places-added"))
    return remarks


def lots_taken_in(session: Session, first: str, last: str) -> list[SheetLot]:
    """Lots made of rows, from the one with the code ``first`` to ``last``, in order.

    Raises NotThere, MisreadCode: one of the two.
    """
    ends = sorted(row_id(find_lot(session, code).id) for code in (first, last))
    query = (
        select(Lot, Variety.name, Kind.name)
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .join(BroughtIn, col(BroughtIn.lot_id) == col(Lot.id))
        .where(col(Lot.id) >= ends[0], col(Lot.id) <= ends[1])
        .where(col(BroughtIn.source) == BroughtBy.SPREADSHEET)
        .order_by(col(Lot.id))
    )
    rows = session.exec(query).all()
    held = balances(session, [row_id(lot.id) for lot, _, _ in rows])
    return [
        SheetLot(code=lot.code, variety=variety, kind=kind, seeds=held[row_id(lot.id)].seeds)
        for lot, variety, kind in rows
    ]
