"""How old seed may be: a few harvest days a lot, each with its chance, from what is on record.

Where a day is normal or log-normal about a guess it is given by Gauss-Hermite nodes, taken as
quantiles of the law cut at the days it must lie between: a cut moves every node a little, and none
falls away. Outside checks: scipy.stats.truncnorm and the whole belief by dense sums over the law.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr, ndtr, ndtri, ndtri_exp

from seedbank.science.quantities import FloatArray, IntArray, standard_normal_nodes
from seedbank.science.viability.decline import DAYS_PER_YEAR

MOST_DAYS = 7


@dataclass(frozen=True, slots=True)
class HarvestDays:
    """Harvest days ``day`` (L, A) with their chances ``weight`` (L, A), 0 where a lot has fewer."""

    day: FloatArray
    weight: FloatArray

    @classmethod
    def sure(cls, day: FloatArray) -> "HarvestDays":
        """Harvest days (L,) nobody doubts."""
        days = np.repeat(day[:, None], MOST_DAYS, axis=1)
        weight = np.zeros(days.shape)
        weight[:, 0] = 1.0
        return cls(days, weight)

    def put(self, lots: IntArray, day: FloatArray, weight: FloatArray) -> None:
        """Days (n, A) with their chances in place of those of ``lots`` (n,)."""
        days = weight.shape[-1]
        self.weight[lots] = 0.0
        self.day[lots[:, None], np.arange(days)] = day
        self.weight[lots[:, None], np.arange(days)] = weight

    @property
    def trimmed(self) -> "HarvestDays":
        """The same in as few columns as hold every lot's."""
        used = max(int(np.count_nonzero(self.weight.any(axis=0))), 1)
        return HarvestDays(self.day[:, :used].copy(), self.weight[:, :used].copy())

    @property
    def middle(self) -> FloatArray:
        """The median day (L,)."""
        order = np.argsort(self.day, axis=1, kind="stable")
        sum_to = np.cumsum(np.take_along_axis(self.weight, order, axis=1), axis=1)
        at = np.argmax(sum_to >= 0.5 - 1e-9, axis=1)
        lots = np.arange(at.size)
        return np.asarray(self.day[lots, order[lots, at]])


def about(
    middle: FloatArray, sd: float, between: tuple[FloatArray, FloatArray], nodes: int
) -> tuple[FloatArray, FloatArray]:
    """Days (n, A) and chances of days normal about ``middle`` (n,), cut to those ``between``."""
    share, weight = _hermite(nodes)
    first, last = (end[:, None] for end in between)
    z_first, z_last = ((end - middle[:, None]) / sd for end in (first, last))
    low, high = ndtr(z_first), ndtr(z_last)
    # Far below the middle, where no float holds a chance, by its logarithm.
    far = ndtri_exp(np.log(share) + log_ndtr(z_last))
    reached = middle[:, None] + sd * np.where(z_last < -8.0, far, ndtri(low + share * (high - low)))
    return np.clip(reached, first, last), np.broadcast_to(weight, reached.shape)


def long_before(
    day: FloatArray, median: float, log_sd: float, last: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Days (n, 7) and chances: log-normal in the days before ``day`` (n,), cut at ``last`` (n,)."""
    share, weight = _hermite(MOST_DAYS)
    least = np.maximum(day - last, 1e-9)
    above = log_ndtr(-np.log(least / median) / log_sd)[:, None]
    ago = median * np.exp(-log_sd * ndtri_exp(np.log1p(-share) + above))
    return np.minimum(day[:, None] - ago, last[:, None]), np.broadcast_to(weight, ago.shape)


def in_years(
    chances: Sequence[Mapping[int, float]], day_of_year: float, last: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Days and chances (n, 7) of harvests in years that ``chances`` (n) name, none after ``last``.

    Days count from 1 January 2000. Where all lie after ``last`` (n,) it was that day.
    """
    day = np.repeat(last[:, None], MOST_DAYS, axis=1)
    weight = np.zeros(day.shape)
    for row, years in enumerate(chances):
        for at, (year, chance) in enumerate(sorted(years.items())[-MOST_DAYS:]):
            reached = (year - 2000.0) * DAYS_PER_YEAR + day_of_year
            if reached <= last[row]:
                day[row, at], weight[row, at] = reached, chance
        if not weight[row].any():
            weight[row, 0] = 1.0
    return day, weight / weight.sum(axis=1, keepdims=True)


def _hermite(nodes: int) -> tuple[FloatArray, FloatArray]:
    at, weight = standard_normal_nodes(nodes)
    return ndtr(at), weight
