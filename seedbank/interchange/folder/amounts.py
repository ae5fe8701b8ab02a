"""Booking every amount in the files: movements, tests set and sowings, in order of their days."""

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from seedbank.emergence.tables import Sowing
from seedbank.germination.tables import GerminationTest
from seedbank.interchange.folder.files import CollectionFiles, Numbered
from seedbank.interchange.folder.names import Importer, key_of
from seedbank.interchange.folder.rows import MovementRow, SowingRow, TestRow
from seedbank.kinds.tables import Variety
from seedbank.lots.days import after_harvest
from seedbank.lots.forms import MovementCreate, StockTakeCreate
from seedbank.lots.tables.ledger import FirstLedgers, Movement, MovementReason, book
from seedbank.lots.tables.lots import Lot
from seedbank.lots.weighing import Weighed, seed_weight, weigh
from seedbank.science.quantities import Finding

_COMES_IN = (MovementReason.ACQUIRED, MovementReason.HARVESTED)


@dataclass(frozen=True, slots=True)
class Entry:
    """One line that changes a lot's amount. ``rank``: in first, stock-takes last on a day."""

    at: Numbered[Any]
    lot: Lot
    on: date
    rank: int
    reason: MovementReason
    seeds: int | None
    grams: float | None = None
    note: str = ""


def book_amounts(importer: Importer, files: CollectionFiles, on_line: Callable[[], None]) -> int:
    """Book all amounts lot by lot in date order; returns how many lines of movements.csv.

    The seed of a test or a sowing gets its own movement, which the test or sowing then names. A
    lot's first refused line ends that lot: what follows would only be refused for the same cause.
    """
    ledgers: dict[int, list[Entry]] = defaultdict(list)
    for entry in _entries(importer, files):
        ledgers[entry.lot.id or 0].append(entry)
    first = FirstLedgers()
    booked: list[tuple[Entry, Movement]] = []
    for entries in ledgers.values():
        for entry in sorted(entries, key=lambda entry: (entry.on, entry.rank)):
            on_line()
            moved = _book(importer, entry, first)
            if moved is None:
                break
            booked.append((entry, moved))
    first.write(importer.session)
    for entry, moved in booked:
        _tie(importer, entry, moved.id)
    return len(files.of(MovementRow))


def _entries(importer: Importer, files: CollectionFiles) -> Iterator[Entry]:
    for at in files.of(MovementRow):
        lot = importer.lot_at(at, at.row.lot)
        if lot is not None and _can_be(importer, at, lot):
            yield _movement(at, lot)
    for test_at in files.of(TestRow):
        lot = importer.lots.get(key_of(test_at.row.lot))
        if lot is not None:
            yield _test(test_at, lot)
    for sowing_at in files.of(SowingRow):
        lot = importer.lots.get(key_of(sowing_at.row.lot))
        if lot is not None:
            yield _sowing(sowing_at, lot)


def _can_be(importer: Importer, at: Numbered[MovementRow], lot: Lot) -> bool:
    """Whether the forms take what a line tells."""
    row, amount = at.row, {"seeds": at.row.seeds, "grams": at.row.grams}
    if row.reason is MovementReason.TESTED:
        importer.complain(at, "reason", Finding("folder-movement-of-test"))
        return False
    before = len(importer.problems.found)
    with importer.noting_refusals(at):
        after_harvest(lot, row.on_date, field="on_date")
    if row.reason is MovementReason.STOCK_TAKE:
        importer.filled(at, StockTakeCreate, **amount)
    elif set(amount.values()) != {None} or row.reason not in _COMES_IN:  # else some, not counted
        importer.filled(at, MovementCreate, reason=row.reason.value, amount=amount)
    return len(importer.problems.found) == before


def _movement(at: Numbered[MovementRow], lot: Lot) -> Entry:
    row = at.row
    rank = 0 if row.reason in _COMES_IN else 2 if row.reason is MovementReason.STOCK_TAKE else 1
    return Entry(at, lot, row.on_date, rank, row.reason, row.seeds, row.grams, row.note)


def _test(at: Numbered[TestRow], lot: Lot) -> Entry:
    set_out = sum(at.row.replicates)
    return Entry(at, lot, at.row.started_on, 1, MovementReason.TESTED, set_out)


def _sowing(at: Numbered[SowingRow], lot: Lot) -> Entry:
    return Entry(at, lot, at.row.sown_on, 1, MovementReason.SOWN, at.row.seeds_sown)


def _book(importer: Importer, entry: Entry, first: FirstLedgers) -> Movement | None:
    with importer.noting_refusals(entry.at, _amount_column(entry)):
        weighed = None if entry.seeds is None and entry.grams is None else _weigh(importer, entry)
        return _move(importer, entry, weighed, first)
    return None


def _move(
    importer: Importer, entry: Entry, weighed: Weighed | None, first: FirstLedgers
) -> Movement:
    """Book a line; on a lot of this very import without asking the database about it.

    ``weighed`` None: some came in, not counted, or grams of it went out.
    """
    movement = Movement(
        lot_id=entry.lot.id or 0,
        on_date=entry.on,
        reason=entry.reason,
        note=entry.note,
        grams=entry.grams,
        recorded_at=importer.now,
    )
    if weighed is not None:
        goes_out = entry.reason not in (*_COMES_IN, MovementReason.STOCK_TAKE)
        movement.seeds = -weighed.seeds if goes_out else weighed.seeds
        movement.seeds_se, movement.grams = weighed.seeds_se, weighed.grams
        movement.thousand_seed_weight_g = weighed.tsw_g
    if entry.lot.id in importer.new_lots:
        return first.book(movement)
    return book(importer.session, movement)


def _tie(importer: Importer, entry: Entry, movement_id: int | None) -> None:
    """Let a test or sowing know the movement that took its seed."""
    taker: GerminationTest | Sowing | None
    if isinstance(entry.at.row, TestRow):
        taker = importer.tests.get(key_of(entry.at.row.test))
    elif isinstance(entry.at.row, SowingRow):
        taker = importer.sowings.get(key_of(entry.at.row.sowing))
    else:
        return
    if taker is not None:
        taker.movement_id = movement_id


def _amount_column(entry: Entry) -> str:
    if isinstance(entry.at.row, TestRow):
        return "replicates"
    if isinstance(entry.at.row, SowingRow):
        return "seeds_sown"
    return "seeds" if entry.grams is None else "grams"


def _weigh(importer: Importer, entry: Entry) -> Weighed | None:
    """The amount in seeds; None: grams of seed of which nobody knows what it weighs.

    Raises Refused: such seed is counted by weight.
    """
    weight = None
    if entry.grams is not None:
        variety = importer.session.get_one(Variety, entry.lot.variety_id)
        weight = seed_weight(entry.lot, importer.facts_of(variety.kind_id))
        if weight is None and entry.reason is not MovementReason.STOCK_TAKE:
            return None
    return weigh(seeds=entry.seeds, grams=entry.grams, seeds_se=None, weight=weight, field="")
