"""A year's climate from a garden's own daily readings.

A month counts once twenty days of it were read; its mean is that of all its days. The last frost of
a year is its last day before midsummer with a minimum of 0 °C or less, the first one its first day
after; over the years the 80th percentile on the safe side is taken (our choice), so that in four
years of five no frost comes later (sooner). Outside check: cases counted by hand.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

ENOUGH_DAYS = 20
_FROST_C = 0.0
_SAFE = 0.8
_MOST_GAPS = 10  # days not read in the frosty half of a year before its frost date is left out


@dataclass(frozen=True, slots=True)
class DayRead:
    """One day's readings in °C; a minimum or maximum not read is None."""

    on: date
    mean_c: float
    minimum_c: float | None = None


@dataclass(frozen=True, slots=True)
class ClimateRead:
    """What readings tell: monthly means (None: under twenty days), frost dates as days of the year
    1..365 (None: no whole spring or autumn with frost was read), and how much was read."""

    monthly_c: tuple[float | None, ...]
    last_frost: int | None
    first_frost: int | None
    days: int
    years: int


def climate_from_readings(readings: Iterable[DayRead]) -> ClimateRead:
    """Monthly means and frost dates from daily readings, in any order; a day read twice counts
    as it was read last."""
    days = {one.on: one for one in readings}
    months: dict[int, list[float]] = defaultdict(list)
    for one in days.values():
        months[one.on.month].append(one.mean_c)
    means = tuple(
        float(np.mean(months[month])) if len(months[month]) >= ENOUGH_DAYS else None
        for month in range(1, 13)
    )
    southern = _southern(means)
    springs, autumns = _frosts(days, southern)
    return ClimateRead(
        means,
        _safe_day(springs, late=True),
        _safe_day(autumns, late=False),
        len(days),
        len({one.year for one in days}),
    )


def _southern(means: tuple[float | None, ...]) -> bool:
    """Whether January is warmer than July; where one of them is missing, its neighbours."""
    about = [
        [m for m in (means[i] for i in around) if m is not None]
        for around in ((11, 0, 1), (5, 6, 7))
    ]
    return bool(about[0] and about[1] and np.mean(about[0]) > np.mean(about[1]))


def _frosts(days: dict[date, DayRead], southern: bool) -> tuple[list[int], list[int]]:
    """Frost dates of the springs and autumns read whole, in days after mid-winter."""
    springs, autumns = [], []
    for year in sorted({one.year for one in days}):
        winter = date(year, 7, 15) if southern else date(year, 1, 15)
        half = [_minimum(days, winter, d) for d in range(182)]
        if sum(one is None for one in half) <= _MOST_GAPS:
            cold = [d for d, low in enumerate(half) if low is not None and low <= _FROST_C]
            springs += cold[-1:]
        half = [_minimum(days, winter, d) for d in range(182, 365)]
        if sum(one is None for one in half) <= _MOST_GAPS:
            cold = [d for d, low in enumerate(half, 182) if low is not None and low <= _FROST_C]
            autumns += cold[:1]
    shift = 195 if southern else 14
    return [(d + shift) % 365 + 1 for d in springs], [(d + shift) % 365 + 1 for d in autumns]


def _minimum(days: dict[date, DayRead], start: date, after: int) -> float | None:
    one = days.get(start + timedelta(after))
    return None if one is None else one.minimum_c


def _safe_day(found: list[int], *, late: bool) -> int | None:
    """The 80th percentile on the safe side, of days that may lie on both sides of New Year."""
    if not found:
        return None
    near = np.array([(day - found[0] + 182) % 365 - 182 for day in found])
    share = _SAFE if late else 1.0 - _SAFE
    safe = float(np.quantile(near, share))
    day = found[0] + int(np.ceil(safe) if late else np.floor(safe))
    return (day - 1) % 365 + 1
