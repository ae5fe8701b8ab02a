"""The seed ledger: every change of a lot's amount is a movement, and the balance is their sum.

Seed may come in without anybody counting it. The lot then holds *some*: its balance isn't known,
whatever is taken out, until a stock-take that stands has counted the packet.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from functools import cache
from typing import Any

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    Connection,
    Select,
    UniqueConstraint,
    bindparam,
    case,
    func,
    select,
    text,
    true,
)
from sqlalchemy.orm import aliased
from sqlmodel import Field, Session, SQLModel, col

from seedbank.common.errors import BadValue, Missing, Overdrawn, WrongSign
from seedbank.database.base import UtcDateTime, unique_where, word
from seedbank.database.queries import in_parts
from seedbank.lots.tables.lots import Lot


class MovementReason(StrEnum):
    ACQUIRED = "acquired"
    HARVESTED = "harvested"
    TESTED = "tested"
    SOWN = "sown"
    GIVEN = "given"
    DISCARDED = "discarded"
    STOCK_TAKE = "stock-take"


COMES_IN = frozenset({MovementReason.ACQUIRED, MovementReason.HARVESTED})
_BY_WEIGHT = frozenset({MovementReason.SOWN, MovementReason.GIVEN, MovementReason.DISCARDED})
_GOES_OUT = frozenset(MovementReason) - COMES_IN - {MovementReason.STOCK_TAKE}


class Movement(SQLModel, table=True):
    """One signed change of a lot's amount, in seed units (a beet cluster is one unit).

    ``serial`` counts the lot's movements from 1 and ``balance_seeds`` is the sum so far, so two
    writers can't both take the last seeds: the second breaks the unique (lot, serial).
    ``grams`` is what was weighed, where it was weighed; ``thousand_seed_weight_g`` what converted
    it, and ``seeds_se`` the standard error that conversion (or an estimate by eye) carries; of a
    stock-take it is the standard error of the amount counted. A movement is never deleted: undoing
    it is a counter-movement, booked as a stock-take correction with ``reverses_id``.

    ``seeds`` is None of seed that came in uncounted or of which grams were taken, since nobody
    knows what it weighs, and of their undoing; ``balance_seeds`` while
    such seed is there and no stock-take has counted it. The numbers that are known keep a sum of
    their own all the while, which may be below 0; a stock-take brings that sum to what it found,
    so that its ``seeds`` are then what must have come in, less what was taken for granted.
    """

    __tablename__ = "movement"
    __table_args__ = (
        UniqueConstraint("lot_id", "serial"),
        unique_where("uq_movement_reverses_id", "reverses_id", condition="reverses_id IS NOT NULL"),
        CheckConstraint("balance_seeds >= 0", name="balance_seeds"),
        CheckConstraint(
            "seeds IS NOT NULL OR reason IN ('acquired', 'harvested') OR reverses_id IS NOT NULL "
            "OR (grams IS NOT NULL AND reason IN ('sown', 'given', 'discarded'))",
            name="counted",
        ),
        CheckConstraint("serial >= 1", name="serial"),
        CheckConstraint("seeds_se >= 0", name="seeds_se"),
        CheckConstraint("grams >= 0", name="grams"),
    )

    id: int | None = Field(default=None, primary_key=True)
    lot_id: int = Field(foreign_key="lot.id")
    serial: int = Field(default=0, description="0 of one not booked yet")
    on_date: date
    reason: MovementReason = Field(sa_type=word(MovementReason))
    seeds: int | None = Field(default=None, description="signed change in seed units")
    seeds_se: float = Field(default=0.0, description="standard error of that change")
    balance_seeds: int | None = Field(
        default=None, description="sum of the lot's movements up to this one"
    )
    grams: float | None = Field(default=None)
    thousand_seed_weight_g: float | None = Field(default=None)
    reverses_id: int | None = Field(
        default=None, foreign_key="movement.id", description="the movement undone"
    )
    note: str = Field(default="", max_length=400)
    recorded_at: datetime = Field(sa_type=UtcDateTime)


def book(session: Session, movement: Movement) -> Movement:
    """Enter a new movement in its lot's ledger and flush it, without committing.

    ``seeds`` is signed (in > 0, out < 0), or None: some came in, and nobody counted it, or some
    ``grams`` of it were taken. Of a
    stock-take it is what was found in the packet, and becomes what that changes (0 included); from
    here on the balance's standard error starts anew at ``seeds_se``.

    Raises Missing: no such lot. WrongSign: ``seeds`` of the wrong sign for ``reason``.
    BadValue: a count, standard error or weight out of range. Overdrawn: more than the lot holds.
    Nothing is changed when it raises.
    """
    _check(movement)
    last = lock_last(session, movement.lot_id)
    takes_stock = movement.reason is MovementReason.STOCK_TAKE
    session.add(_place_after(last, movement, sum_known(session, last) if takes_stock else 0))
    session.flush()
    return movement


@dataclass(slots=True)
class FirstLedgers:
    """Ledgers of lots added in this very transaction, on which nobody else can book.

    So they are held in memory, by the same rules, and written together at the end.
    """

    _last: dict[int, Movement] = field(default_factory=dict)
    _unwritten: list[Movement] = field(default_factory=list)
    _known: dict[int, int] = field(default_factory=dict)  # the sum of all numbers known

    def book(self, movement: Movement) -> Movement:
        """As ``book``, but for the movement's id: it has none until it is written."""
        _check(movement)
        lot_id = movement.lot_id
        known = self._known.get(lot_id, 0)
        self._last[lot_id] = _place_after(self._last.get(lot_id), movement, known)
        self._known[lot_id] = known + (movement.seeds or 0)
        self._unwritten.append(movement)
        return movement

    def write(self, session: Session) -> None:
        """Put what was booked into the database, without committing."""
        session.add_all(self._unwritten)
        session.flush()
        self._unwritten.clear()


def sum_known(session: Session, last: Movement | None) -> int:
    """Sum of all that is known of a lot's movements up to its ``last``."""
    if last is None:
        return 0
    if last.balance_seeds is not None:
        return last.balance_seeds
    query = select(func.sum(col(Movement.seeds))).where(col(Movement.lot_id) == last.lot_id)
    return session.execute(query).scalar_one() or 0


def last_serials() -> tuple[ColumnElement[int], ColumnElement[int]]:
    """Of some movements of a lot: the last serial, and the last with a balance not known.

    Where the two are the same the lot holds some, not counted.
    """
    serial = col(Movement.serial)
    unknown = case((col(Movement.balance_seeds).is_(None), serial), else_=0)
    return func.max(serial), func.max(unknown)


@cache  # dear to build, and always the same
def stands() -> ColumnElement[bool]:
    """A condition: the movement is neither undone nor an undoing."""
    undoing = aliased(Movement)
    undone = select(undoing).where(col(undoing.reverses_id) == col(Movement.id)).exists()
    return col(Movement.reverses_id).is_(None) & ~undone


def lock_last(session: Session, lot_id: int) -> Movement | None:
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


def _place_after(last: Movement | None, movement: Movement, known: int) -> Movement:
    """Number a movement after the lot's last and sum it up. Raises Overdrawn.

    ``known``: the sum of all that is known of the lot's movements; a stock-take changes that.
    """
    held = last.balance_seeds if last else 0
    movement.serial = last.serial + 1 if last else 1
    if movement.reason is MovementReason.STOCK_TAKE and movement.seeds is not None:
        movement.balance_seeds = movement.seeds
        movement.seeds -= known
    elif held is None or movement.seeds is None:
        if held is not None and movement.reason in _GOES_OUT:
            raise BadValue("seed-going-out-uncounted", "seeds", None, reason=movement.reason)
        movement.balance_seeds = None
    elif held + movement.seeds < 0:
        raise Overdrawn(movement.lot_id, held, -movement.seeds)
    else:
        movement.balance_seeds = held + movement.seeds
    return movement


def _check(movement: Movement) -> None:
    """Raise WrongSign where seed that comes in is taken out, or the other way about; BadValue."""
    reason, seeds = movement.reason, movement.seeds
    if not 0 <= movement.seeds_se < math.inf:
        raise BadValue("standard-error-negative", "seeds_se", movement.seeds_se)
    if movement.grams is not None and not 0 <= movement.grams < math.inf:
        raise BadValue("weight-negative", "grams", movement.grams)
    weight_g = movement.thousand_seed_weight_g
    if weight_g is not None and not 0 < weight_g < math.inf:
        raise BadValue("thousand-seed-weight-not-positive", "thousand_seed_weight_g", weight_g)
    if seeds is None:
        if reason not in COMES_IN and (reason not in _BY_WEIGHT or not movement.grams):
            raise BadValue("seed-going-out-uncounted", "seeds", None, reason=reason)
        return
    if reason is MovementReason.STOCK_TAKE and seeds < 0:
        raise BadValue("stock-take-negative", "seeds", seeds)
    if reason in COMES_IN and seeds <= 0:
        raise WrongSign("seed-coming-in-negative", reason, seeds)
    if reason in _GOES_OUT and seeds >= 0:
        raise WrongSign("seed-going-out-positive", reason, seeds)


# Looked for only among lots that seed came into uncounted, or that say so.
_MISTOLD = """
    SELECT m.*, l.code
    FROM movement m LEFT JOIN lot l ON l.id = m.lot_id
    WHERE m.lot_id IN (SELECT lot_id FROM movement WHERE seeds IS NULL OR balance_seeds IS NULL)
    AND (m.balance_seeds IS NULL) <> EXISTS (
        SELECT 1 FROM movement o WHERE o.lot_id = m.lot_id AND o.seeds IS NULL
        AND o.serial <= m.serial AND o.reverses_id IS NULL
        AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.reverses_id = o.id
            AND u.serial <= m.serial)
        AND NOT EXISTS (SELECT 1 FROM movement s WHERE s.lot_id = o.lot_id
            AND s.reason = 'stock-take' AND s.reverses_id IS NULL
            AND s.serial > o.serial AND s.serial <= m.serial
            AND NOT EXISTS (SELECT 1 FROM movement v WHERE v.reverses_id = s.id
                AND v.serial <= m.serial)))
"""


def mistold_lots(connection: Connection, limit: int) -> list[str]:
    """Codes of lots whose amount is told as known, or as not, against their movements."""
    query = text(f"SELECT DISTINCT code FROM ({_MISTOLD}) AS mistold ORDER BY code LIMIT :limit")
    return list(connection.execute(query, {"limit": limit}).scalars())


@dataclass(frozen=True, slots=True)
class Balance:
    """Seed units a lot holds, and the standard error of that number.

    ``seeds`` is None where it holds some and nobody has counted it; the error is then 0.
    """

    seeds: int | None
    seeds_se: float

    @property
    def any(self) -> bool:
        """Whether there is seed, counted or not."""
        return self.seeds is None or self.seeds > 0

    def has(self, seeds: int) -> bool:
        """Whether it may hold so many: nothing counted speaks against it."""
        return self.seeds is None or self.seeds >= seeds


def total_seeds(held: Iterable[Balance]) -> int | None:
    """Seeds of several lots together; None where any of them isn't counted."""
    total = 0
    for one in held:
        if one.seeds is None:
            return None
        total += one.seeds
    return total


NONE_LEFT = Balance(0, 0.0)
NOT_COUNTED = Balance(None, 0.0)


def balance(session: Session, lot_id: int) -> Balance:
    """What one lot holds; a lot without movements, or none such, holds 0."""
    return balances(session, [lot_id])[lot_id]


def balances(session: Session, lot_ids: Iterable[int] | None = None) -> dict[int, Balance]:
    """What lots hold, in one query: every lot asked for, or every lot with a movement.

    The standard error is that of the movements since the last stock-take, it included and undone
    ones not: counts add as squares, weighings with one seed weight share its error, sign and all.
    """
    asked = None if lot_ids is None else set(lot_ids)
    sums, wanted = _sums(asked is None), {} if asked is None else {"lot_ids": list(asked)}
    held: dict[int, tuple[int, float, int, int]] = {}
    for lot_id, tsw_g, seeds, errors, last, unknown in session.execute(sums, wanted):
        so_far, error, last_before, unknown_before = held.get(lot_id, (0, 0.0, 0, 0))
        held[lot_id] = (
            so_far + int(seeds or 0),
            math.hypot(error, math.sqrt(errors) if tsw_g is None else errors),
            max(last, last_before),
            max(unknown, unknown_before),
        )
    found = {
        lot_id: NOT_COUNTED if last == unknown else Balance(seeds, error)
        for lot_id, (seeds, error, last, unknown) in held.items()
    }
    return found if asked is None else {id_: found.get(id_, NONE_LEFT) for id_ in asked}


def grams_left(session: Session, lot_ids: Iterable[int]) -> dict[int, float]:
    """What lots not counted hold by weight: what was weighed in since the last stock-take, less
    what was taken by weight. Lots into which any came unweighed are left out.
    """
    held: dict[int, float] = {}
    query = (
        select(col(Movement.lot_id), col(Movement.reason), col(Movement.seeds), col(Movement.grams))
        .where(
            (col(Movement.reason) == MovementReason.STOCK_TAKE) | col(Movement.seeds).is_(None),
            stands(),
        )
        .order_by(col(Movement.lot_id), col(Movement.serial))
    )
    for some in in_parts(lot_ids):
        of_some = query.where(col(Movement.lot_id).in_(some))
        for lot_id, reason, seeds, weighed in session.execute(of_some):
            if seeds is not None:
                held[lot_id] = 0.0
                continue
            grams = math.nan if weighed is None else weighed
            sign = 1.0 if reason in COMES_IN else -1.0
            held[lot_id] = held.get(lot_id, 0.0) + sign * grams
    return {lot_id: max(grams, 0.0) for lot_id, grams in held.items() if grams == grams}


@cache  # dear to build, and always the same
def _sums(of_all: bool) -> Select[*tuple[Any, ...]]:
    some = col(Movement.lot_id).in_(bindparam("lot_ids", expanding=True))
    wanted = true() if of_all else some
    counted = (
        select(col(Movement.lot_id), func.max(col(Movement.serial)).label("serial"))
        .where(wanted, col(Movement.reason) == MovementReason.STOCK_TAKE, stands())
        .group_by(col(Movement.lot_id))
        .subquery()
    )
    counts = stands() & (col(Movement.serial) >= func.coalesce(counted.c.serial, 1))
    error, weight = col(Movement.seeds_se), col(Movement.thousand_seed_weight_g)
    # A stock-take's error is that of all there is, whichever way it moved the balance.
    adds = (col(Movement.seeds) > 0) | (col(Movement.reason) == MovementReason.STOCK_TAKE)
    part = case((weight.is_(None), error * error), (adds, error), else_=-error)
    return (
        select(
            col(Movement.lot_id),
            weight,
            func.sum(col(Movement.seeds)),
            func.sum(case((counts, part), else_=0.0)),
            *last_serials(),
        )
        .outerjoin(counted, counted.c.lot_id == col(Movement.lot_id))
        .where(wanted).group_by(col(Movement.lot_id), weight)
    )  # fmt: skip
