"""A garden's year: air and soil, day by day, from twelve monthly means and two frost dates.

Three harmonics are laid through the middle of the months by least squares. In soil each of them
dies away and lags with depth: at z metres by exp(-z/D) and z/D radians, D = sqrt(2 κ / w) (heat
conduction in a half-space, e.g. D. Hillel, Introduction to Soil Physics, 1982, as given by Oklahoma
State's soil physics toolkit, read; κ = 0.5e-6 m²/s, an ordinary moist loam, recalled).

Outside check: a pure sine comes back; the printed damping depth of the year, about 2.2 m; sums done
day by day.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from seedbank.science.quantities import FloatArray

YEAR = 365
"""Days of a year here; a leap year's last day goes with the one before."""
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_ENDS = np.cumsum(MONTH_DAYS)
MID_MONTH = tuple((_ENDS - np.array(MONTH_DAYS) / 2.0).tolist())
_DAYS: FloatArray = np.asarray(np.arange(YEAR) + 0.5, dtype=np.float64)
_DIFFUSIVITY_M2_S = 0.5e-6
_SECOND_A_DAY = 86_400.0
_HARMONICS = 3
_YEAR_ANGLE = 2.0 * np.pi / YEAR
_SUN_ON_BARE_GROUND_C = 0.8  # at midsummer, nothing in the winter half: our choice
_MIDSUMMER = 172.0  # 21 June
# Where nobody tells of frost: it is taken to end, and to begin, at this mean of the day. Mean last
# frosts recalled of gardens inland and by the sea lie at 8 to 13 °C. Our choice.
FROST_ENDS_C = 10.0


@dataclass(frozen=True, slots=True)
class Climate:
    """Mean and harmonics (cosine, sine) of the day's mean temperature in °C, and frost.

    Frost dates are days of the year 1..365, None: not told. ``soil_shift_c`` is how much warmer
    the garden's soil was measured than is reckoned from the air.
    """

    mean_c: float
    cosine_c: tuple[float, ...]
    sine_c: tuple[float, ...]
    last_frost: int | None = None
    first_frost: int | None = None
    soil_shift_c: float = 0.0


def fit_climate(
    monthly_c: Sequence[float],
    last_frost: int | None = None,
    first_frost: int | None = None,
    soil_shift_c: float = 0.0,
) -> Climate:
    """Climate from the twelve monthly means, January first. Raises ValueError: not twelve."""
    if len(monthly_c) != 12:
        raise ValueError(f"twelve monthly means are needed, got {len(monthly_c)}")
    found, *_ = np.linalg.lstsq(_waves(MID_MONTH), np.asarray(monthly_c), rcond=None)
    return Climate(
        float(found[0]),
        tuple(found[1 : 1 + _HARMONICS].tolist()),
        tuple(found[1 + _HARMONICS :].tolist()),
        last_frost,
        first_frost,
        soil_shift_c,
    )


@lru_cache(maxsize=256)
def air_c(climate: Climate) -> FloatArray:
    """Mean air temperature of each day, (365,), 1 January first. Not to be written to."""
    return _frozen(_waves(_DAYS) @ np.array([climate.mean_c, *climate.cosine_c, *climate.sine_c]))


@lru_cache(maxsize=1024)
def soil_c(climate: Climate, depth_m: float) -> FloatArray:
    """Mean temperature of bare soil at a depth in metres, (365,), with the sun on it and own
    readings over it. Not to be written to."""
    order = np.arange(1, _HARMONICS + 1)
    damping_m = np.sqrt(2.0 * _DIFFUSIVITY_M2_S * _SECOND_A_DAY / (order * _YEAR_ANGLE))
    less, lag = np.exp(-depth_m / damping_m), depth_m / damping_m
    angle = np.outer(_DAYS, order * _YEAR_ANGLE) - lag
    wave = np.cos(angle) @ (less * climate.cosine_c) + np.sin(angle) @ (less * climate.sine_c)
    high = _MIDSUMMER + (YEAR / 2.0 if is_southern(climate) else 0.0)
    sun = _SUN_ON_BARE_GROUND_C * np.maximum(0.0, np.cos(_YEAR_ANGLE * (_DAYS - high)))
    return _frozen(climate.mean_c + wave + sun + climate.soil_shift_c)


def is_southern(climate: Climate) -> bool:
    """Whether the warm half of the year lies about January."""
    return climate.cosine_c[0] > 0.0


def shortest_day(climate: Climate) -> int:
    """Index 0..364 of the winter solstice."""
    return 171 if is_southern(climate) else 354


def coldest_day(climate: Climate) -> int:
    """Index 0..364 of the coldest day of the fitted year, in the middle of winter."""
    return int(np.argmin(air_c(climate)))


def winters_are_cold(climate: Climate) -> bool:
    """Whether growth stops in winter, so that the year has one season: coldest day under 10 °C.

    Our choice.
    """
    return float(air_c(climate).min()) < FROST_ENDS_C


def frost_span(climate: Climate) -> tuple[int, int] | None:
    """Days after mid-winter of the last and the first frost, as told, else as reckoned from 10 °C.

    None: no frost is told of, and no day is that cold. Every day that cold: there is no time
    between them, the same day twice.
    """
    start, air = coldest_day(climate), air_c(climate)
    warm = np.flatnonzero(np.roll(air, -start) >= FROST_ENDS_C)
    last = None if climate.last_frost is None else (climate.last_frost - 1 - start) % YEAR
    first = None if climate.first_frost is None else (climate.first_frost - 1 - start) % YEAR
    if last is None and first is None and warm.size == YEAR:
        return None
    if last is None:
        last = int(warm[0]) if warm.size else YEAR // 2
        last = last if first is None else min(last, first)
    if first is None:
        first = max(last, int(warm[-1]) + 1 if warm.size else last)
    return last, max(last, first)


def _waves(days: Sequence[float] | FloatArray) -> FloatArray:
    angle = np.outer(days, np.arange(1, _HARMONICS + 1) * _YEAR_ANGLE)
    return np.hstack([np.ones((len(days), 1)), np.cos(angle), np.sin(angle)])


def _frozen(values: FloatArray) -> FloatArray:
    found = np.asarray(values, dtype=np.float64)
    found.setflags(write=False)
    return found
