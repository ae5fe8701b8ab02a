"""What lots hold: the sum of their movements, with its standard error."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from sqlalchemy import Connection, Select, bindparam, case, func, select, text, true
from sqlmodel import Session, col

from seedbank.lots.tables.ledger import Movement, MovementReason, last_serials, stands

# Looked for only among lots that seed came into uncounted, or that say so.
_MISTOLD = """
    SELECT m.*, l.code, coalesce(CAST(m.balance_seeds AS TEXT), 'not counted') AS told
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
