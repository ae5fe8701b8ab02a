"""How many units to sow for a number of plants at a confidence, and what falls short.

The count's exact distribution (``plant_counts``) rises with every unit added, so the smallest
number is found by a bracketed bisection started from the normal approximation.

Outside checks: brute search with scipy's binomial, the probit model's old-lot property.
"""

from dataclasses import dataclass

from seedbank.science.quantities import USUAL_CONFIDENCE, Interval
from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.patches import NO_PATCHES, Patches
from seedbank.science.sowing.plant_counts import (
    CountLaw,
    CountSummary,
    plants_law,
    probability_enough,
    rough_enough,
)

# Beyond this many units per plant no gardener sows on; the chance of a plant is near nil.
_MOST_UNITS_PER_PLANT = 500


@dataclass(frozen=True, slots=True)
class SeedNeed:
    """Units to sow for ``wanted`` plants.

    ``seeds`` is the smallest number that gives at least ``wanted`` plants with ``confidence``,
    or, when ``attained`` is False, all that may be sown; ``reached`` is the probability of
    ``wanted`` plants from ``seeds``, ``sure_plants`` the number they give with ``confidence``.
    ``seedlings`` counts every seedling (a cluster gives several); ``surplus`` what is thinned.
    """

    wanted: int
    confidence: float
    seeds: int
    attained: bool
    reached: float
    sure_plants: int
    plants: CountSummary
    seedlings: CountSummary
    surplus: CountSummary


def smallest_seeds(
    emergence: WeightedNodes,
    wanted: int,
    confidence: float,
    patches: Patches = NO_PATCHES,
    available: int | None = None,
) -> int | None:
    """Smallest number of units giving ``wanted`` plants with ``confidence``; None if beyond reach.

    ``available`` bounds the search. Raises ``ValueError`` when ``confidence`` is not between 0
    and 1 or ``wanted`` is negative.
    """
    check_wanted(wanted, confidence)
    if wanted == 0:
        return 0
    limit = wanted * _MOST_UNITS_PER_PLANT if available is None else available

    def enough(seeds: int) -> bool:
        return float(probability_enough(emergence, seeds, wanted, patches)) >= confidence

    if limit < wanted:
        return None
    start = _rough_seeds(emergence, wanted, confidence, patches, limit)
    low, high, step = wanted - 1, limit, 1
    if enough(start):
        high = start
        while high - step > low and enough(high - step):
            high, step = high - step, step * 2
        low = max(low, high - step)
    else:
        low = start
        while low + step < limit and not enough(low + step):
            low, step = low + step, step * 2
        if low + step >= limit and not enough(limit):
            return None
        high = min(low + step, limit)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def seeds_to_sow(
    emergence: WeightedNodes,
    wanted: int,
    confidence: float = USUAL_CONFIDENCE,
    available: int | None = None,
    patches: Patches = NO_PATCHES,
    seedlings_per_unit: float = 1.0,
) -> SeedNeed:
    """Units to sow, and the whole outcome to expect of sowing them.

    When ``available`` units can't give the plants wanted, the answer is for sowing them all.
    """
    seeds = smallest_seeds(emergence, wanted, confidence, patches, available)
    attained = seeds is not None
    if seeds is None:
        seeds = available if available is not None else wanted * _MOST_UNITS_PER_PLANT
    plants = plants_law(emergence, seeds, patches)
    each = plants_law(emergence, seeds, patches, seedlings_per_unit)
    return describe_sowing(seeds, plants, each, wanted, confidence, attained)


def describe_sowing(
    seeds: int,
    plants: CountLaw,
    each: CountLaw,
    wanted: int,
    confidence: float,
    attained: bool,
) -> SeedNeed:
    """The outcome of ``seeds`` units sown, from the laws of their plants and of their seedlings."""
    seedlings = each.summary()
    return SeedNeed(
        wanted,
        confidence,
        seeds,
        attained,
        float(plants.at_least(wanted)),
        plants.surely(confidence),
        plants.summary(),
        seedlings,
        _surplus(seedlings, each.excess(wanted), wanted),
    )


def check_wanted(wanted: int, confidence: float) -> None:
    if wanted < 0:
        raise ValueError(f"plants wanted must not be negative, got {wanted!r}")
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence must lie between 0 and 1, got {confidence!r}")


def _surplus(seedlings: CountSummary, mean: float, wanted: int) -> CountSummary:
    def less(span: Interval) -> Interval:
        return Interval(max(span.low - wanted, 0.0), max(span.high - wanted, 0.0), span.level)

    middle = max(seedlings.median - wanted, 0.0)
    return CountSummary(mean, middle, less(seedlings.likely), less(seedlings.range))


def _rough_seeds(
    emergence: WeightedNodes, wanted: int, confidence: float, patches: Patches, limit: int
) -> int:
    low, high = wanted - 1, limit
    while high - low > 1:
        middle = (low + high) // 2
        if rough_enough(emergence, float(middle), wanted, patches) >= confidence:
            high = middle
        else:
            low = middle
    return high
