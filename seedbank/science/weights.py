"""Between weight and number of seeds, by thousand-seed weight, with the error carried over.

First-order error; outside check: repeated draws of the thousand-seed weight.
"""

import numpy as np
from numpy.typing import ArrayLike

from seedbank.science.quantities import FloatArray


def seeds_from_grams(
    grams: ArrayLike, tsw_g: ArrayLike, tsw_se_g: ArrayLike = 0.0
) -> tuple[FloatArray, FloatArray]:
    """Seed units in ``grams`` and their standard error, given the thousand-seed weight.

    n = 1000 grams / tsw, and to first order se(n) = n se(tsw) / tsw: the relative error passes
    from divisor to quotient (delta method; JCGM 100:2008, 5.1.6). The error itself is then
    low by about 4 (tsw_se_g / tsw_g)^2 of it: 4 % at a tenth. Weighing is taken as exact: a kitchen
    scale's error is small beside that of a thousand-seed weight.

    Arrays broadcast; the results are not rounded. Raises ValueError: a weight below 0 g, a
    thousand-seed weight not above 0 g, a standard error below 0, or any of them not finite.
    """
    weight, tsw, error = (np.asarray(x, dtype=np.float64) for x in (grams, tsw_g, tsw_se_g))
    if not (np.all(np.isfinite(weight)) and np.all(weight >= 0)):
        raise ValueError("grams must be 0 or more")
    if not (np.all(np.isfinite(tsw)) and np.all(tsw > 0)):
        raise ValueError("tsw_g must be above 0")
    if not (np.all(np.isfinite(error)) and np.all(error >= 0)):
        raise ValueError("tsw_se_g must be 0 or more")
    seeds = 1000.0 * weight / tsw
    return seeds, seeds * error / tsw


def grams_from_seeds(seeds: ArrayLike, tsw_g: ArrayLike) -> FloatArray:
    """Weight of ``seeds`` units in grams. Raises ValueError: tsw_g not above 0."""
    tsw = np.asarray(tsw_g, dtype=np.float64)
    if not (np.all(np.isfinite(tsw)) and np.all(tsw > 0)):
        raise ValueError("tsw_g must be above 0")
    return np.asarray(seeds, dtype=np.float64) * tsw / 1000.0
