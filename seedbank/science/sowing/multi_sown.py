"""Several seeds sown to a cell to stand together, planted out as a clump and never thinned.

So many units go in that the plants of a cell miss the number wanted by the least: one plant too
few costs one, one too many that and a twentieth more (our choice). Units of a cell share their
luck (beta-binomial), the cells what isn't known of the lot and the bed. Wanted where nobody says
so is what a good lot gives at the middle of the printed number, and no more than half as much
again as the most printed goes in (our choice).

Outside check: against counting every outcome of a cell with scipy's beta-binomial
(``tests/science/sowing/test_multi_sown.py``).
"""

import math
from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import INTERVAL_ENDS, FloatArray
from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.patches import patch_pmf

SURPLUS = 0.05
MOST_TIMES_PRINTED = 1.5
LEAST_TOGETHER = 2


@dataclass(frozen=True, slots=True)
class MultiSown:
    """``units`` in each cell: ``low`` to ``high`` plants (90 %) come up, ``mean`` of them;
    ``empty`` is the chance that none does."""

    units: int
    mean: float
    low: int
    high: int
    empty: float


def usual_together(low: float, high: float, good: float) -> int:
    """Plants that a good lot, ``good`` the chance of a unit, gives at the middle printed number."""
    return max(LEAST_TOGETHER, round(math.sqrt(low * high) * good))


def multi_sown(
    emergence: WeightedNodes, together: int, most: int, rho: float, seedlings: float = 1.0
) -> MultiSown:
    """Units a cell for ``together`` plants, at most ``most``; a unit up gives ``seedlings``.

    Raises ValueError: fewer than one plant or unit.
    """
    if together < 1 or most < 1:
        raise ValueError(f"need plants and units, got {together!r} and {most!r}")
    laws = [_plants_up(emergence, units, rho) for units in range(1, most + 1)]
    costs = [_cost(law, together, seedlings) for law in laws]
    units = int(np.argmin(costs)) + 1
    law = laws[units - 1]
    reached = np.cumsum(law)
    low, high = (int(np.searchsorted(reached, end)) for end in INTERVAL_ENDS)
    mean = float(law @ np.arange(law.size)) * seedlings
    return MultiSown(units, mean, round(low * seedlings), round(high * seedlings), float(law[0]))


def _plants_up(emergence: WeightedNodes, units: int, rho: float) -> FloatArray:
    """Probability of 0..units coming up in a cell."""
    return np.asarray(emergence.weight @ patch_pmf(emergence.value, units, rho))


def _cost(law: FloatArray, together: int, seedlings: float) -> float:
    off = np.arange(law.size) * seedlings - together
    return float(law @ (np.abs(off) + SURPLUS * np.maximum(off, 0.0)))
