"""Ledgers of lots added in this very transaction: nobody else can book on them.

So they are kept in memory, by the same rules as ``ledger``, and written together at the end.
"""

from dataclasses import dataclass, field
from datetime import date, datetime

from sqlmodel import Session

from seedbank.lots.tables.ledger import (
    Movement,
    MovementReason,
    found_less_sum,
    new_movement,
    place_after,
)


@dataclass(slots=True)
class FirstLedgers:
    """Movements booked so far, by lot, and those not yet written."""

    _last: dict[int, Movement] = field(default_factory=dict)
    _unwritten: list[Movement] = field(default_factory=list)
    _known: dict[int, int] = field(default_factory=dict)  # the sum of all numbers known

    def book(
        self,
        *,
        lot_id: int,
        on: date,
        reason: MovementReason,
        seeds: int | None,
        seeds_se: float = 0.0,
        grams: float | None = None,
        thousand_seed_weight_g: float | None = None,
        note: str = "",
        now: datetime,
    ) -> Movement:
        """As ``ledger.book``, but for the movement's id: it has none until it is written.

        Raises WrongSign, BadValue, Overdrawn.
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
        return self._place(movement)

    def take_stock(
        self,
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
        """As ``ledger.take_stock``. Raises BadValue."""
        movement = new_movement(
            lot_id=lot_id,
            on=on,
            reason=MovementReason.STOCK_TAKE,
            seeds=found_less_sum(counted_seeds, self._known.get(lot_id, 0)),
            seeds_se=counted_se,
            grams=grams,
            thousand_seed_weight_g=thousand_seed_weight_g,
            note=note,
            now=now,
        )
        return self._place(movement, found=counted_seeds)

    def _place(self, movement: Movement, *, found: int | None = None) -> Movement:
        lot_id = movement.lot_id
        self._last[lot_id] = place_after(self._last.get(lot_id), movement, found=found)
        self._known[lot_id] = self._known.get(lot_id, 0) + (movement.seeds or 0)
        self._unwritten.append(movement)
        return movement

    def write(self, session: Session) -> None:
        """Put what was booked into the database, without committing."""
        session.add_all(self._unwritten)
        session.flush()
        self._unwritten.clear()
