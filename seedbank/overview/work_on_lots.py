"""One piece of work on many lots: all of it or nothing, and one undo for all of it."""

import json
import math
from collections.abc import Callable, Sequence
from datetime import date, datetime
from typing import Any

from sqlmodel import Session, col, select

from seedbank.common.answers import FindingAnswer
from seedbank.common.dates import happened
from seedbank.common.errors import MisreadCode, Refused, StockFault
from seedbank.database.find import named_in, row_id
from seedbank.database.queries import in_parts
from seedbank.database.transaction import transaction
from seedbank.facts.kinds import KindFacts
from seedbank.germination.forms import TestStart
from seedbank.germination.run_tests import start_test
from seedbank.kinds.edit_kinds import facts_for_kinds
from seedbank.kinds.edit_varieties import set_keepers
from seedbank.lots.days import since_harvest
from seedbank.lots.edit_places import add_place
from seedbank.lots.move_seed import taking
from seedbank.lots.show_lots import lot_entries
from seedbank.lots.tables.ledger import Balance, Movement, MovementReason, balances, book
from seedbank.lots.tables.lot_codes import normalise_code
from seedbank.lots.tables.lot_search import LotEntry
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.places import Place, Stay, get_place, move_lot
from seedbank.lots.weighing import seed_weight, weigh
from seedbank.overview.answers import BatchAnswer
from seedbank.overview.forms import MOST_AT_ONCE, BatchCreate
from seedbank.overview.shelf_rows import find_on_shelf, read_shelf
from seedbank.overview.tables import Batch, BatchWork, find_batch
from seedbank.science.quantities import Finding

_A_TOWEL = [10]  # seeds; our choice
_TOLD_BY_NAME = 12  # codes in a message
Parts = list[dict[str, Any]]


def work_on_lots(session: Session, form: BatchCreate, *, today: date, now: datetime) -> BatchAnswer:
    """Do it to every lot asked for, or to none.

    Raises Refused: no lot is meant, too many are, a code is nobody's, or some of them can't; their
    codes are its value. Conflict: the new place's name is taken.
    """
    with transaction(session):
        day = happened(form.on_date, field="on_date", today=today)
        entries = _meant(session, form, today)
        batch = Batch(work=form.work, on_date=day, done_at=now, note=form.note, parts="[]")
        parts = _WORK[form.work](session, form, entries, batch, day, now)
        batch.parts = json.dumps(parts)
        session.add(batch)
        session.flush()
        return answer_batch(batch)


def show_batch(session: Session, number: int) -> BatchAnswer:
    """What was done to many lots. Raises NotThere."""
    return answer_batch(find_batch(session, number))


def answer_batch(batch: Batch) -> BatchAnswer:
    """A batch as it is answered."""
    lots = [part["code"] for part in json.loads(batch.parts)]
    told = {"work": batch.work.value, "lots": len(lots), "target": batch.target}
    return BatchAnswer(
        id=row_id(batch.id),
        version=batch.version,
        work=batch.work,
        on_date=batch.on_date,
        done_at=batch.done_at,
        undone_at=batch.undone_at,
        note=batch.note,
        lots=lots,
        done=FindingAnswer.of(Finding("batch-done", told)),
    )


def _meant(session: Session, form: BatchCreate, today: date) -> list[LotEntry]:
    """The lots meant, in order. Raises Refused: a code is nobody's, none is meant, too many."""
    if form.among is not None:
        shelf = read_shelf(session, today=today)
        found = shelf.lot_id[find_on_shelf(session, shelf, form.among).rows]
        if not found.size:
            raise Refused("batch-of-none", "among", None)
        if found.size > MOST_AT_ONCE:
            raise Refused("batch-of-too-many", "among", int(found.size), most=MOST_AT_ONCE)
        entries = lot_entries(session, found.tolist())
        return [entries[number] for number in found.tolist()]
    codes: list[str] = []
    unread = []
    for typed in form.lots or ():
        try:
            codes.append(normalise_code(typed))
        except MisreadCode:
            unread.append(typed)
    wanted = list(dict.fromkeys(codes))
    numbers: dict[str, int] = {}
    for part in in_parts(wanted):
        rows = session.exec(select(Lot.code, Lot.id).where(col(Lot.code).in_(part)))
        numbers.update({code: row_id(number) for code, number in rows})
    unread += [code for code in wanted if code not in numbers]
    if unread:
        raise Refused("batch-codes-unknown", "lots", named(unread), lots=len(unread))
    entries = lot_entries(session, numbers.values())
    return [entries[numbers[code]] for code in wanted]


def named(codes: Sequence[str]) -> str:
    """Codes in a message: the first of them, and that there are more."""
    more = ", …" if len(codes) > _TOLD_BY_NAME else ""
    return ", ".join(codes[:_TOLD_BY_NAME]) + more


def _each(entries: Sequence[LotEntry], do: Callable[[LotEntry], dict[str, Any]]) -> Parts:
    """What is done to each lot; nothing is written before all were asked.

    Raises Refused: some can't, with all their codes and the reason of the first.
    """
    parts, offending, first = [], [], None
    for entry in entries:
        try:
            parts.append({"lot": row_id(entry.lot.id), "code": entry.lot.code, **do(entry)})
        except StockFault as fault:
            offending.append(entry.lot.code)
            first = first or fault
    if first is not None:
        raise Refused(
            "batch-refused", "lots", named(offending), lots=len(offending), why=first.finding
        ) from first
    return parts


def _move(
    session: Session,
    form: BatchCreate,
    entries: Sequence[LotEntry],
    batch: Batch,
    day: date,
    now: datetime,  # noqa: ARG001 - work is done by one signature
) -> Parts:
    place = _place(session, form)
    batch.place_id, batch.target = row_id(place.id), place.name
    here = [row_id(entry.lot.id) for entry in entries]
    same_day = {
        stay.lot_id: {"before": stay.place_id, "sealed": stay.sealed_anew}
        for part in in_parts(here)
        for stay in session.exec(
            select(Stay).where(col(Stay.lot_id).in_(part), Stay.from_date == day)
        )
    }
    none = {"before": None, "sealed": False}
    parts = _each(entries, lambda entry: same_day.get(row_id(entry.lot.id), none))
    for number in here:
        move_lot(session, lot_id=number, place_id=row_id(place.id), from_date=day)
    return parts


def _place(session: Session, form: BatchCreate) -> Place:
    if form.new_place is None:
        with named_in("place_id"):
            return get_place(session, form.place_id or 0)
    try:
        return get_place(session, add_place(session, form.new_place).id)
    except StockFault as fault:
        fault.field = f"new_place.{fault.field}"
        raise


def _take(
    session: Session,
    form: BatchCreate,
    entries: Sequence[LotEntry],
    batch: Batch,
    day: date,
    now: datetime,
) -> Parts:
    gives = form.work is BatchWork.GIVE
    reason = MovementReason.GIVEN if gives else MovementReason.DISCARDED
    held, facts = _held(session, entries)
    batch.target = form.note[:200] if gives else ""
    movements: list[Movement] = []

    def prepared(entry: LotEntry) -> dict[str, Any]:
        lot, balance = entry.lot, held[row_id(entry.lot.id)]
        since_harvest(lot, day, field="on_date", today=day)
        movement = Movement(
            lot_id=row_id(lot.id), on_date=day, reason=reason, note=form.note, recorded_at=now
        )
        if form.amount is not None:
            amount, weight = form.amount, seed_weight(lot, facts[row_id(entry.kind.id)])
            weighed = weigh(
                seeds=amount.seeds, grams=amount.grams, seeds_se=amount.seeds_se, weight=weight
            )
            movement.seeds, movement.seeds_se = -weighed.seeds, weighed.seeds_se
            movement.grams, movement.thousand_seed_weight_g = weighed.grams, weighed.tsw_g
        else:
            _take_share(movement, form.share or 1.0, balance, lot)
        left = (balance.seeds or 0) + (movement.seeds or 0)
        if balance.seeds is not None and (left < 0 or balance.seeds == 0):
            raise Refused("batch-holds-too-little", "lots", lot.code, held=balance.seeds)
        movements.append(movement)
        return {}

    parts = _each(entries, prepared)
    for entry, movement, part in zip(entries, movements, parts, strict=True):
        with taking(entry.lot, field="lots"):
            part["movement"] = row_id(book(session, movement).id)
    return parts


def _held(
    session: Session, entries: Sequence[LotEntry]
) -> tuple[dict[int, Balance], dict[int, KindFacts]]:
    """What each lot holds, by its id, and what is known of each kind, by its own."""
    kinds = {entry.kind.slug: entry.kind for entry in entries}
    held = balances(session, [row_id(entry.lot.id) for entry in entries])
    return held, facts_for_kinds(session, kinds.values())


def _take_share(movement: Movement, share: float, balance: Balance, lot: Lot) -> None:
    """Take a share of what a lot holds; all of what nobody counted is a count of none left."""
    if balance.seeds is not None:
        movement.seeds = -math.ceil(share * balance.seeds)
    elif share >= 1.0:
        movement.reason, movement.seeds = MovementReason.STOCK_TAKE, 0
    else:
        raise Refused("batch-share-of-uncounted", "lots", lot.code)


def _tell_keepers(
    session: Session,
    form: BatchCreate,
    entries: Sequence[LotEntry],
    batch: Batch,
    day: date,  # noqa: ARG001
    now: datetime,  # noqa: ARG001
) -> Parts:
    assert form.other_keepers is not None  # the form sees to it
    batch.target = form.other_keepers.value
    parts = _each(
        entries,
        lambda entry: {
            "variety": row_id(entry.variety.id),
            "keepers": entry.variety.other_keepers.value,
            "unknown": entry.variety.keepers_unknown,
        },
    )
    varieties = {row_id(entry.variety.id): entry.variety for entry in entries}
    for variety in varieties.values():
        set_keepers(session, variety, form.other_keepers, unknown=False)
    return parts


def _test(
    session: Session,
    form: BatchCreate,
    entries: Sequence[LotEntry],
    batch: Batch,
    day: date,
    now: datetime,
) -> Parts:
    seeds = form.replicates or _A_TOWEL
    batch.target = "+".join(str(one) for one in seeds)
    held, facts = _held(session, entries)

    def may(entry: LotEntry) -> dict[str, Any]:
        lot, balance = entry.lot, held[row_id(entry.lot.id)]
        since_harvest(lot, day, field="on_date", today=day)
        if facts[row_id(entry.kind.id)].is_planting_stock(lot.kept_as):
            raise Refused("planting-stock-not-tested", "lots", lot.code)
        if balance.seeds is not None and balance.seeds < sum(seeds):
            raise Refused("batch-holds-too-little", "lots", lot.code, held=balance.seeds)
        return {}

    parts = _each(entries, may)
    for part in parts:
        start = TestStart(lot=part["code"], replicates=seeds, started_on=day, confirmed=True)
        test = start_test(session, start, today=day, now=now)
        part["test"] = test.id
    return parts


_WORK: dict[BatchWork, Callable[..., Parts]] = {
    BatchWork.MOVE: _move,
    BatchWork.GIVE: _take,
    BatchWork.THROW_OUT: _take,
    BatchWork.KEEPERS: _tell_keepers,
    BatchWork.TEST: _test,
}
