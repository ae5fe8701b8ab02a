"""Taking in lots with their codes and parents, and the places they stood in."""

from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

from seedbank.common.errors import StockFault
from seedbank.facts.kinds import UnknownKind
from seedbank.interchange.folder.files import Numbered
from seedbank.interchange.folder.names import Desk, key_of
from seedbank.interchange.folder.rows import LotRow, StayRow
from seedbank.kinds.tables import Variety
from seedbank.lots.tables.brought_in import BroughtBy, enter_row, lots_of_rows, mark_of
from seedbank.lots.tables.lot_codes import normalise_code
from seedbank.lots.tables.lots import Lot, LotParent, codes_taken, next_codes
from seedbank.lots.tables.places import Stay, move_lot


def take_lots(desk: Desk, rows: list[Numbered[LotRow]]) -> int:
    """Add lots, coded, with their parents.

    A lot that is in the stock already, by its code or by variety and label, is a problem: the
    folder, or this line of it, has been imported before.
    """
    marks = {at.line: _mark(desk, at) for at in rows}
    had = lots_of_rows(desk.session, BroughtBy.FOLDER, marks.values())
    again = []
    codes = _codes(desk, rows)
    for at in rows:
        key = key_of(at.row.label)
        if key in desk.lots:
            desk.complain(at, "label", "give each lot a label of its own")
            continue
        desk.lots[key] = None
        variety = _variety_at(desk, at)
        if marks[at.line] in had:
            again.append((at, had[marks[at.line]].code))
        elif variety is not None and _fits(desk, at):
            desk.lots[key] = _add_lot(desk, at, variety, codes)
    _say_imported(desk, again, len(rows))
    desk.session.flush()
    desk.new_lots = {lot.id or 0 for lot in desk.lots.values() if lot is not None}
    for at in rows:
        lot = desk.lots[key_of(at.row.label)]
        if lot is not None:
            enter_row(desk.session, lot, BroughtBy.FOLDER, marks[at.line], at.row.label)
    for at in rows:
        _name_by_code(desk, at)
    _add_parents(desk, rows)
    return len(rows)


def _say_imported(desk: Desk, again: list[tuple[Numbered[LotRow], str]], lines: int) -> None:
    if again and len(again) == lines:
        mend = f"nothing to do: all {lines} lots were imported before"
        desk.problems.add(again[0][0].file, 0, "", "", mend)
        return
    for at, code in again:
        desk.complain(at, "label", f"leave the line out: it was imported before, as lot {code}")


def _mark(desk: Desk, at: Numbered[LotRow]) -> str:
    """What a line is known again by: its kind, whatever it is called there, variety and label."""
    try:
        kind = desk.kind_named(at.row.kind).slug
    except UnknownKind:
        kind = at.row.kind
    return mark_of(kind, at.row.variety, at.row.label)


def _variety_at(desk: Desk, at: Numbered[LotRow]) -> Variety | None:
    kind = desk.kind_at(at, at.row.kind)
    if kind is None:
        return None
    return desk.variety_at(at, kind, at.row.variety)


def _fits(desk: Desk, at: Numbered[LotRow]) -> bool:
    """Whether the cells of a lot agree with each other."""
    row, before = at.row, len(desk.problems.found)
    if row.harvest_date and row.harvest_year not in (None, row.harvest_date.year):
        desk.complain(at, "harvest_year", f"write {row.harvest_date.year}, as in harvest_date")
    if row.acquired_on and row.harvest_year and row.acquired_on.year < row.harvest_year:
        desk.complain(at, "acquired_on", "write a day after the harvest")
    if row.thousand_seed_weight_se_g is not None and row.thousand_seed_weight_g is None:
        desk.complain(at, "thousand_seed_weight_se_g", "give the weight it belongs to as well")
    return len(desk.problems.found) == before


def _add_lot(desk: Desk, at: Numbered[LotRow], variety: Variety, codes: "_Codes") -> Lot | None:
    row = at.row
    code = _code_for(desk, at, codes)
    if code is None:
        return None
    lot = Lot(
        code=code,
        variety_id=variety.id or 0,
        created_at=desk.now,
        **row.model_dump(exclude={"label", "code", "kind", "variety", "parents"}),
    )
    if row.harvest_date:
        lot.harvest_year = row.harvest_date.year
    desk.session.add(lot)
    return lot


@dataclass(slots=True)
class _Codes:
    """Codes to give out, and those that are taken already."""

    fresh: Iterator[str]
    taken: set[str]


def _codes(desk: Desk, rows: list[Numbered[LotRow]]) -> _Codes:
    """What all lines need, asked for at once."""
    written = []
    for at in rows:
        with suppress(StockFault):
            written.append(normalise_code(at.row.code or ""))
    without = sum(at.row.code is None for at in rows)
    taken = codes_taken(desk.session, written)
    return _Codes(iter(next_codes(desk.session, without, not_of=written)), taken)


def _code_for(desk: Desk, at: Numbered[LotRow], codes: _Codes) -> str | None:
    if at.row.code is None:
        return next(codes.fresh)
    try:
        code = normalise_code(at.row.code)
    except StockFault as fault:
        desk.complain_of(at, "code", fault)
        return None
    if code in codes.taken:
        desk.complain(at, "code", "leave the line out: the stock has a lot with this code already")
        return None
    codes.taken.add(code)
    return code


def _name_by_code(desk: Desk, at: Numbered[LotRow]) -> None:
    """Let other files name the lot by the code its line gives it."""
    if at.row.code is not None:
        desk.lots.setdefault(key_of(at.row.code), desk.lots.get(key_of(at.row.label)))


def _add_parents(desk: Desk, rows: list[Numbered[LotRow]]) -> None:
    line: dict[int, set[int]] = {}
    written: dict[int, Numbered[LotRow]] = {}
    for at in rows:
        lot = desk.lots[key_of(at.row.label)]
        found = [desk.lot_at(at, label, column="parents") for label in at.row.parents]
        parent_ids = {parent.id or 0 for parent in found if parent is not None}
        if lot is None or not parent_ids:
            continue
        line[lot.id or 0] = parent_ids
        written[lot.id or 0] = at
    try:
        TopologicalSorter(line).prepare()
    except CycleError as circle:
        at = next(written[lot_id] for lot_id in circle.args[1] if lot_id in written)
        desk.complain(at, "parents", "a lot can't descend from itself")
        return
    desk.session.add_all(
        LotParent(lot_id=lot_id, parent_id=parent_id)
        for lot_id, parent_ids in line.items()
        for parent_id in sorted(parent_ids)
    )
    desk.session.flush()


def take_stays(desk: Desk, rows: Iterable[Numbered[StayRow]]) -> int:
    """Add the lots' stays in places."""
    seen = set()
    added = 0
    for at in rows:
        lot = desk.lot_at(at, at.row.lot)
        place = desk.places.get(key_of(at.row.place))
        if place is None:
            desk.complain(at, "place", "add this place to places.csv")
        if lot is None or place is None:
            continue
        if (lot.id, at.row.from_date) in seen:
            desk.complain(at, "from_date", "keep one place for a lot on a day")
            continue
        seen.add((lot.id, at.row.from_date))
        if lot.id in desk.new_lots:  # it was nowhere yet, and nobody else can move it
            new = Stay(lot_id=lot.id or 0, place_id=place.id or 0, from_date=at.row.from_date)
            desk.session.add(new)
        else:
            move_lot(
                desk.session,
                lot_id=lot.id or 0,
                place_id=place.id or 0,
                from_date=at.row.from_date,
            )
        added += 1
    return added
