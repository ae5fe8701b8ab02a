"""How many plants come from a number of sown units: the predictive distribution.

Given the chance p that one unit gives a plant, counts are binomial or come in ``patches``;
uncertainty about p (weighted nodes) is mixed over. Up to ``EXACT_LIMIT`` units every count is
listed, exactly; rounding stays near 1e-15. Above that the first counts are listed and clumps stand
for the rest (``CountLaw``), so that no number of units takes much time or room.

Outside checks: scipy's binomial and beta-binomial, dense double integration, convolution.

The probabilities of a count, however large, and what is told of them.

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
import scipy
from numpy.typing import ArrayLike

from seedbank.science.quantities import (
    BAND_QUANTILES,
    INTERVAL_LEVEL,
    FloatArray,
    IntArray,
    Interval,
)
from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.patches import NO_PATCHES, Patches, transform

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
        come = self.draws * self.chance * scipy.special.betainc(clumps - 1.0, rest, self.chance)
        return self.size * float(
            self.weight @ (come - clumps * scipy.special.betainc(clumps, rest, self.chance))
        )

    def _tail(self, clumps: FloatArray, weight: FloatArray) -> FloatArray:
        rest = self.draws - clumps + 1.0
        tail = np.zeros(clumps.size)
        for part in range(0, clumps.size, _AT_ONCE):
            some = slice(part, part + _AT_ONCE)
            known = scipy.special.betainc(
                clumps[some, None], np.maximum(rest[some, None], 1e-9), self.chance
            )
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


EXACT_LIMIT = 1000  # units; the error above it is measured in the tests
# Clumps up to which their counts are listed, and most counts listed so. Our choice.
_FEW_CLUMPS, _MOST_LISTED = 20, 1000
_FOLDED = 1e-9  # what is left of counts that fold back on those listed


def plants_pmf(emergence: WeightedNodes, seeds: int, patches: Patches = NO_PATCHES) -> FloatArray:
    """Probability of 0, 1, ... ``seeds`` plants, shape (seeds + 1,), summing to 1.

    ``plants_law`` tells the same without a list as long as ``seeds``. Raises ``ValueError`` when
    ``seeds`` is negative.
    """
    if seeds < 0:
        raise ValueError(f"seeds must not be negative, got {seeds!r}")
    if seeds > EXACT_LIMIT:
        return np.asarray(
            -np.diff(plants_law(emergence, seeds, patches).at_least(np.arange(seeds + 2)))
        )
    size = scipy.fft.next_fast_len(seeds + 1, real=True)
    # einsum, not @: threaded BLAS spins for longer than this small product takes.
    each = transform(emergence.value, seeds, patches, size)
    mixed = np.einsum("k,kf->f", emergence.weight, each)
    pmf = np.maximum(scipy.fft.irfft(mixed, n=size)[: seeds + 1], 0.0)
    return np.asarray(pmf / pmf.sum())


def plants_given(chance: FloatArray, seeds: int, patches: Patches = NO_PATCHES) -> FloatArray:
    """Probability of 0 .. ``seeds`` plants at each chance (K,) of one unit: (K, seeds + 1)."""
    size = scipy.fft.next_fast_len(seeds + 1, real=True)
    each = scipy.fft.irfft(transform(chance, seeds, patches, size), n=size, axis=1)
    return np.asarray(np.maximum(each[:, : seeds + 1], 0.0))


def plants_law(
    emergence: WeightedNodes,
    seeds: int,
    patches: Patches = NO_PATCHES,
    seedlings_per_unit: float = 1.0,
) -> CountLaw:
    """The plants from ``seeds`` units, or their seedlings where a unit gives several.

    A unit that emerges gives one seedling and a Poisson number more, ``seedlings_per_unit`` in
    all on average (our choice of spread; the mean is what sources print). Raises ``ValueError``
    for negative seeds, or when that mean is below 1.
    """
    if seeds <= EXACT_LIMIT:
        return CountLaw.listed(
            seedling_pmf(plants_pmf(emergence, seeds, patches), seedlings_per_unit)
        )
    several = seedlings_per_unit
    clump = float(patches.inflation(np.asarray(float(seeds))))
    more = (several - 1.0) / several  # variance over mean that the seedlings' own spread adds
    clumps = Clumps(
        emergence.value / (1.0 + more / (several * clump)),
        emergence.weight,
        seeds / clump,
        several * clump + more,
        float(seeds) if several == 1.0 else several * seeds + more * seeds / clump,
    )
    listed = 0 if clumps.size == 1.0 else min(int(_FEW_CLUMPS * clumps.size), _MOST_LISTED)
    first = first_counts(emergence, seeds, patches, listed)
    return CountLaw.begun(seedling_pmf(first, several)[:listed], clumps)


def seedlings_law(plants: CountLaw, seedlings_per_unit: float) -> CountLaw:
    """The seedlings of these plants; of more than ``EXACT_LIMIT``, as many for each of them."""
    if seedlings_per_unit == 1.0:
        return plants
    if plants.clumps is None and plants.knot.size <= EXACT_LIMIT + 2:
        return CountLaw.listed(seedling_pmf(-np.diff(plants.above), seedlings_per_unit))
    return CountLaw((plants.knot + 0.5) * seedlings_per_unit - 0.5, plants.above)


def first_counts(emergence: WeightedNodes, seeds: int, patches: Patches, listed: int) -> FloatArray:
    """Probabilities of the first counts 0 .. ``listed`` - 1 only, however many can come; of none
    where patches are longer than ``EXACT_LIMIT``.
    """
    if listed == 0 or (patches.rho > 0.0 and min(seeds, patches.units or seeds) > EXACT_LIMIT):
        return np.zeros(0)
    size = scipy.fft.next_fast_len(2 * listed, real=True)
    damping = float(_FOLDED ** (1.0 / size))
    each = transform(emergence.value, seeds, patches, size, damping)
    mixed = scipy.fft.irfft(np.einsum("k,kf->f", emergence.weight, each), n=size)[:listed]
    return np.asarray(np.maximum(mixed / damping ** np.arange(listed), 0.0))


def probability_enough(
    emergence: WeightedNodes,
    seeds: ArrayLike,
    wanted: ArrayLike,
    patches: Patches = NO_PATCHES,
) -> FloatArray:
    """P(at least ``wanted`` plants from ``seeds`` units); the two broadcast together."""
    sown, plants = np.broadcast_arrays(np.asarray(seeds), np.asarray(wanted))
    if np.any(sown < 0):
        raise ValueError(f"seeds must not be negative, got {seeds!r}")
    enough = [
        _enough(emergence, int(n), int(w), patches)
        for n, w in zip(sown.ravel(), plants.ravel(), strict=True)
    ]
    return np.array(enough, dtype=np.float64).reshape(sown.shape)


def _enough(emergence: WeightedNodes, seeds: int, wanted: int, patches: Patches) -> float:
    if wanted <= 0:
        return 1.0
    if wanted > seeds:
        return 0.0
    if patches.rho == 0.0:
        tail = scipy.special.bdtrc(float(wanted - 1), seeds, emergence.value)
        return min(float(emergence.weight @ tail), 1.0)
    if seeds > EXACT_LIMIT:
        return float(plants_law(emergence, seeds, patches).at_least(wanted))
    return float(min(plants_pmf(emergence, seeds, patches)[wanted:].sum(), 1.0))


def rough_enough(emergence: WeightedNodes, seeds: float, wanted: int, patches: Patches) -> float:
    """Normal stand-in for ``probability_enough``: only to start an exact search near its end."""
    chance = emergence.value
    noise = np.maximum(seeds * chance * (1.0 - chance), 1e-9)
    sd = np.sqrt(noise * patches.inflation(np.asarray(seeds)))
    return float(emergence.weight @ scipy.special.ndtr((seeds * chance - wanted + 0.5) / sd))


def seedling_pmf(plants: FloatArray, seedlings_per_unit: float) -> FloatArray:
    """Probabilities of the number of seedlings when an emerged unit may give several.

    The spread is that of ``plants_law``. ``plants`` may be the first counts alone: the first
    probabilities are then right, as many as were given. Raises ``ValueError`` when
    ``seedlings_per_unit`` is below 1.
    """
    if seedlings_per_unit < 1.0:
        raise ValueError(f"an emerged unit gives at least 1 seedling, got {seedlings_per_unit!r}")
    if seedlings_per_unit == 1.0 or plants.size == 0:
        return plants
    units, extra = plants.size - 1.0, (plants.size - 1.0) * (seedlings_per_unit - 1.0)
    top = int(units + extra + 8.0 * np.sqrt(extra + 1.0)) + 1
    size = scipy.fft.next_fast_len(top + 1, real=True)
    # The generating function of the plants, at that of one unit's seedlings (Horner's rule).
    turn = np.exp(-2j * np.pi * np.arange(size // 2 + 1) / size)
    one = turn * np.exp((seedlings_per_unit - 1.0) * (turn - 1.0))
    whole = np.zeros_like(one)
    for probability in plants[::-1]:
        whole *= one
        whole += probability
    return np.maximum(scipy.fft.irfft(whole, n=size)[: top + 1], 0.0)
