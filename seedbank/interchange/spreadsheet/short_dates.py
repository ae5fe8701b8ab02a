"""Short dates, of two numbers or a month and a number: ``2020-09``, ``2009/10``, ``Sep-20``.

They may be a month of a year, or years from one to another. All that one can be is told: where that
is more than one thing, or may be a day without its year, its writer has to say which.
"""

import re
from dataclasses import dataclass
from datetime import date
from typing import Final

MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
MONTH: Final = (
    r"(?P<month>jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?"
    r"|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)"
)
CENTURY: Final = r"(?:18|19|20|21)\d\d"
_YEAR_FIRST = re.compile(rf"({CENTURY})([-/. ])(\d{{1,2}})")
YEAR_PAIR: Final = re.compile(rf"{CENTURY}[-/]\d\d")
_YEAR_LAST = re.compile(rf"(\d{{1,2}})[-/. ]({CENTURY})")
_TWO_YEARS = re.compile(rf"({CENTURY})(?:[-/ ]|\s*(?:or|to)\s*)({CENTURY})")
_OR_YEAR = re.compile(rf"({CENTURY})\s*(?:or|to)\s*(\d\d)")
_NO_CENTURY = re.compile(r"(\d{1,2})[-/](\d{1,2})")
_NAMED_LAST = re.compile(rf"(?P<number>{CENTURY}|\d\d)[-/. ]?{MONTH}")
_NAMED_FIRST = re.compile(rf"{MONTH}\.?[-/ ]?(?P<number>\d\d)")
_MOST_YEARS = 30  # further apart they are no years of one harvest


@dataclass(frozen=True, slots=True)
class Short:
    """A month of ``year``; where ``month`` is None, the years from ``year`` to ``last``."""

    year: int
    month: int | None = None
    last: int = 0

    def __str__(self) -> str:
        if self.month is None:
            return f"{self.year} to {self.last}"
        return f"{MONTHS[self.month - 1]} {self.year}"

    def is_to_come(self, today: date) -> bool:
        """Hasn't it been yet? Years may end with the next: a season is called after both of its."""
        if self.month is None:
            return self.year > today.year or self.last > today.year + 1
        return (self.year, self.month) > (today.year, today.month)


@dataclass(frozen=True, slots=True)
class ShortRead:
    """All that a short date can be; nothing, where it is no month and no years.

    ``asks`` is whether its writer has to say which: also where only one is left, but no year is
    written in full. ``may_be_day`` is whether it may be a day without its year instead.
    """

    readings: tuple[Short, ...]
    asks: bool
    may_be_day: bool = False


def short_date(text: str, today: date) -> ShortRead | None:
    """What a short date can be, in plain form; None if the text is none."""
    full = re.sub(r"'(\d\d)(?!\d)", lambda found: str(full_year(found[1], today)), text)
    found = _with_century(full)
    if found is not None:
        been = tuple(one for one in found if not one.is_to_come(today))
        return ShortRead(been or found[:1], len(been) > 1)
    named = _NAMED_FIRST.fullmatch(full) or _NAMED_LAST.fullmatch(full)
    if named is not None:
        may_be_day = 1 <= int(named["number"]) <= 31
        year = full_year(named["number"], today)
        return ShortRead(_month(year, month_number(named["month"])), may_be_day, may_be_day)
    pair = _NO_CENTURY.fullmatch(full)
    return None if pair is None else _of_pair(pair[1], pair[2], today)


def month_number(name: str) -> int:
    """1 to 12 of a month's name, which may be shortened."""
    return next(n for n, month in enumerate(MONTHS, 1) if month.casefold()[:3] == name[:3])


def full_year(text: str, today: date) -> int:
    """A year of two figures is the latest that isn't still to come."""
    figures = text.lstrip("'")
    if len(figures) == 4:
        return int(figures)
    year = today.year // 100 * 100 + int(figures)
    return year if year <= today.year else year - 100


def _with_century(text: str) -> tuple[Short, ...] | None:
    """What it can be where a year is written in full; None if none is."""
    two = _TWO_YEARS.fullmatch(text)
    if two is not None:
        return _years(int(two[1]), int(two[2])) or None
    either = _OR_YEAR.fullmatch(text)
    if either is not None:
        year = int(either[1])
        return _years(year, year + (int(either[2]) - year + 50) % 100 - 50) or None
    last = _YEAR_LAST.fullmatch(text)
    if last is not None:
        return _month(int(last[2]), int(last[1]))
    named = _NAMED_LAST.fullmatch(text)
    if named is not None and len(named["number"]) == 4:
        return _month(int(named["number"]), month_number(named["month"]))
    first = _YEAR_FIRST.fullmatch(text)
    return None if first is None else _after_year(int(first[1]), first[2], first[3])


def _after_year(year: int, sign: str, figures: str) -> tuple[Short, ...]:
    """A number after a year: a month, or the figures that a later year ends with."""
    number = int(figures)
    if sign == ".":  # as a decimal, in which 2020.10 has become 2020.1
        return _month(year, number) + (_month(year, 10) if figures == "1" else ())
    later = (number - year) % 10 ** len(figures)
    together = later > 0 if len(figures) == 2 else later == 1
    return _month(year, number) + (_years(year, year + later) if together else ())


def _of_pair(first: str, second: str, today: date) -> ShortRead | None:
    """What two numbers of two figures can be; None if no month and no years."""
    one, other = int(first), int(second)
    readings: tuple[Short, ...] = ()
    if len(second) == 2:
        readings += _month(full_year(second, today), one)
    if len(first) == len(second) == 2:
        year, later = full_year(first, today), (other - one) % 100
        readings += _month(year, other) + (_years(year, year + later) if later else ())
    been = tuple(dict.fromkeys(one for one in readings if not one.is_to_come(today)))
    may_be_day = 1 <= min(one, other) <= 12 and max(one, other) <= 31
    return ShortRead(been, True, may_be_day) if been else None


def _month(year: int, month: int) -> tuple[Short, ...]:
    return (Short(year, month),) if 1 <= month <= 12 else ()


def _years(one: int, other: int) -> tuple[Short, ...]:
    """From the earlier to the later; nothing where they are too far apart."""
    return (
        (Short(min(one, other), None, max(one, other)),) if abs(one - other) <= _MOST_YEARS else ()
    )
