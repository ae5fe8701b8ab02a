"""How many plants come from a number of sown units: the predictive distribution.

Given the chance p that one unit gives a plant, counts are binomial or come in ``patches``;
uncertainty about p (weighted nodes) is mixed over. Up to ``EXACT_LIMIT`` units every count is
listed, exactly; rounding stays near 1e-15. Above that the first counts are listed and clumps stand
for the rest (``count_law``), so that no number of units takes much time or room.

Outside checks: scipy's binomial and beta-binomial, dense double integration, convolution.
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy.fft import irfft, next_fast_len
from scipy.special import bdtrc, ndtr

from seedbank.science.quantities import FloatArray
from seedbank.science.sowing.count_law import Clumps, CountLaw
from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.patches import NO_PATCHES, Patches, transform

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
    size = next_fast_len(seeds + 1, real=True)
    # einsum, not @: threaded BLAS spins for longer than this small product takes.
    each = transform(emergence.value, seeds, patches, size)
    mixed = np.einsum("k,kf->f", emergence.weight, each)
    pmf = np.maximum(irfft(mixed, n=size)[: seeds + 1], 0.0)
    return np.asarray(pmf / pmf.sum())


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
    size = next_fast_len(2 * listed, real=True)
    damping = float(_FOLDED ** (1.0 / size))
    each = transform(emergence.value, seeds, patches, size, damping)
    mixed = irfft(np.einsum("k,kf->f", emergence.weight, each), n=size)[:listed]
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
        tail = bdtrc(float(wanted - 1), seeds, emergence.value)
        return min(float(emergence.weight @ tail), 1.0)
    if seeds > EXACT_LIMIT:
        return float(plants_law(emergence, seeds, patches).at_least(wanted))
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
    size = next_fast_len(top + 1, real=True)
    # The generating function of the plants, at that of one unit's seedlings (Horner's rule).
    turn = np.exp(-2j * np.pi * np.arange(size // 2 + 1) / size)
    one = turn * np.exp((seedlings_per_unit - 1.0) * (turn - 1.0))
    whole = np.zeros_like(one)
    for probability in plants[::-1]:
        whole *= one
        whole += probability
    return np.maximum(irfft(whole, n=size)[: top + 1], 0.0)
