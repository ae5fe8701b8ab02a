"""Intervals for one proportion: so many seeds of so many.

Three methods, each two-sided and one-sided, for arrays of counts:

* Wilson score: Wilson 1927, J. Am. Stat. Assoc. 22:209-212.
* Clopper-Pearson, "exact": Clopper & Pearson 1934, Biometrika 26:404-413.
* Jeffreys, equal-tailed posterior under Beta(1/2, 1/2): Brown, Cai & DasGupta 2001,
  Statistical Science 16:101-133.

Outside checks: statsmodels ``proportion_confint`` over a grid of counts and levels; Newcombe 1998,
Statistics in Medicine 17:857-872, Table I.
"""

from enum import StrEnum

import numpy as np
import scipy
from numpy.typing import ArrayLike

from seedbank.science.quantities import INTERVAL_LEVEL, FloatArray, Interval

INTERVAL_REACH = 1.6448536269514722
"""Standard deviations from the middle of a normal distribution to an end of its interval."""


class Method(StrEnum):
    """How an interval is computed; ``Method(name)`` takes each usual name, in any case.

    "score" and "Wilson score" mean Wilson, "exact" Clopper-Pearson; spaces and underscores do for
    hyphens. Any other name is a ValueError that lists these.
    """

    WILSON = "wilson"
    CLOPPER_PEARSON = "clopper-pearson"
    JEFFREYS = "jeffreys"

    @classmethod
    def _missing_(cls, value: object) -> "Method":
        name = str(value).strip().lower().replace("_", "-").replace(" ", "-")
        if name in _OTHER_NAMES or name in list(cls):
            return cls(_OTHER_NAMES.get(name, name))
        permitted = ", ".join([*cls, *_OTHER_NAMES])
        raise ValueError(f"method must be one of {permitted}; got {value!r}")


_OTHER_NAMES = {"score": "wilson", "wilson-score": "wilson", "exact": "clopper-pearson"}


def proportion_interval(
    k: int, n: int, level: float = INTERVAL_LEVEL, method: Method | str = Method.JEFFREYS
) -> Interval:
    """Two-sided interval for k seeds of n, as fractions 0..1.

    ``n = 0`` says nothing, so the answer is 0..1. Raises ``ValueError`` for ``k`` outside 0..n,
    ``level`` outside 0..1 or an unknown ``method``. Checked against statsmodels
    ``proportion_confint``.

    >>> round(proportion_interval(0, 20, 0.95, Method.WILSON).high, 4)
    0.1611
    """
    low, high = proportion_intervals(k, n, level, method)
    return Interval(float(low), float(high), level)


def proportion_intervals(
    k: ArrayLike,
    n: ArrayLike,
    level: ArrayLike = INTERVAL_LEVEL,
    method: Method | str = Method.JEFFREYS,
) -> tuple[FloatArray, FloatArray]:
    """Two-sided intervals, vectorised: arrays broadcast, (low, high) as fractions 0..1.

    Each end is the one-sided bound at ``(1 + level) / 2``. Errors as
    :func:`proportion_interval`. Checked against statsmodels ``proportion_confint``.
    """
    confidence = (1.0 + np.asarray(level, dtype=np.float64)) / 2.0
    _check_level(np.asarray(level, dtype=np.float64))
    return lower_bound(k, n, confidence, method), upper_bound(k, n, confidence, method)


def lower_bound(
    k: ArrayLike, n: ArrayLike, confidence: ArrayLike, method: Method | str = Method.JEFFREYS
) -> FloatArray:
    """One-sided lower bound (fraction 0..1): the proportion is at least this, at ``confidence``.

    0 when ``k = 0`` or ``n = 0``. Wilson at a confidence under 1/2 lies above k/n, as it should.
    Checked against ``scipy.stats.beta`` quantiles and the two-sided statsmodels interval at level
    ``2 confidence - 1``.
    """
    counts, seeds, sure = _checked(k, n, confidence)
    method = Method(method)
    if method is Method.WILSON:
        return _wilson(counts, seeds, -scipy.special.ndtri(sure))
    # Clopper-Pearson: Beta(k, n-k+1); Jeffreys: Beta(k+1/2, n-k+1/2).
    a, b = (0.0, 1.0) if method is Method.CLOPPER_PEARSON else (0.5, 0.5)
    empty = counts == 0
    low = scipy.special.betaincinv(np.where(empty, 1.0, counts + a), seeds - counts + b, 1.0 - sure)
    return np.asarray(np.where(empty, 0.0, low), dtype=np.float64)


def upper_bound(
    k: ArrayLike, n: ArrayLike, confidence: ArrayLike, method: Method | str = Method.JEFFREYS
) -> FloatArray:
    """One-sided upper bound (fraction 0..1): the proportion is at most this, at ``confidence``.

    1 when ``k = n`` (so also when ``n = 0``). It is the lower bound of the seeds that failed, read
    from the other side. Checked as :func:`lower_bound`.
    """
    counts, seeds, sure = _checked(k, n, confidence)
    return np.asarray(1.0 - lower_bound(seeds - counts, seeds, sure, method), dtype=np.float64)


def _wilson(k: FloatArray, n: FloatArray, z: FloatArray) -> FloatArray:
    """Root of the score equation on the side of ``z``'s sign.

    At k = 0 with z < 0 the root is exactly 0 and at k = n with z > 0 exactly 1; both are written
    out because the formula leaves a rounding residue there.
    """
    safe = np.maximum(n, 1.0)
    centre = (k + z**2 / 2.0) / (safe + z**2)
    half = z / (safe + z**2) * np.sqrt(k * (safe - k) / safe + z**2 / 4.0)
    root = np.clip(centre + half, 0.0, 1.0)
    root = np.where((k == 0) & (z <= 0), 0.0, root)
    root = np.where((k == n) & (z >= 0), 1.0, root)
    return np.asarray(np.where(n == 0, np.where(z <= 0, 0.0, 1.0), root), dtype=np.float64)


def _checked(
    k: ArrayLike, n: ArrayLike, confidence: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    counts, seeds, sure = np.broadcast_arrays(
        np.asarray(k, dtype=np.float64),
        np.asarray(n, dtype=np.float64),
        np.asarray(confidence, dtype=np.float64),
    )
    if not np.all((counts >= 0) & (counts <= seeds)):
        raise ValueError(f"counts must lie within 0..seeds, got k={k!r} of n={n!r}")
    _check_level(sure)
    return counts, seeds, sure


def _check_level(level: FloatArray) -> None:
    if not np.all((level > 0.0) & (level < 1.0)):
        raise ValueError(f"a level is a probability strictly between 0 and 1, got {level!r}")
