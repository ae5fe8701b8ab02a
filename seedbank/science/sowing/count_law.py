"""The probabilities of a count, however large, and what is told of them.

A few thousand counts are listed. Where more are possible, those beyond the list are taken as clumps
of f units that come or fail together, f the count's variance over the binomial one:

    count / f ~ binomial(n / f, p)

which has the count's mean and variance, and without patches (f = 1) is exact. Where few clumps come
that is too rough, so the counts of the first clumps are what is listed.

Sources: an effective number of trials, L. Kish, Survey Sampling (1965), chapter 8, from memory; the
binomial of real arguments is the incomplete beta function, NIST DLMF 8.17.5.

Outside checks: scipy's binomial and negative binomial, and the same counts all listed.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import betainc

from seedbank.science.quantities import (
    BAND_QUANTILES,
    INTERVAL_LEVEL,
    FloatArray,
    IntArray,
    Interval,
)

_AT_ONCE = 1000  # counts, so that room stays small


@dataclass(frozen=True, slots=True)
class CountSummary:
    """Mean, median and central 50 % and 90 % intervals of a count."""

    mean: float
    median: float
    likely: Interval
    range: Interval


@dataclass(frozen=True, slots=True)
class Clumps:
    """Clumps of ``size`` units, binomial of ``draws`` (real) at each ``chance`` (K,).

    ``weight`` (K,) mixes the chances; no more than ``most`` units can come.
    """

    chance: FloatArray
    weight: FloatArray
    draws: float
    size: float
    most: float

    @property
    def mean(self) -> float:
        return float(self.weight @ self.chance) * self.draws * self.size

    def at_least(self, count: FloatArray) -> FloatArray:
        """P(at least ``count`` units), count (N,) >= 1, with a half-unit correction."""
        tail = self._tail((count - 0.5) / self.size + 0.5, self.weight)
        return np.where(count > self.most, 0.0, tail)

    def excess(self, count: int) -> float:
        """Mean of what exceeds ``count``, for more than a clump."""
        clumps, rest = count / self.size, self.draws - count / self.size + 1.0
        if rest <= 0.0:
            return 0.0
        # sum of (b - c) P(b) for b >= c, b binomial: n p P(fewer by one draw) - c P.
        come = self.draws * self.chance * betainc(clumps - 1.0, rest, self.chance)
        return self.size * float(self.weight @ (come - clumps * betainc(clumps, rest, self.chance)))

    def _tail(self, clumps: FloatArray, weight: FloatArray) -> FloatArray:
        rest = self.draws - clumps + 1.0
        tail = np.zeros(clumps.size)
        for part in range(0, clumps.size, _AT_ONCE):
            some = slice(part, part + _AT_ONCE)
            known = betainc(clumps[some, None], np.maximum(rest[some, None], 1e-9), self.chance)
            tail[some] = np.einsum("nk,k->n", known, weight)
        return np.where(rest > 0.0, tail, 0.0)


@dataclass(frozen=True, slots=True)
class CountLaw:
    """A count's probabilities: ``above`` (N,) is the chance of more than each ``knot`` (N,).

    Knots lie halfway between counts, the first at -1/2; between them the chance falls evenly.
    Beyond the last, ``clumps`` go on; without them no more can come, and the last chance is 0.
    """

    knot: FloatArray
    above: FloatArray
    clumps: Clumps | None = None

    @classmethod
    def listed(cls, pmf: FloatArray) -> "CountLaw":
        """All of it listed: the probabilities of 0, 1, 2 ..."""
        above = np.append(np.minimum(np.cumsum(pmf[::-1])[::-1], 1.0), 0.0)
        return cls(np.arange(float(above.size)) - 0.5, above)

    @classmethod
    def begun(cls, pmf: FloatArray, clumps: Clumps) -> "CountLaw":
        """The probabilities of the first counts 0, 1, 2 ..., and clumps for the rest."""
        above = np.maximum(1.0 - np.append(0.0, np.cumsum(pmf)), 0.0)
        return cls(np.arange(float(above.size)) - 0.5, above, clumps)

    @property
    def mean(self) -> float:
        return self.excess(0) if self.clumps is None else self.clumps.mean

    def at_least(self, count: ArrayLike) -> FloatArray:
        """P(at least ``count``), of any shape (whole numbers)."""
        asked = np.asarray(count, dtype=np.float64)
        flat = asked.ravel()
        tail = np.interp(flat - 0.5, self.knot, self.above)
        if self.clumps is not None and np.any(beyond := flat > self.knot[-1] + 0.5):
            tail[beyond] = np.minimum(self.clumps.at_least(flat[beyond]), self.above[-1])
        return np.where(flat <= 0.0, 1.0, tail).reshape(asked.shape)

    def excess(self, count: int) -> float:
        """Mean of what exceeds ``count``: E max(number - count, 0), the sum of P(at least k) for
        all k above it.
        """
        if self.clumps is not None:
            if count > max(self.knot[-1], 0.0):
                return self.clumps.excess(count)
            lacking = 1.0 - self.at_least(np.arange(1, count + 1))
            return self.clumps.mean - count + float(lacking.sum())
        beyond = self.knot > count + 0.5
        knot = np.append(count + 0.5, self.knot[beyond])
        first = float(self.at_least(count + 1))
        above = np.append(first, self.above[beyond])
        # The sum of a chance that falls evenly is its integral and half of where it begins.
        return float(np.trapezoid(above, knot)) + first / 2.0

    def quantiles(self, levels: Sequence[float]) -> IntArray:
        """Smallest counts whose cumulative probability reaches each level, (Q,)."""
        least = np.asarray(levels) - 1e-12
        most = self.clumps.most if self.clumps is not None else self.knot[-1]
        low = np.full(least.size, -1, dtype=np.int64)
        high = np.full(least.size, max(int(np.ceil(most)), 0), dtype=np.int64)
        while np.any(high - low > 1):
            middle = (low + high) // 2
            reached = 1.0 - self.at_least(middle + 1) >= least
            low, high = np.where(reached, low, middle), np.where(reached, middle, high)
        return high

    def surely(self, confidence: float) -> int:
        """Largest count reached with at least ``confidence``."""
        return int(self.quantiles([1.0 - confidence + 1e-11])[0])

    def summary(self) -> CountSummary:
        low, lower, middle, upper, high = self.quantiles(BAND_QUANTILES).astype(np.float64).tolist()
        return CountSummary(
            self.mean, middle, Interval(lower, upper, 0.5), Interval(low, high, INTERVAL_LEVEL)
        )
