"""Taking in lots with their codes and parents, and the places they stood in."""

from collections.abc import Iterable, Sequence

from seedbank.common.errors import StockFault
from seedbank.database.find import row_id
from seedbank.facts.kinds import UnknownKind
from seedbank.interchange.folder.files import Numbered
from seedbank.interchange.folder.names import Importer, key_of
from seedbank.interchange.folder.rows import LotRow, MixturePartRow, StayRow
from seedbank.lots.forms import LotCreate, MixturePartTold, MixtureTold, StayCreate
from seedbank.lots.mix_lots import put_parts
from seedbank.lots.tables.brought_in import BroughtBy, lots_of_rows, mark_of
from seedbank.lots.tables.lot_codes import normalise_code
from seedbank.lots.tables.lots import Lot, codes_taken, next_codes
from seedbank.lots.take_in_lots import Arrival, add_lots, put_in_place
from seedbank.science.quantities import Finding


def take_lots(importer: Importer, rows: list[Numbered[LotRow]]) -> int:
    """Add lots, coded, with their parents; their amounts follow.

    A lot that is in the stock already, by its code or by its line, is a problem: the folder, or
    this line of it, has been imported before.
    """
    codes = _codes(importer, rows)
    had = lots_of_rows(importer.session, BroughtBy.FOLDER, (_mark(importer, at) for at in rows))
    again: list[tuple[Numbered[LotRow], str]] = []
    lines, arrivals = [], []
    for at in rows:
        key, mark = key_of(at.row.label), _mark(importer, at)
        if key in importer.lots:
            importer.complain(at, "label", Finding("folder-name-twice", {"choice": "lot"}))
            continue
        importer.lots[key] = None
        variety = importer.variety_at(at, at.row.kind, at.row.variety)
        if mark in had:
            again.append((at, had[mark].code))
        elif variety is not None and key in codes:
            given = at.row.filled_cells() | {
                "acquired_on": at.row.acquired_on,  # not known, if it isn't told
                "variety_id": variety.id,
                "parents": [codes.get(key_of(one), one) for one in at.row.parents],
            }
            form = importer.filled(at, LotCreate, **given)
            if form is not None:
                row = (BroughtBy.FOLDER, mark, at.row.label)
                lines.append(at)
                arrivals.append(Arrival(form, row, codes[key], books=False))
    _say_imported(importer, again, len(rows))
    _add_lots(importer, lines, arrivals)
    return len(rows)


def _add_lots(importer: Importer, lines: list[Numbered[LotRow]], arrivals: list[Arrival]) -> None:
    wrong: set[int] = set()

    def refused(position: int, fault: StockFault) -> None:
        if not fault.field.startswith("parents") or not wrong:  # its parent's line may be at fault
            importer.complain_of(lines[position], fault)
        wrong.add(position)

    lots = add_lots(
        importer.session, arrivals, today=importer.today, now=importer.now, refused=refused
    )
    for position, (at, lot) in enumerate(zip(lines, lots, strict=True)):
        key = key_of(at.row.label)
        if position not in wrong:
            importer.lots[key] = lot
            importer.new_lots.add(lot.id or 0)
        if at.row.code is not None:  # other files may name it by the code its line gives it
            importer.lots.setdefault(key_of(at.row.code), importer.lots[key])


def _say_imported(
    importer: Importer, again: list[tuple[Numbered[LotRow], str]], lines: int
) -> None:
    if again and len(again) == lines:
        mend = Finding("folder-all-imported", {"lots": lines})
        importer.problems.add(again[0][0].file, 0, "", "", mend)
        return
    for at, code in again:
        importer.complain(at, "label", Finding("folder-lot-imported", {"lot": code}))


def _mark(importer: Importer, at: Numbered[LotRow]) -> str:
    """What a line is known again by: its kind, whatever it is called there, variety and label."""
    try:
        kind = importer.kind_named(at.row.kind).slug
    except UnknownKind:
        kind = at.row.kind
    return mark_of(kind, at.row.variety, at.row.label)


def _codes(importer: Importer, rows: list[Numbered[LotRow]]) -> dict[str, str]:
    """Each line's code by its label: the one it gives, or a new one. Complains of the others."""
    found: dict[str, str] = {}
    for at in rows:
        if at.row.code is not None:
            with importer.noting_refusals(at, "code"):
                found[key_of(at.row.label)] = normalise_code(at.row.code)
    taken = codes_taken(importer.session, found.values())
    fresh = iter(
        next_codes(importer.session, sum(at.row.code is None for at in rows), found.values())
    )
    for at in rows:
        key = key_of(at.row.label)
        if at.row.code is None:
            found[key] = next(fresh)
        elif found.get(key) in taken:
            importer.complain(at, "code", Finding("folder-code-taken"))
            del found[key]
        elif key in found:
            taken.add(found[key])
    return found


def take_mixtures(importer: Importer, rows: Sequence[Numbered[MixturePartRow]]) -> int:
    """Say what lots are mixtures of, each in the order of its lines."""
    of_lot: dict[int, list[Numbered[MixturePartRow]]] = {}
    for at in rows:
        lot = importer.lot_at(at, at.row.lot)
        if lot is not None:
            of_lot.setdefault(row_id(lot.id), []).append(at)
    for number, lines in of_lot.items():
        lot, before = importer.session.get_one(Lot, number), len(importer.problems.found)
        parts = [_part(importer, at) for at in lines]
        if len(importer.problems.found) > before:
            continue
        form = importer.filled(lines[0], MixtureTold, parts=parts)
        if form is not None:
            with importer.noting_refusals(lines[0], "part"):
                put_parts(importer.session, lot, form)
    return len(rows)


def _part(importer: Importer, at: Numbered[MixturePartRow]) -> MixturePartTold | None:
    part = None if at.row.part is None else importer.lot_at(at, at.row.part, "part")
    if at.row.part is not None and part is None:
        return None
    told = {"name": at.row.name, "share": at.row.share, "lot": part and part.code}
    return importer.filled(at, MixturePartTold, **told)


def take_stays(importer: Importer, rows: Iterable[Numbered[StayRow]]) -> int:
    """Add the lots' stays in places."""
    seen = set()
    for at in rows:
        lot = importer.lot_at(at, at.row.lot)
        place = importer.named(at, "place", at.row.place, importer.places)
        if lot is None or place is None:
            continue
        key = (lot.id or 0, at.row.from_date)
        if key in seen:
            importer.complain(at, "from_date", Finding("folder-place-twice"))
        row = at.row
        form = importer.filled(
            at,
            StayCreate,
            place_id=place,
            from_date=row.from_date,
            sealed_anew=row.sealed_anew,
        )
        if form is not None and key not in seen:
            with importer.noting_refusals(
                at
            ):  # a new lot was nowhere yet, and nobody else can move it
                first = lot.id in importer.new_lots
                put_in_place(importer.session, lot, form, today=importer.today, first=first)
        seen.add(key)
    return len(seen)
