"""How many plants come from a number of sown units: the exact predictive distribution.

Given the chance p that one unit gives a plant, counts are binomial, or, where losses come in
patches, beta-binomial within each patch of neighbouring units (intra-class correlation ``rho``)
and independent between patches. Uncertainty about p (weighted nodes) is mixed over. Sums over
patches and over lots are convolutions, done exactly through the discrete Fourier transform of
the probabilities; rounding stays near 1e-15.

Source for the beta-binomial: J.G. Skellam, Journal of the Royal Statistical Society B
10:257-261 (1948).

Outside checks: scipy's binomial and beta-binomial, dense double integration, convolution.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.fft import irfft, next_fast_len, rfft
from scipy.special import bdtrc, gammaln, ndtr, pdtr

from seedbank.science.emergence import WeightedNodes
from seedbank.science.quantities import FloatArray, Interval

# Above this many units the count given p is taken as normal with a half-unit correction; its
# error after mixing is measured in the tests.
EXACT_LIMIT = 1000


@dataclass(frozen=True, slots=True)
class Patches:
    """Patchiness: correlation ``rho`` (0..1) within patches of ``units`` neighbouring units.

    ``units=None`` makes the whole sowing one patch.
    """

    rho: float = 0.0
    units: int | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.rho < 1.0:
            raise ValueError(f"rho must be at least 0 and below 1, got {self.rho!r}")
        if self.units is not None and self.units < 1:
            raise ValueError(f"a patch has at least one unit, got {self.units!r}")

    def inflation(self, seeds: FloatArray) -> FloatArray:
        """Variance of the count over binomial variance."""
        size = seeds if self.units is None else np.minimum(seeds, self.units)
        return np.asarray(1.0 + (size - 1.0) * self.rho)


NO_PATCHES = Patches()


@dataclass(frozen=True, slots=True)
class CountSummary:
    """Mean, median and central 50 % and 90 % intervals of a count."""

    mean: float
    median: float
    likely: Interval
    range: Interval


def patch_pmf(probability: FloatArray, units: int, rho: float) -> FloatArray:
    """Probability of 0..units plants in one patch, shape (K, units + 1); rho > 0."""
    chance = np.clip(probability, 1e-15, 1.0 - 1e-15)[:, None]
    scale = (1.0 - rho) / rho
    # C(n, k) (a)_k (b)_(n - k) / (a + b)_n: rising factorials are sums of logs, no gammas.
    came, failed = _log_rising(chance * scale, units), _log_rising((1.0 - chance) * scale, units)
    whole = _log_rising(np.array([[scale]]), units)[:, -1:]
    return np.asarray(np.exp(_log_ways(units) - whole + came + failed[:, ::-1]))


def _log_rising(start: FloatArray, units: int) -> FloatArray:
    """Logs of start (start + 1) ... (start + k - 1) for k = 0..units, shape (K, units + 1)."""
    log = np.zeros((start.shape[0], units + 1))
    np.cumsum(np.log(start + np.arange(units)), axis=1, out=log[:, 1:])
    return log


@lru_cache(maxsize=64)
def _log_ways(units: int) -> FloatArray:
    count = np.arange(units + 1, dtype=np.float64)
    return np.asarray(gammaln(units + 1.0) - gammaln(count + 1.0) - gammaln(units - count + 1.0))


def transform(
    probability: FloatArray, seeds: int, patches: Patches, size: int
) -> NDArray[np.complex128]:
    """Half-spectrum of the count's probabilities for each p: shape (K, size // 2 + 1)."""
    if patches.rho == 0.0:
        angle = np.exp(-2j * np.pi * np.arange(size // 2 + 1) / size)
        return _power(1.0 + probability[:, None] * (angle[None, :] - 1.0), seeds)
    units = seeds if patches.units is None else min(seeds, patches.units)
    if units == 0:
        return np.ones((probability.size, size // 2 + 1), dtype=np.complex128)
    full, rest = divmod(seeds, units)
    whole = _power(rfft(patch_pmf(probability, units, patches.rho), n=size), full)
    if rest:
        whole = whole * rfft(patch_pmf(probability, rest, patches.rho), n=size)
    return np.asarray(whole)


def _power(base: NDArray[np.complex128], exponent: int) -> NDArray[np.complex128]:
    """Whole power by repeated squaring: several times faster than the complex logarithm."""
    result = np.ones_like(base)
    while exponent:
        if exponent & 1:
            result = result * base
        exponent >>= 1
        if exponent:
            base = base * base
    return result


def plants_pmf(emergence: WeightedNodes, seeds: int, patches: Patches = NO_PATCHES) -> FloatArray:
    """Probability of 0, 1, ... ``seeds`` plants, shape (seeds + 1,), summing to 1.

    Raises ``ValueError`` when ``seeds`` is negative.
    """
    if seeds < 0:
        raise ValueError(f"seeds must not be negative, got {seeds!r}")
    if seeds > EXACT_LIMIT:
        edge = np.arange(seeds + 2, dtype=np.float64)
        return np.asarray(-np.diff(_normal_tail(emergence, float(seeds), edge, patches)))
    size = next_fast_len(seeds + 1, real=True)
    # einsum, not @: threaded BLAS spins for longer than this small product takes.
    each = transform(emergence.value, seeds, patches, size)
    mixed = np.einsum("k,kf->f", emergence.weight, each)
    pmf = np.maximum(irfft(mixed, n=size)[: seeds + 1], 0.0)
    return np.asarray(pmf / pmf.sum())


def _normal_tail(
    emergence: WeightedNodes, seeds: float, wanted: FloatArray, patches: Patches
) -> FloatArray:
    """P(count >= wanted) with the count normal given p; certain at 0 and past ``seeds``."""
    wanted = np.atleast_1d(wanted)
    tail = np.zeros(wanted.shape)
    factor = patches.inflation(np.asarray(seeds))
    for chance, weight in zip(emergence.value, emergence.weight, strict=True):
        sd = np.sqrt(max(seeds * chance * (1.0 - chance), 1e-12) * factor)
        tail += weight * ndtr((seeds * chance - wanted + 0.5) / sd)
    return np.where(wanted <= 0, 1.0, np.where(wanted > seeds, 0.0, tail))


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
        tail = bdtrc(float(wanted - 1), seeds, emergence.value)
        return min(float(emergence.weight @ tail), 1.0)
    if seeds > EXACT_LIMIT:
        return float(_normal_tail(emergence, float(seeds), np.array([wanted]), patches)[0])
    return float(min(plants_pmf(emergence, seeds, patches)[wanted:].sum(), 1.0))


def rough_enough(emergence: WeightedNodes, seeds: float, wanted: int, patches: Patches) -> float:
    """Normal stand-in for ``probability_enough``: only to start an exact search near its end."""
    chance = emergence.value
    noise = np.maximum(seeds * chance * (1.0 - chance), 1e-9)
    sd = np.sqrt(noise * patches.inflation(np.asarray(seeds)))
    return float(emergence.weight @ ndtr((seeds * chance - wanted + 0.5) / sd))


def quantile(pmf: FloatArray, probability: float) -> int:
    """Smallest count whose cumulative probability reaches ``probability``."""
    reached = np.cumsum(pmf) >= probability - 1e-12
    return int(np.argmax(reached)) if reached.any() else pmf.size - 1


def summarise_counts(pmf: FloatArray) -> CountSummary:
    """Mean, median, 50 % and 90 % central intervals of a count with these probabilities."""
    low, lower, middle, upper, high = (
        float(quantile(pmf, level)) for level in (0.05, 0.25, 0.5, 0.75, 0.95)
    )
    mean = float(pmf @ np.arange(pmf.size))
    return CountSummary(mean, middle, Interval(lower, upper, 0.5), Interval(low, high, 0.9))


def seedling_pmf(plants: FloatArray, seedlings_per_unit: float) -> FloatArray:
    """Probabilities of the number of seedlings when an emerged unit may give several.

    A unit that emerges gives one seedling and a Poisson number more, ``seedlings_per_unit`` in
    all on average (our choice of spread; the mean is what sources print). Raises ``ValueError``
    when that mean is below 1.
    """
    if seedlings_per_unit < 1.0:
        raise ValueError(f"an emerged unit gives at least 1 seedling, got {seedlings_per_unit!r}")
    if seedlings_per_unit == 1.0:
        return plants
    units = np.arange(plants.size, dtype=np.float64)
    extra = units * (seedlings_per_unit - 1.0)
    top = int(units[-1] + extra[-1] + 8.0 * np.sqrt(extra[-1] + 1.0)) + 1
    live = plants > 1e-12
    more = np.arange(top + 1)[:, None] - units[None, live]
    known = np.where(more >= 0, pdtr(np.maximum(more, 0.0), extra[None, live]), 0.0)
    cumulative = known @ (plants[live] / plants[live].sum())
    return np.asarray(np.diff(cumulative, prepend=0.0))
