"""Undoing a movement: its opposite is booked, and what the lot holds without it is worked out."""

from datetime import date, datetime

from sqlalchemy import func, select
from sqlmodel import Session, col

from seedbank.common.errors import CannotReverse, Missing, Overdrawn
from seedbank.lots.tables.ledger import (
    COMES_IN,
    Movement,
    MovementReason,
    lock_last,
    stands,
    sum_known,
)


def reverse(
    session: Session, movement_id: int, *, on: date, note: str = "", now: datetime
) -> Movement:
    """Undo a movement by booking its opposite; both stay in the ledger.

    Neither counts towards the balance's standard error any more; undoing a stock-take gives the
    one before it force again.

    Raises Missing: no such movement. CannotReverse: it is itself an undoing, is undone already,
    or a stock-take has since counted the packet. Overdrawn: its seeds have been used since.
    """
    movement = session.get(Movement, movement_id)
    if movement is None:
        raise Missing("movement", movement_id)
    last = lock_last(session, movement.lot_id)
    assert last is not None  # the movement at least is there
    _check_reversible(session, movement, movement_id)
    if lacks_grams_without(session, movement):
        raise CannotReverse("grams-taken-since", movement_id)
    undoing = Movement(
        lot_id=movement.lot_id,
        serial=last.serial + 1,
        on_date=on,
        reason=MovementReason.STOCK_TAKE,
        seeds=None if movement.seeds is None else -movement.seeds,
        balance_seeds=_balance_without(session, movement, last),
        grams=movement.grams,
        thousand_seed_weight_g=movement.thousand_seed_weight_g,
        reverses_id=movement_id,
        note=note,
        recorded_at=now,
    )
    session.add(undoing)
    session.flush()
    return undoing


def lacks_grams_without(session: Session, movement: Movement) -> bool:
    """Whether grams were taken of the seed a movement brought in uncounted, and no other did."""
    if movement.seeds is not None or movement.reason not in COMES_IN:
        return False
    others = select(Movement).where(
        col(Movement.lot_id) == movement.lot_id,
        col(Movement.id) != movement.id,
        (col(Movement.seeds).is_(None)) | (col(Movement.reason) == MovementReason.STOCK_TAKE),
        stands(),
    )
    held, weighed = 0.0, True
    for one in session.execute(others.order_by(col(Movement.serial))).scalars():
        if one.seeds is not None:
            held, weighed = 0.0, True
        elif one.reason in COMES_IN:
            held, weighed = held + (one.grams or 0.0), weighed and one.grams is not None
        else:
            held -= one.grams or 0.0
    return weighed and held < 0.0


def _balance_without(session: Session, movement: Movement, last: Movement) -> int | None:
    """What the lot holds once a movement of its is undone; None: some, not counted.

    Raises Overdrawn: its seed has been used since.
    """
    if _not_counted_without(session, movement):
        return None
    left = sum_known(session, last) - (movement.seeds or 0)
    if left < 0:
        held = max(left + (movement.seeds or 0), 0)
        raise Overdrawn(movement.lot_id, held, held - left)
    return left


def _not_counted_without(session: Session, movement: Movement) -> bool:
    """Whether uncounted seed is left, and no stock-take of it, when a movement is undone."""
    others = select(func.max(col(Movement.serial))).where(
        col(Movement.lot_id) == movement.lot_id, col(Movement.id) != movement.id, stands()
    )
    uncounted = session.execute(others.where(col(Movement.seeds).is_(None))).scalar()
    if uncounted is None:
        return False
    take = others.where(col(Movement.reason) == MovementReason.STOCK_TAKE)
    return bool(uncounted > (session.execute(take).scalar() or 0))


def _check_reversible(session: Session, movement: Movement, movement_id: int) -> None:
    if movement.reverses_id is not None:
        raise CannotReverse("undoes-another", movement_id)
    undoing = select(Movement).where(col(Movement.reverses_id) == movement_id)
    if session.execute(undoing).first() is not None:
        raise CannotReverse("undone-already", movement_id)
    counted_since = session.execute(
        select(col(Movement.on_date)).where(
            col(Movement.lot_id) == movement.lot_id,
            col(Movement.serial) > movement.serial,
            col(Movement.reason) == MovementReason.STOCK_TAKE,
            stands(),
        )
    ).scalar()
    if counted_since is not None:
        raise CannotReverse("counted-since", movement_id, counted=counted_since)
