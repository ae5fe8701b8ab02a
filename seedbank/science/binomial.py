"""Chances of counts: binomial and hypergeometric, by logs of gamma functions.

Outside check: ``scipy.stats.binom`` and ``hypergeom``, whose import costs more than a command.
"""

import numpy as np
from numpy.typing import ArrayLike

from seedbank.science.quantities import FloatArray


def log_ways(total: ArrayLike, chosen: ArrayLike) -> FloatArray:
    """Log of the ways to choose so many of a total; -inf where there are none. They broadcast."""
    from scipy.special import gammaln  # slow to import: loaded with the first chance asked for

    n, k = np.asarray(total, dtype=np.float64), np.asarray(chosen, dtype=np.float64)
    return np.asarray(gammaln(n + 1.0) - gammaln(k + 1.0) - gammaln(n - k + 1.0))


def binomial_pmf(count: ArrayLike, seeds: ArrayLike, chance: ArrayLike) -> FloatArray:
    """P(``count`` of ``seeds`` germinate), each with ``chance`` in 0..1. They broadcast."""
    from scipy.special import xlog1py, xlogy

    k, n, p = (np.asarray(given, dtype=np.float64) for given in (count, seeds, chance))
    return np.asarray(np.exp(log_ways(n, k) + xlogy(k, p) + xlog1py(n - k, -p)))


def hypergeometric_pmf(
    drawn_marked: ArrayLike, seeds: ArrayLike, marked: ArrayLike, drawn: ArrayLike
) -> FloatArray:
    """P(``drawn_marked`` of ``drawn`` are among the ``marked`` of ``seeds``). They broadcast."""
    j, n, m, d = (
        np.asarray(given, dtype=np.float64) for given in (drawn_marked, seeds, marked, drawn)
    )
    return np.asarray(np.exp(log_ways(d, j) + log_ways(n - d, m - j) - log_ways(n, m)))
