"""Where a distribution function reaches given probabilities, for many lots at once.

Newton's method on the probit of the distribution function, which is nearly a straight line, kept
inside a bracket that closes every step (Press et al. 2007, Numerical Recipes, 9.4, from memory).
Both tails come from their own end of the distribution: next to 1 the probit is taken of what lies
above, for a value that rounds to 1 has lost its slope. It ends when the probability asked for is
met, never because a step was short. Outside checks: scipy.optimize.brentq, and the probability at
every answer in ``tests/science/viability/test_posterior_dead_lots.py``.
"""

from collections.abc import Callable

import numpy as np
from scipy.special import ndtri

from seedbank.science.quantities import FloatArray, IntArray

Tails = Callable[[FloatArray, IntArray], tuple[FloatArray, FloatArray, FloatArray]]

MET = 1e-6  # this close to the probability asked for is an answer
_NOTHING = 1e-9  # less than quadrature can tell from no probability at all
_SHORTEST = 1e-12
_MOST_STEPS = 120


def solve(
    tails: Tails, goal: FloatArray, start: FloatArray, end: float, reach: FloatArray
) -> FloatArray:
    """x between ``-end`` and ``end`` with P(below x) = ``goal`` (Q,); ``start`` and answer (B, Q).

    ``tails(x, lots)`` gives P(below x), P(above x) and the density at x for those of the B lots.
    Where the goal lies beyond an end, the answer is that end. ``reach`` (B, 1) bounds each step.
    """
    x = np.clip(start, -end, end)
    low, high = np.full_like(x, -1.01 * end), np.full_like(x, 1.01 * end)  # so the ends are tried
    missed = np.full_like(x, np.inf)
    lots = np.arange(x.shape[0])
    for _ in range(_MOST_STEPS):
        here = x[lots]
        below, above, density = tails(here, lots)
        miss = np.where(goal <= 0.5, below - goal, (1.0 - goal) - above)
        left = np.where(miss <= 0.0, here, low[lots])
        right = np.where(miss >= 0.0, here, high[lots])
        step = np.clip(_newton_step(below, above, density, goal), -reach[lots], reach[lots])
        # Halve where Newton leaves the bracket, or its last step brought less than halving would.
        halve = (here + step <= left) | (here + step >= right)
        halve |= np.abs(miss) > 0.5 * missed[lots]
        moved = np.where(halve, 0.5 * (left + right), here + step)
        met = (np.abs(miss) <= MET) | (right - left <= _SHORTEST)
        met |= (right <= -end) | (left >= end)
        x[lots] = np.where(met, here, np.clip(moved, -end, end))
        low[lots], high[lots], missed[lots] = left, right, np.abs(miss)
        lots = lots[~np.all(met, axis=1)]
        if lots.size == 0:
            break
    return x


def _newton_step(
    below: FloatArray, above: FloatArray, density: FloatArray, goal: FloatArray
) -> FloatArray:
    tail = ndtri(np.maximum(np.minimum(below, above), _NOTHING))
    z = np.where(below < above, tail, -tail)
    slope = density * np.sqrt(2.0 * np.pi) * np.exp(0.5 * z * z)
    return np.asarray((ndtri(goal) - z) / np.maximum(slope, 1e-9), dtype=np.float64)
