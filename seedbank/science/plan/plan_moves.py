"""Plans built and bettered by hand: one variety at a time, with the room the others leave.

The crops of one column stand in different seasons and every limit belongs to one season, so a
column fits exactly when each of its crops fits by itself.

Outside check: plans built so keep every limit counted crop by crop and pair by pair.
"""

import numpy as np

from seedbank.science.plan.plan_columns import Columns
from seedbank.science.quantities import BoolArray, FloatArray, IntArray

_SLACK = 1e-9
_PASSES = 6


class Room:
    """What a choice of columns (V,) leaves of each limit; changes as varieties change column."""

    def __init__(self, columns: Columns, chosen: IntArray) -> None:
        self.columns = columns
        self.chosen = chosen.copy()
        use = columns.rows.use
        self._of = np.repeat(np.arange(use.shape[0]), np.diff(use.indptr))
        edges = np.arange(columns.start.size + 1)
        self._first = np.searchsorted(columns.options.variety, edges)
        self._after = np.append(columns.start[1:], columns.variety.size)
        self.left = columns.rows.capacity.copy()
        for column in chosen:
            self._take(int(column), 1.0)

    def enough(self) -> bool:
        """Whether the choice keeps every limit."""
        return bool(np.all(self.left >= -_SLACK))

    def put(self, variety: int, column: int) -> None:
        """Give a variety another column."""
        self._take(int(self.chosen[variety]), -1.0)
        self.chosen[variety] = column
        self._take(column, 1.0)

    def best(self, variety: int, cost: FloatArray) -> int:
        """The cheapest column (lowest number among equals) that fits beside the others'."""
        old = int(self.chosen[variety])
        self._take(old, -1.0)
        first, after = int(self.columns.start[variety]), int(self._after[variety])
        fits = self._fits(variety)[self.columns.crops[first:after]].all(axis=1)
        self._take(old, 1.0)
        return first + int(np.argmin(np.where(fits, cost[first:after], np.inf)))

    def _fits(self, variety: int) -> BoolArray:
        """Each crop option (A + 1,), the last "no crop"; only this variety's are looked at."""
        use = self.columns.rows.use
        first, after = int(self._first[variety]), int(self._first[variety + 1])
        at = slice(int(use.indptr[first]), int(use.indptr[after]))
        over = use.data[at] > self.left[use.indices[at]] + _SLACK
        fits = np.ones(use.shape[0] + 1, dtype=np.bool_)
        fits[self._of[at][over]] = False
        return fits

    def _take(self, column: int, sign: float) -> None:
        use = self.columns.rows.use
        for option in self.columns.crops[column]:
            if option < use.shape[0]:
                at = slice(int(use.indptr[option]), int(use.indptr[option + 1]))
                self.left[use.indices[at]] -= sign * use.data[at]


def bettered(columns: Columns, cost: FloatArray, chosen: IntArray) -> IntArray:
    """The choice (V,) after giving each variety the cheapest column that fits, until none gains."""
    room = Room(columns, chosen)
    for _ in range(_PASSES):
        moved = False
        for variety in range(chosen.size):
            column = room.best(variety, cost)
            if cost[column] < cost[room.chosen[variety]] - 1e-12:
                room.put(variety, column)
                moved = True
        if not moved:
            break
    return room.chosen


def guided(columns: Columns, cost: FloatArray, value: FloatArray) -> IntArray:
    """A choice (V,) by ``value`` (N,), such as costs with prices: who gains most goes first."""
    gain = value[columns.start] - np.minimum.reduceat(value, columns.start)
    room = Room(columns, columns.start)
    for variety in np.argsort(-gain, kind="stable"):
        room.put(int(variety), room.best(int(variety), value))
    return bettered(columns, cost, room.chosen)


def started_from(columns: Columns, cost: FloatArray, wanted: IntArray, order: IntArray) -> IntArray:
    """The choice ``wanted`` (V,) as far as it fits, varieties in ``order``, then bettered."""
    room = Room(columns, columns.start)
    only = np.full(cost.size, np.inf)
    only[columns.start] = 1.0
    only[wanted] = 0.0
    for variety in order:
        room.put(int(variety), room.best(int(variety), only))
    return bettered(columns, cost, room.chosen)
