"""What share of a lot's living seed is awake on the day it is sown, by a test of another day.

Seed that lay fresh in a test wakes by itself in a dry store: what is left of its sleep halves with
time (after-ripening). Hard seed stays hard there. What still sleeps on the day it is sown may wake
in the bed, where nights are cool and the soil is alive, though it would not on a warm towel: how
much of it nobody knows beforehand, so any share is as likely as another. Before the test it slept
as in it at least; how much more isn't known, and nothing is added.

How fast sleep fades is our choice, as is its spread, by the three months of after-ripening that are
common practice (``science.germination.dormancy``). Outside check: simulated lots.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np

from seedbank.science.germination.dormancy import AFTER_RIPENING_MONTHS
from seedbank.science.quantities import standard_normal_nodes
from seedbank.science.sowing.emergence import BetaShare
from seedbank.science.viability.decline import DAYS_PER_YEAR

NEVER_TESTED: Final = BetaShare(1.95, 0.05)
"""Awake before any test: nearly all, with the weight of two seeds, so that ten tell. Our choice."""
HALF_ASLEEP_DAYS: Final = AFTER_RIPENING_MONTHS * DAYS_PER_YEAR / 12.0
HALF_ASLEEP_LOG_SD: Final = 0.7
_SUREST = 1000.0  # seeds that no share is surer than; rules of quadrature overflow beyond
_POINT, _WEIGHT = standard_normal_nodes(9)


@dataclass(frozen=True, slots=True)
class SleepSeen:
    """Living seed of one test (units): ``awake`` sprouted, ``fresh`` and ``hard`` did not."""

    awake: int
    fresh: int
    hard: int


def awake_share(seen: SleepSeen, days: float) -> BetaShare:
    """Share that comes up, if it is alive and the seedbed allows, ``days`` after the test.

    The beta law with the mean and variance of: what sleeps in the test, times what is left of that
    sleep, times what the bed doesn't wake. Raises ValueError for a count below 0.
    """
    if min(seen.awake, seen.fresh, seen.hard) < 0:
        raise ValueError(f"counts must not be negative, got {seen!r}")
    asleep = seen.fresh + seen.hard
    a, b = NEVER_TESTED.beta + asleep, NEVER_TESTED.alpha + seen.awake
    left = _left(seen.hard / asleep if asleep else 0.0, max(days, 0.0))
    mean = a / (a + b) * left[0] / 2.0
    second = a * (a + 1.0) / ((a + b) * (a + b + 1.0)) * left[1] / 3.0
    total = min(mean * (1.0 - mean) / (second - mean**2) - 1.0, _SUREST)
    return BetaShare((1.0 - mean) * total, mean * total)


def _left(hard: float, days: float) -> tuple[float, float]:
    """Mean and mean square of the share of sleep left; ``hard`` of it doesn't fade."""
    half_days = HALF_ASLEEP_DAYS * np.exp(HALF_ASLEEP_LOG_SD * _POINT)
    share = hard + (1.0 - hard) * 0.5 ** (days / half_days)
    return float(_WEIGHT @ share), float(_WEIGHT @ share**2)
