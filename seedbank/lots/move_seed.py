"""Seed coming into a lot and leaving it: movements, stock-takes, undoing, and what would be
left.
"""

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime

from sqlmodel import Session, col, select

from seedbank.common.answers import CautionAnswer, FindingAnswer, Source
from seedbank.common.catalogue import text_of
from seedbank.common.errors import (
    CannotReverse,
    Conflict,
    NotEnoughSeed,
    NotThere,
    Overdrawn,
    Refused,
    StockFault,
)
from seedbank.database.find import row_id
from seedbank.database.queries import Page, Paging
from seedbank.database.references import users_of
from seedbank.database.transaction import transaction
from seedbank.facts.cautions import Situation
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Variety
from seedbank.lots.answers import MovementAnswer, TakingForeseen
from seedbank.lots.days import since_harvest
from seedbank.lots.forms import Amount, MovementCreate, MovementKind, StockTakeCreate
from seedbank.lots.show_lots import lot_cautions, lot_entry
from seedbank.lots.tables.ledger import (
    Movement,
    MovementReason,
    balance,
    balances,
    book,
    grams_left,
    total_seeds,
)
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.lots.tables.movements import find_movements, first_counts
from seedbank.lots.tables.reversing import reverse
from seedbank.lots.weighing import SeedWeight, grams_of, seed_weight, weigh
from seedbank.science.quantities import Finding

_IN = frozenset({MovementKind.ACQUIRED, MovementKind.HARVESTED})
_NOTHING = 0.005  # of what was weighed: scales are no better; our choice
_NOT_SHOWN = {"id", "lot_id", "reverses_id", "thousand_seed_weight_g", "seeds_se"}


def record_movement(
    session: Session, code: str, form: MovementCreate, *, today: date, now: datetime
) -> MovementAnswer:
    """Book seed coming in or going out.

    Grams of seed whose weight nobody knows stay grams, coming in and going out; once all of what
    was weighed is taken, a stock-take says that none is left.

    Raises MisreadCode, NotThere, NotEnoughSeed, Conflict: more grams than there are. Refused: a day
    still to come or before the harvest, or grams taken of seed that is counted.
    """
    with transaction(session):
        lot = find_lot(session, code)
        amount, weight, sources = form.amount, _weight(session, lot), list[Source]()
        movement = Movement(
            lot_id=row_id(lot.id),
            on_date=since_harvest(lot, form.on_date, field="on_date", today=today),
            reason=MovementReason(form.reason.value),
            grams=amount.grams,
            note=form.note,
            recorded_at=now,
        )
        left_g = math.nan
        if weight is None and amount.grams is not None:
            if form.reason not in _IN:
                left_g = _grams_left(session, lot, amount.grams)
        else:
            weighed = weigh(
                seeds=amount.seeds, grams=amount.grams, seeds_se=amount.seeds_se, weight=weight
            )
            movement.seeds = weighed.seeds if form.reason in _IN else -weighed.seeds
            movement.seeds_se = weighed.seeds_se
            movement.thousand_seed_weight_g = weighed.tsw_g
            sources = [weighed.source] if weighed.source else []
        with taking(lot, field="amount.seeds" if amount.seeds else "amount.grams"):
            book(session, movement)
        if amount.grams is not None and left_g <= _NOTHING * amount.grams:
            book(session, _emptied(movement))
        return _answer(session, lot, movement, sources=sources)


def _grams_left(session: Session, lot: Lot, grams: float) -> float:
    """What is left of a lot's grams if some are taken; nan if not all of it was weighed.

    Raises Refused: it is counted in seeds. Conflict: more than there is.
    """
    number, field = row_id(lot.id), "amount.grams"
    if balance(session, number).seeds is not None:
        raise Refused("seed-weight-unknown", field, grams)
    held = grams_left(session, [number]).get(number, math.nan)
    if grams > held * (1.0 + _NOTHING):
        raise Conflict("grams-not-enough", field, grams, lot=lot.code, held_g=held)
    return held - grams


def _emptied(taken: Movement) -> Movement:
    """A stock-take of nothing, where all grams were taken."""
    return Movement(
        lot_id=taken.lot_id,
        on_date=taken.on_date,
        reason=MovementReason.STOCK_TAKE,
        seeds=0,
        note=text_of(Finding("all-grams-taken")),
        recorded_at=taken.recorded_at,
    )


def record_stock_take(
    session: Session, code: str, form: StockTakeCreate, *, today: date, now: datetime
) -> MovementAnswer:
    """Book what the packet really holds; the difference becomes a movement.

    Raises MisreadCode, NotThere, Refused: as a movement.
    """
    with transaction(session):
        lot = find_lot(session, code)
        counted = weigh(
            seeds=form.seeds,
            grams=form.grams,
            seeds_se=form.seeds_se,
            weight=_weight(session, lot),
            field="",
        )
        movement = Movement(
            lot_id=row_id(lot.id),
            on_date=since_harvest(lot, form.on_date, field="on_date", today=today),
            reason=MovementReason.STOCK_TAKE,
            seeds=counted.seeds,
            seeds_se=counted.seeds_se,
            grams=counted.grams,
            thousand_seed_weight_g=counted.tsw_g,
            note=form.note,
            recorded_at=now,
        )
        book(session, movement)
        sources = [counted.source] if counted.source else []
        return _answer(session, lot, movement, sources=sources)


def record_stock_takes(
    session: Session,
    takes: Sequence[tuple[str, StockTakeCreate]],
    *,
    today: date,
    now: datetime,
) -> list[MovementAnswer]:
    """Book what several packets hold, by code; where one can't be, none is.

    Raises as taking stock of one, the field told by its place, like ``takes[1].seeds``.
    """
    with transaction(session):
        booked = []
        for at, (code, form) in enumerate(takes):
            try:
                booked.append(record_stock_take(session, code, form, today=today, now=now))
            except StockFault as fault:
                fault.field = f"takes[{at}].{fault.field}"
                raise
        return booked


def undo_movement(
    session: Session, code: str, serial: int, *, today: date, now: datetime
) -> MovementAnswer:
    """Undo a movement by booking its opposite; both stay on record.

    Raises MisreadCode, NotThere, Conflict: it belongs to a test or a sowing, is undone already,
    or the packet was counted since. NotEnoughSeed: its seed has been used since.
    """
    with transaction(session):
        lot = find_lot(session, code)
        movement = numbered_movement(session, lot, serial)
        _check_free(session, movement)
        with taking(lot, field="serial"):
            note = text_of(Finding("undoes-movement", {"serial": str(serial)}))
            undoing = undo(session, movement, note=note, on=today, now=now)
        return _answer(session, lot, undoing)


def show_movement(session: Session, code: str, serial: int) -> MovementAnswer:
    """One movement of a lot. Raises MisreadCode, NotThere."""
    lot = find_lot(session, code)
    return _answer(session, lot, numbered_movement(session, lot, serial))


def list_movements(
    session: Session, code: str, reason: MovementReason | None, paging: Paging
) -> Page[MovementAnswer]:
    """A lot's movements in the order booked. Raises MisreadCode, NotThere, BadValue: the cursor."""
    lot = find_lot(session, code)
    page = find_movements(session, row_id(lot.id), paging, reason=reason)
    undone = _serials(session, [m.reverses_id for m in page.items if m.reverses_id])
    first = first_counts(session, page.items)
    return Page([_shown(lot, m, undone, first, [], []) for m in page.items], page.next)


@contextmanager
def taking(lot: Lot, *, field: str) -> Iterator[None]:
    """Say which lot holds too little, and in which field too much was asked."""
    try:
        yield
    except Overdrawn as fault:
        raise NotEnoughSeed(lot.code, fault.asked, fault.held, field=field) from fault


def undo(session: Session, movement: Movement, *, on: date, note: str, now: datetime) -> Movement:
    """Book a movement's opposite. Raises Conflict: it can't be undone. Overdrawn."""
    try:
        return reverse(session, row_id(movement.id), on=on, note=note, now=now)
    except CannotReverse as fault:
        raise Conflict(fault.code, "serial", movement.serial, **fault.values) from fault


def _weight(session: Session, lot: Lot) -> SeedWeight | None:
    return seed_weight(lot, facts_for(session, lot_entry(session, lot).kind))


def answer_movements(
    session: Session, booked: Sequence[tuple[Lot, Movement]], warned: bool = False
) -> list[MovementAnswer]:
    """Movements of lots as they are answered; ``warned``: of seed gone below the reserve."""
    undone = _serials(session, [m.reverses_id for _, m in booked if m.reverses_id])
    first = first_counts(session, [movement for _, movement in booked])
    return [
        _shown(lot, m, undone, first, reserve_warning(session, lot, m) if warned else [], [])
        for lot, m in booked
    ]


def numbered_movement(session: Session, lot: Lot, serial: int) -> Movement:
    """The movement with this serial. Raises NotThere."""
    found = select(Movement).where(Movement.lot_id == lot.id, Movement.serial == serial)
    movement = session.exec(found).first()
    if movement is None:
        raise NotThere("movement", serial, field="serial")
    return movement


def _check_free(session: Session, movement: Movement) -> None:
    for what, number in users_of(session, movement):
        raise Conflict(
            "movement-of-test-or-sowing", "serial", movement.serial, what=what, number=number
        )


def _answer(
    session: Session, lot: Lot, movement: Movement, *, sources: Sequence[Source] = ()
) -> MovementAnswer:
    undone = _serials(session, [movement.reverses_id] if movement.reverses_id else [])
    first, warnings = first_counts(session, [movement]), reserve_warning(session, lot, movement)
    return _shown(lot, movement, undone, first, warnings, list(sources))


def _shown(
    lot: Lot,
    movement: Movement,
    undone: dict[int, int],
    first: set[int],
    warnings: list[FindingAnswer],
    sources: list[Source],
) -> MovementAnswer:
    return MovementAnswer(
        **movement.model_dump(exclude=_NOT_SHOWN),
        seeds_se=round(movement.seeds_se, 1),
        lot=lot.code,
        first_count=movement.id in first,
        undoes=undone[movement.reverses_id] if movement.reverses_id else None,
        warnings=warnings,
        sources=sources,
    )


def _serials(session: Session, numbers: list[int]) -> dict[int, int]:
    found = session.exec(select(Movement.id, Movement.serial).where(col(Movement.id).in_(numbers)))
    return {row_id(number): serial for number, serial in found}


def reserve_warning(session: Session, lot: Lot, movement: Movement) -> list[FindingAnswer]:
    """Seed given or sown below the variety's reserve is said, not refused."""
    variety = session.get_one(Variety, lot.variety_id)
    if movement.seeds is None or movement.seeds >= 0 or not variety.reserve_seeds:
        return []
    numbers = [
        row_id(number)
        for number in session.exec(select(Lot.id).where(Lot.variety_id == variety.id))
    ]
    left = total_seeds(balances(session, numbers).values())
    if left is None or left >= variety.reserve_seeds:
        return []
    return [_under_reserve("now", variety, left)]


def _under_reserve(when: str, variety: Variety, left: int) -> FindingAnswer:
    return FindingAnswer.of(
        Finding(
            "stock-under-reserve",
            {
                "when": when,
                "variety": variety.name,
                "seeds": left,
                "reserve_seeds": variety.reserve_seeds,
            },
        )
    )


def foresee_taking(session: Session, code: str, amount: Amount) -> TakingForeseen:
    """What would be left. Raises MisreadCode, NotThere, NotEnoughSeed, Conflict, Refused: as
    taking it.
    """
    entry = lot_entry(session, find_lot(session, code))
    weight = seed_weight(entry.lot, facts_for(session, entry.kind))
    if weight is None and amount.grams is not None:
        left_g = _grams_left(session, entry.lot, amount.grams)
        return TakingForeseen(
            seeds=None,
            grams=amount.grams,
            left_seeds=None,
            left_grams=None if math.isnan(left_g) else float(f"{max(left_g, 0.0):.3g}"),
            warnings=[],
        )
    taken = weigh(
        seeds=amount.seeds, grams=amount.grams, seeds_se=amount.seeds_se, weight=weight
    ).seeds
    fellows = session.exec(select(Lot.id).where(Lot.variety_id == entry.variety.id))
    held = balances(session, [row_id(number) for number in fellows])
    mine = held[row_id(entry.lot.id)].seeds
    if mine is not None and taken > mine:
        field = "amount.seeds" if amount.seeds else "amount.grams"
        raise NotEnoughSeed(entry.lot.code, taken, mine, field=field)
    together = total_seeds(held.values())
    warnings = []
    if together is not None and together - taken < entry.variety.reserve_seeds:
        warnings.append(_under_reserve("then", entry.variety, together - taken))
    left = None if mine is None else mine - taken
    return TakingForeseen(
        seeds=taken,
        grams=grams_of(taken, weight),
        left_seeds=left,
        left_grams=None if left is None else grams_of(left, weight),
        warnings=warnings,
    )


def giving_cautions(session: Session, code: str) -> list[CautionAnswer]:
    """Cautions of the lot, of moving seed and of selling it. Raises MisreadCode, NotThere."""
    entry = lot_entry(session, find_lot(session, code))
    facts = facts_for(session, entry.kind)
    return lot_cautions(entry.lot, facts, (Situation.MOVING, Situation.SELLING))
