"""How many days seed takes to come up in soil as warm as it is on those days.

Seed is up when the warmth over a base temperature adds up to its thermal time (Garcia-Huidobro,
Monteith & Squire 1982, Journal of Experimental Botany 33:288-296; recalled). Base and thermal time
come from sowing trials (Harrington & Minges 1954): 1/days against temperature, straight, by
weighted least squares up to the fastest soil, each day's error taken in proportion. A day's warmth
is the mean of what lies over the base as the soil swings 3 °C about its mean (our choice).

Outside check: carrot 2.5 °C and 128 °C d, onion -0.9 and 135 (worked out before from the same
trials); printed days come back within two in nine rows of ten between 10 and 25 °C.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray
from seedbank.science.season.climate import YEAR

_SWING_C = 3.0
NINETY_PCT_OF_MEDIAN = 1.4
"""Days to 90 % of what comes, of the days to half of it: our choice."""
NEVER = 10 * YEAR


@dataclass(frozen=True, slots=True)
class ThermalTime:
    """Base temperature in °C, and warmth over it in °C d until half has come up."""

    base_c: float
    sum_c_d: float


def fit_thermal_time(soil_c: Sequence[float], days: Sequence[float]) -> ThermalTime | None:
    """From a trial's soil temperatures and days to emergence; None: fewer than three up to the
    fastest, or none of them faster for being warmer."""
    order = np.argsort(soil_c)
    temp, taken = np.asarray(soil_c, float)[order], np.asarray(days, float)[order]
    if temp.size < 3:
        return None
    upto = int(np.argmin(taken)) + 1
    temp, taken = temp[:upto], taken[:upto]
    if temp.size < 3:
        return None
    weight, rate = taken**2, 1.0 / taken
    middle_c, middle = np.average(temp, weights=weight), np.average(rate, weights=weight)
    spread = np.sum(weight * (temp - middle_c) ** 2)
    slope = np.sum(weight * (temp - middle_c) * (rate - middle)) / spread
    if slope <= 0.0:
        return None
    return ThermalTime(float(middle_c - middle / slope), float(1.0 / slope))


def day_warmth(mean_c: FloatArray, base_c: float) -> FloatArray:
    """Mean over a day of what lies over the base, in °C, as it swings by 3 °C about its mean."""
    over = np.clip((np.asarray(mean_c) - base_c) / _SWING_C, -1.0, None)
    part = np.clip(over, -1.0, 1.0)
    swung = (part * np.arccos(-part) + np.sqrt(1.0 - part**2)) / np.pi
    return np.asarray(_SWING_C * np.where(over >= 1.0, over, swung))


def days_to_emergence(soil_c: FloatArray, need: ThermalTime) -> FloatArray:
    """Days to half of what comes up from sowing on each day of a year, (365,).

    ``NEVER`` where a whole year is not warm enough.
    """
    a_day = day_warmth(np.tile(soil_c, 2), need.base_c)
    total = np.concatenate([[0.0], np.cumsum(a_day)])
    if total[YEAR] < need.sum_c_d:
        return np.full(YEAR, float(NEVER))
    start = np.arange(YEAR)
    reached = np.interp(total[:YEAR] + need.sum_c_d, total, np.arange(total.size))
    return np.asarray(reached - start)
