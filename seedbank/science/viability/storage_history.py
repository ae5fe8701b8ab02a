"""The dose of many lots over their real storage histories, at any day.

A lot's history is a run of stays, each in a place whose yearly dose for the lot's kind is a row of
one table; the last stay goes on. Outside check: adding up the stays one by one with
``scipy.integrate.quad`` over ``sigma``.
"""

from dataclasses import dataclass, replace

import numpy as np

from seedbank.science.quantities import BoolArray, FloatArray, IntArray
from seedbank.science.viability.decline import days_until_dose, dose_since_new_year

_DAY_SPAN = 1 << 21  # days, more than any date; keeps (lot, day) in one sortable number
_DAY_OFFSET = 1 << 20


@dataclass(frozen=True, slots=True)
class StorageHistory:
    """Stays of all lots, in order of lot and start; ``before`` is the dose taken up before each.

    ``lot``, ``start_day``, ``row`` and ``before`` have shape (S,); ``first`` (L,) is each lot's
    first stay and ``last`` (L,) its last. ``table`` (P, 367) holds yearly doses.
    """

    lot: IntArray
    start_day: FloatArray
    row: IntArray
    before: FloatArray
    first: IntArray
    last: IntArray
    table: FloatArray

    def take(self, lots: IntArray) -> "StorageHistory":
        """The histories of some lots, numbered anew."""
        number = self.last[lots] - self.first[lots] + 1
        end = np.cumsum(number)
        turn = np.arange(int(number.sum())) - np.repeat(end - number, number)
        stay = np.repeat(self.first[lots], number) + turn
        return StorageHistory(
            lot=np.repeat(np.arange(lots.size), number),
            start_day=self.start_day[stay],
            row=self.row[stay],
            before=self.before[stay],
            first=end - number,
            last=end - 1,
            table=self.table,
        )

    def hastened(self, lots: BoolArray, times: float) -> "StorageHistory":
        """The same, but that some ``lots`` (L,) age so many times as fast."""
        if not lots.any():
            return self
        mine = lots[self.lot]
        return replace(
            self,
            row=self.row + np.where(mine, self.table.shape[0], 0),
            before=self.before * np.where(mine, times, 1.0),
            table=np.vstack([self.table, times * self.table]),
        )

    def dose_at(self, lot: IntArray, day: FloatArray) -> FloatArray:
        """Dose of each (lot, day); 0 before the lot's history begins."""
        stay = np.searchsorted(self._keys(), _key(lot, day), side="right") - 1
        stay = np.maximum(stay, self.first[lot])
        begun = np.maximum(day, self.start_day[stay])
        row = self.row[stay]
        taken = dose_since_new_year(self.table, row, begun) - dose_since_new_year(
            self.table, row, self.start_day[stay]
        )
        return np.asarray(self.before[stay] + taken, dtype=np.float64)

    def day_of_dose(self, dose: FloatArray) -> FloatArray:
        """Day on which each lot's dose (L,) is reached, past or to come; inf if never.

        To come, if it stays where it is. A dose of 0 gives the day its history begins.
        """
        reached = np.bincount(self.lot, self.before <= dose[self.lot], minlength=dose.size)
        stay = self.first + np.maximum(reached.astype(np.int64), 1) - 1
        start, further = self.start_day[stay], np.maximum(dose - self.before[stay], 0.0)
        return start + days_until_dose(self.table, self.row[stay], start, further)

    def _keys(self) -> FloatArray:
        return _key(self.lot, self.start_day)


def _key(lot: IntArray, day: FloatArray) -> FloatArray:
    return np.asarray(lot * float(_DAY_SPAN) + (day + _DAY_OFFSET), dtype=np.float64)


def storage_history(
    lot: IntArray, start_day: FloatArray, row: IntArray, table: FloatArray
) -> StorageHistory:
    """Build histories from stays in any order; every lot 0..L-1 needs at least one.

    Days count from 1 January of any year. Raises ValueError when a lot has no stay.
    """
    order = np.lexsort((start_day, lot))
    lot, start_day, row = lot[order], start_day[order], row[order]
    lots = int(lot.max(initial=-1)) + 1
    first = np.searchsorted(lot, np.arange(lots), side="left")
    last = np.searchsorted(lot, np.arange(lots), side="right") - 1
    if np.any(last < first):
        missing = int(np.argmax(last < first))
        raise ValueError(f"lot {missing} has no stay: give it one, if only in an ordinary store")
    until = np.append(start_day[1:], 0.0)
    until[last] = start_day[last]
    taken = dose_since_new_year(table, row, until) - dose_since_new_year(table, row, start_day)
    running = np.concatenate([[0.0], np.cumsum(taken)])[:-1]
    return StorageHistory(
        lot=lot,
        start_day=start_day,
        row=row,
        before=np.maximum(running - running[first][lot], 0.0),
        first=first,
        last=last,
        table=table,
    )
