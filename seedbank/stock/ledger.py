"""The seed ledger: every change of a lot's amount is a movement, and the balance is their sum."""

from datetime import date, datetime
from enum import StrEnum
from functools import cache

from sqlalchemy import CheckConstraint, ColumnElement, UniqueConstraint, select
from sqlalchemy.orm import aliased
from sqlmodel import Field, Session, SQLModel, col

from seedbank.stock.amounts import check_amounts
from seedbank.stock.base import UtcDateTime, unique_where, word
from seedbank.stock.errors import BadValue, CannotReverse, Missing, Overdrawn, WrongSign
from seedbank.stock.lots import Lot


class MovementReason(StrEnum):
    ACQUIRED = "acquired"
    HARVESTED = "harvested"
    TESTED = "tested"
    SOWN = "sown"
    GIVEN = "given"
    DISCARDED = "discarded"
    STOCK_TAKE = "stock-take"


_COMES_IN = frozenset({MovementReason.ACQUIRED, MovementReason.HARVESTED})
_GOES_OUT = frozenset(MovementReason) - _COMES_IN - {MovementReason.STOCK_TAKE}


class Movement(SQLModel, table=True):
    """One signed change of a lot's amount, in seed units (a beet cluster is one unit).

    ``serial`` counts the lot's movements from 1 and ``balance_seeds`` is the sum so far, so two
    writers can't both take the last seeds: the second breaks the unique (lot, serial).
    ``grams`` is what was weighed, where it was weighed; ``thousand_seed_weight_g`` what converted
    it, and ``seeds_se`` the standard error that conversion (or an estimate by eye) carries; of a
    stock-take it is the standard error of the amount counted. A movement is never deleted: undoing
    it is a counter-movement, booked as a stock-take correction with ``reverses_id``.
    """

    __tablename__ = "movement"
    __table_args__ = (
        UniqueConstraint("lot_id", "serial"),
        unique_where("uq_movement_reverses_id", "reverses_id", condition="reverses_id IS NOT NULL"),
        CheckConstraint("balance_seeds >= 0", name="balance_seeds"),
        CheckConstraint("serial >= 1", name="serial"),
        CheckConstraint("seeds_se >= 0", name="seeds_se"),
        CheckConstraint("grams >= 0", name="grams"),
    )

    id: int | None = Field(default=None, primary_key=True)
    lot_id: int = Field(foreign_key="lot.id")
    serial: int
    on_date: date
    reason: MovementReason = Field(sa_type=word(MovementReason))
    seeds: int = Field(description="signed change in seed units")
    seeds_se: float = Field(default=0.0, description="standard error of that change")
    balance_seeds: int = Field(description="sum of the lot's movements up to this one")
    grams: float | None = Field(default=None)
    thousand_seed_weight_g: float | None = Field(default=None)
    reverses_id: int | None = Field(
        default=None, foreign_key="movement.id", description="the movement undone"
    )
    note: str = Field(default="", max_length=400)
    recorded_at: datetime = Field(sa_type=UtcDateTime)


def book(
    session: Session,
    *,
    lot_id: int,
    on: date,
    reason: MovementReason,
    seeds: int,
    seeds_se: float = 0.0,
    grams: float | None = None,
    thousand_seed_weight_g: float | None = None,
    note: str = "",
    now: datetime,
) -> Movement:
    """Book one movement of ``seeds`` (signed: in > 0, out < 0) and flush it, without committing.

    Raises Missing: no such lot. WrongSign: ``seeds`` of the wrong sign for ``reason``.
    BadValue: a standard error or weight out of range. Overdrawn: more than the lot holds.
    Nothing is changed when it raises.
    """
    movement = new_movement(
        lot_id=lot_id,
        on=on,
        reason=reason,
        seeds=seeds,
        seeds_se=seeds_se,
        grams=grams,
        thousand_seed_weight_g=thousand_seed_weight_g,
        note=note,
        now=now,
    )
    return _append(session, _lock_last(session, lot_id), movement)


def new_movement(
    *,
    lot_id: int,
    on: date,
    reason: MovementReason,
    seeds: int,
    seeds_se: float,
    grams: float | None,
    thousand_seed_weight_g: float | None,
    note: str,
    now: datetime,
) -> Movement:
    """A movement not yet in any ledger (``place_after``). Raises WrongSign, BadValue."""
    _check_sign(reason, seeds)
    check_amounts(seeds_se, grams, thousand_seed_weight_g)
    return Movement(
        lot_id=lot_id,
        serial=1,
        on_date=on,
        reason=reason,
        seeds=seeds,
        seeds_se=seeds_se,
        balance_seeds=0,
        grams=grams,
        thousand_seed_weight_g=thousand_seed_weight_g,
        note=note,
        recorded_at=now,
    )


def take_stock(
    session: Session,
    *,
    lot_id: int,
    on: date,
    counted_seeds: int,
    counted_se: float = 0.0,
    grams: float | None = None,
    thousand_seed_weight_g: float | None = None,
    note: str = "",
    now: datetime,
) -> Movement:
    """Book what was found in the packet: the movement is counted less balance, 0 included.

    From here on the balance's standard error starts anew at ``counted_se``.
    Raises Missing: no such lot. BadValue: a count, error or weight out of range.
    """
    difference = found_less_held(counted_seeds, _lock_last(session, lot_id))
    return book(
        session,
        lot_id=lot_id,
        on=on,
        reason=MovementReason.STOCK_TAKE,
        seeds=difference,
        seeds_se=counted_se,
        grams=grams,
        thousand_seed_weight_g=thousand_seed_weight_g,
        note=note,
        now=now,
    )


def found_less_held(counted_seeds: int, last: Movement | None) -> int:
    """What a stock-take changes after a lot's ``last`` movement. Raises BadValue: below 0."""
    if counted_seeds < 0:
        raise BadValue("counted_seeds", counted_seeds, "count 0 seeds or more")
    return counted_seeds - (last.balance_seeds if last else 0)


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
    last = _lock_last(session, movement.lot_id)
    _check_reversible(session, movement, movement_id)
    return _append(
        session,
        last,
        Movement(
            lot_id=movement.lot_id,
            serial=1,
            on_date=on,
            reason=MovementReason.STOCK_TAKE,
            seeds=-movement.seeds,
            balance_seeds=0,
            grams=movement.grams,
            thousand_seed_weight_g=movement.thousand_seed_weight_g,
            reverses_id=movement_id,
            note=note,
            recorded_at=now,
        ),
    )


@cache  # dear to build, and always the same
def stands() -> ColumnElement[bool]:
    """A condition: the movement is neither undone nor an undoing."""
    undoing = aliased(Movement)
    undone = select(undoing).where(col(undoing.reverses_id) == col(Movement.id)).exists()
    return col(Movement.reverses_id).is_(None) & ~undone


def _lock_last(session: Session, lot_id: int) -> Movement | None:
    """The lot's last movement, with the lot's row locked until the transaction ends.

    SQLite has no row locks and needs none: a writing session holds the whole file from its start.
    """
    lot = select(col(Lot.id)).where(col(Lot.id) == lot_id).with_for_update()
    if session.execute(lot).first() is None:
        raise Missing("lot", lot_id)
    newest_first = (
        select(Movement)
        .where(col(Movement.lot_id) == lot_id)
        .order_by(col(Movement.serial).desc())
        .limit(1)
    )
    return session.execute(newest_first).scalar_one_or_none()


def _append(session: Session, last: Movement | None, movement: Movement) -> Movement:
    session.add(place_after(last, movement))
    session.flush()
    return movement


def place_after(last: Movement | None, movement: Movement) -> Movement:
    """Number a movement after the lot's last and sum it up. Raises Overdrawn."""
    held = last.balance_seeds if last else 0
    if held + movement.seeds < 0:
        raise Overdrawn(movement.lot_id, held, -movement.seeds)
    movement.serial = last.serial + 1 if last else 1
    movement.balance_seeds = held + movement.seeds
    return movement


def _check_sign(reason: MovementReason, seeds: int) -> None:
    """Raise WrongSign where seed that comes in is taken out, or the other way about."""
    if reason in _COMES_IN and seeds <= 0:
        raise WrongSign(reason, seeds, f"seed {reason} comes in: book 1 seed or more")
    if reason in _GOES_OUT and seeds >= 0:
        raise WrongSign(reason, seeds, f"seed {reason} goes out: book -1 seed or fewer")


def _check_reversible(session: Session, movement: Movement, movement_id: int) -> None:
    if movement.reverses_id is not None:
        raise CannotReverse(movement_id, "it undoes another itself", "book the movement anew")
    undoing = select(Movement).where(col(Movement.reverses_id) == movement_id)
    if session.execute(undoing).first() is not None:
        raise CannotReverse(movement_id, "it is undone already", "nothing is left to do")
    counted_since = session.execute(
        select(col(Movement.on_date)).where(
            col(Movement.lot_id) == movement.lot_id,
            col(Movement.serial) > movement.serial,
            col(Movement.reason) == MovementReason.STOCK_TAKE,
            stands(),
        )
    ).scalar()
    if counted_since is not None:
        raise CannotReverse(
            movement_id,
            f"the stock-take of {counted_since.isoformat()} has counted the packet since",
            "book a new stock-take if the amount is wrong",
        )
