"""Flowering windows in days of the year, and the days two of them share.

Outside check: days counted one by one.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import BoolArray, Finding

YEAR_DAYS = 366
"""Days reckoned with: a window may reach day 366, which most years lack."""


@dataclass(frozen=True, slots=True)
class DayWindow:
    """Days of the year (1..366), both ends in flower; ``from_day`` over ``to_day`` spans New Year.

    Flowering all the year round has no first day: every such window, as day 2 to day 1, is kept as
    day 1 to 366, and so is day 1 to 365, for most years end there. Raises ``ValueError`` for a day
    outside 1..366. Outside check: days counted one by one.
    """

    from_day: int
    to_day: int

    def __post_init__(self) -> None:
        for day in (self.from_day, self.to_day):
            if not 1 <= day <= YEAR_DAYS:
                raise ValueError(f"a day of the year lies in 1..{YEAR_DAYS}, got {day!r}")
        if self.days == YEAR_DAYS or (self.from_day, self.to_day) == (1, YEAR_DAYS - 1):
            object.__setattr__(self, "from_day", 1)
            object.__setattr__(self, "to_day", YEAR_DAYS)

    @property
    def days(self) -> int:
        """Number of days in flower, at least 1."""
        return (self.to_day - self.from_day) % YEAR_DAYS + 1


WHOLE_YEAR = DayWindow(1, YEAR_DAYS)


def shared_windows(first: DayWindow, second: DayWindow) -> tuple[DayWindow, ...]:
    """The windows in which both flower: none, one, or two where both span New Year's side.

    Outside check: days counted one by one for every pair of windows of a short year.
    """
    both = _in_flower(first) & _in_flower(second)
    if both.all():
        return (WHOLE_YEAR,)
    starts = np.flatnonzero(both & ~np.roll(both, 1)) + 1
    ends = np.flatnonzero(both & ~np.roll(both, -1)) + 1
    if starts.size and ends[0] < starts[0]:
        ends = np.roll(ends, -1)
    runs = (DayWindow(int(a), int(b)) for a, b in zip(starts, ends, strict=True))
    return tuple(sorted(runs, key=lambda run: (run.from_day - first.from_day) % YEAR_DAYS))


def cut_before(window: DayWindow, day: int) -> DayWindow | None:
    """What is left of a window when its flowers are off before ``day``, and stay off; None: none.

    Raises ``ValueError`` for a day it isn't in flower on. Outside check: cases written by hand.
    """
    if (day - window.from_day) % YEAR_DAYS >= window.days:
        raise ValueError(f"day {day!r} is not one of those in flower, {window!r}")
    if day == window.from_day:
        return None
    return DayWindow(window.from_day, (day - 2) % YEAR_DAYS + 1)


def gap_days(first: DayWindow, second: DayWindow) -> int:
    """Fewest days without flower between two windows, the shorter way round; 0 if they meet.

    Outside check: days counted one by one.
    """
    if shared_windows(first, second):
        return 0
    onward = (second.from_day - first.to_day - 1) % YEAR_DAYS
    backward = (first.from_day - second.to_day - 1) % YEAR_DAYS
    return min(onward, backward)


def windows_found(windows: Sequence[DayWindow]) -> Finding:
    """The windows as a finding says them, such as 15 Jun to 3 Jul."""
    return Finding(
        "flowering-windows",
        {"windows": tuple(
            Finding("flowering-window", {"from_day": one.from_day, "to_day": one.to_day})
            for one in windows
        )},
    )  # fmt: skip


def _in_flower(window: DayWindow) -> BoolArray:
    days = np.arange(1, YEAR_DAYS + 1)
    if window.from_day <= window.to_day:
        return (days >= window.from_day) & (days <= window.to_day)
    return (days >= window.from_day) | (days <= window.to_day)
