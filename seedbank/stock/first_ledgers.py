"""Ledgers of lots added in this very transaction: nobody else can book on them.

So they are kept in memory, by the same rules as ``ledger``, and written together at the end.
"""

from dataclasses import dataclass, field
from datetime import date, datetime

from sqlmodel import Session

from seedbank.stock.ledger import (
    Movement,
    MovementReason,
    found_less_held,
    new_movement,
    place_after,
)


@dataclass(slots=True)
class FirstLedgers:
    """Movements booked so far, by lot, and those not yet written."""

    _last: dict[int, Movement] = field(default_factory=dict)
    _unwritten: list[Movement] = field(default_factory=list)

    def book(
        self,
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
        self._last[lot_id] = place_after(self._last.get(lot_id), movement)
        self._unwritten.append(movement)
        return movement

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
        return self.book(
            lot_id=lot_id,
            on=on,
            reason=MovementReason.STOCK_TAKE,
            seeds=found_less_held(counted_seeds, self._last.get(lot_id)),
            seeds_se=counted_se,
            grams=grams,
            thousand_seed_weight_g=thousand_seed_weight_g,
            note=note,
            now=now,
        )

    def write(self, session: Session) -> None:
        """Put what was booked into the database, without committing."""
        session.add_all(self._unwritten)
        session.flush()
        self._unwritten.clear()
