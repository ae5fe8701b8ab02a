"""Whether a sowing window is open on a day, when it opens next, or that it is over this year.

Outside check: cases written by hand, New Year inside a window among them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from seedbank.science.season.climate import YEAR
from seedbank.science.season.sowing_windows import ALL_YEAR, Span


class State(StrEnum):
    """How a window stands on a day."""

    OPEN = "open"
    OPENS = "opens"
    OVER = "over"
    NEVER = "never"


@dataclass(frozen=True, slots=True)
class WindowState:
    """``open`` until a day; ``opens`` on a day of the same growing year; ``over``, and opens again
    on a day; ``never``: there is no window, and no day. Open all the year round has no day."""

    state: State
    until: date | None = None
    opens_on: date | None = None


def date_of(day: int, year: int) -> date:
    """A day of the year 1..365 in a year; a leap year's 29 February is never meant."""
    return (date(2001, 1, 1) + timedelta((day - 1) % YEAR)).replace(year=year)


def day_number(on: date) -> int:
    """Day of the year 1..365; 29 February counts as the 28th."""
    return date(2001, on.month, 28 if (on.month, on.day) == (2, 29) else on.day).timetuple().tm_yday


def window_state(windows: Sequence[Span], on: date, *, year_from: int = 1) -> WindowState:
    """How the windows stand on a day. ``year_from`` is the day of the year a growing year begins,
    mid-winter: what is over comes again only after it."""
    if not windows:
        return WindowState(State.NEVER)
    if ALL_YEAR in windows:
        return WindowState(State.OPEN)
    today = day_number(on)
    for one in windows:
        if (today - one.from_day) % YEAR <= (one.to_day - one.from_day) % YEAR:
            return WindowState(State.OPEN, _on_or_after(one.to_day, on))
    ahead = min((one.from_day - today) % YEAR for one in windows)
    next_one = _on_or_after((today + ahead - 1) % YEAR + 1, on)
    year_left = (year_from - today - 1) % YEAR + 1
    over = ahead >= year_left
    return WindowState(State.OVER if over else State.OPENS, opens_on=next_one)


def _on_or_after(day: int, on: date) -> date:
    found = date_of(day, on.year)
    return found if found >= on or day_number(on) == day else date_of(day, on.year + 1)
