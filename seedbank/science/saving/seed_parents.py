"""How many to sow and raise so that enough seed parents are left, and whether a lot can give them.

A sown unit ends as a seed parent when it emerges, is not lost before it flowers, outlives the
winter if it must, and is not rogued:

    p = e x (1 - loss) x (1 - winter) x (1 - rogued)

``e`` is the chance that a unit emerges (nodes from ``emergence``), the shares are betas common to
a whole sowing. Given p, parents are binomial; what is unknown of p is mixed over, so a bad season
strikes all plants together.

Outside checks: the exact sum of factorial moments in many digits, simulation, seed savers' rule
of thumb for onion and leek ("grow 30 or more to keep 20").
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from seedbank.science.quantities import USUAL_CONFIDENCE, BoolArray, FloatArray, IntArray
from seedbank.science.sowing.emergence import BetaShare, WeightedNodes, compress, share_nodes
from seedbank.science.sowing.plant_counts import CountSummary, plants_law, probability_enough
from seedbank.science.sowing.seed_need import check_wanted, smallest_seeds

COMMON_PRACTICE = "common practice, no single source"

# Shares usually lost between emergence and flowering, over winter and by roguing, with the weight
# of each in plants. Common practice, no single source; the weights are our choice.
_USUAL_LOSS = BetaShare(1.0, 9.0)
_USUAL_WINTER = BetaShare(1.5, 8.5)
_USUAL_ROGUED = BetaShare(1.0, 9.0)


@dataclass(frozen=True, slots=True)
class ParentLosses:
    """Shares of plants lost before flowering, over winter and by roguing; None is none lost.

    ``winter`` counts only for crops that flower in the year after sowing.
    """

    growing: BetaShare | None = None
    winter: BetaShare | None = None
    rogued: BetaShare | None = None


@dataclass(frozen=True, slots=True)
class ParentsNeed:
    """What to sow and raise for ``parents`` seed parents at ``confidence``.

    ``seeds`` units to sow (all that may be sown where ``attained`` is False), ``plants`` the
    young plants that must be standing, ``reached`` the chance of the parents from ``seeds``,
    ``sure_parents`` what ``seeds`` give with ``confidence``, ``kept`` the spread of parents kept.
    """

    parents: int
    confidence: float
    seeds: int
    attained: bool
    plants: int
    reached: float
    sure_parents: int
    kept: CountSummary


@dataclass(frozen=True, slots=True)
class ParentsOutlook:
    """A lot's chance of still giving the parents, one entry a year of sowing, this year first.

    Arrays (Y,): ``sow_year`` and ``flower_year`` count from this year (0), ``chance`` from all
    seeds available, ``seeds`` the fewest that do at the confidence asked (-1 where not even all
    do), ``enough`` whether they do.
    """

    sow_year: IntArray
    flower_year: IntArray
    chance: FloatArray
    seeds: IntArray
    enough: BoolArray


def usual_losses(overwinters: bool) -> ParentLosses:
    """Losses to reckon with before own records: a tenth each growing and rogued, and over winter
    15 % of crops that stand or are stored through it.

    Common practice, no single source. Outside check: of 30 plants of a biennial they leave 20 on
    average, as seed savers' guides say of onion and leek; to be sure of 20 takes more.
    """
    return ParentLosses(_USUAL_LOSS, _USUAL_WINTER if overwinters else None, _USUAL_ROGUED)


@lru_cache(maxsize=256)  # every variety of a plan asks anew, mostly with the usual losses
def survival_nodes(losses: ParentLosses) -> WeightedNodes:
    """The share of young plants left as seed parents, as nodes: the product of what each loss
    leaves. Outside check: mean and variance of the product of betas in closed form.
    """
    left = WeightedNodes(np.ones(1), np.ones(1))
    for share in (losses.growing, losses.winter, losses.rogued):
        if share is not None:
            left = _times(left, _left(share))
    left.value.setflags(write=False)
    left.weight.setflags(write=False)
    return left


def parent_nodes(emergence: WeightedNodes, losses: ParentLosses) -> WeightedNodes:
    """The chance that one sown unit ends as a seed parent, as nodes; ``emergence`` holds the
    chance that it emerges. Outside check: the exact sum of factorial moments in many digits.
    """
    return _times(emergence, survival_nodes(losses))


def plants_to_start(
    parents: int,
    emergence: WeightedNodes,
    losses: ParentLosses,
    confidence: float = USUAL_CONFIDENCE,
    available: int | None = None,
) -> ParentsNeed:
    """Units to sow and plants to raise so that at least ``parents`` are kept with ``confidence``.

    ``available`` bounds the units; if they can't do it the answer is for sowing them all. One
    plant a unit is left standing, so a cluster counts as one. Raises ``ValueError`` for a
    negative number or a confidence outside 0..1. Outside check: the exact sum of factorial
    moments, searched one by one.
    """
    check_wanted(parents, confidence)
    chance = parent_nodes(emergence, losses)
    seeds = smallest_seeds(chance, parents, confidence, available=available)
    attained = seeds is not None
    if seeds is None:
        # Beyond the search's reach no number helps; sow what there is, or one a parent to begin.
        seeds = available if available is not None else parents
    plants = smallest_seeds(survival_nodes(losses), parents, confidence)
    law = plants_law(chance, seeds)
    return ParentsNeed(
        parents,
        confidence,
        seeds,
        attained,
        parents if plants is None else plants,
        float(probability_enough(chance, seeds, parents)),
        law.surely(confidence),
        law.summary(),
    )


def parents_outlook(
    parents: int,
    emergence_by_year: Sequence[WeightedNodes],
    seeds_available: int,
    losses: ParentLosses,
    confidence: float = USUAL_CONFIDENCE,
    biennial: bool = False,
) -> ParentsOutlook:
    """Whether a lot can still give ``parents`` sown this year, next year and so on.

    ``emergence_by_year`` holds the emergence nodes of the lot as it will be at sowing in each year
    (this year first). A biennial flowers the year after sowing, and only it bears the winter loss.
    Raises ``ValueError`` for negative numbers or a confidence outside 0..1. Outside check: summed
    tails for each year alone; never rises as seed ages.
    """
    check_wanted(parents, confidence)
    if seeds_available < 0:
        raise ValueError(f"seeds must not be negative, got {seeds_available!r}")
    borne = losses if biennial else ParentLosses(losses.growing, None, losses.rogued)
    nodes = [parent_nodes(emergence, borne) for emergence in emergence_by_year]
    chance = [float(probability_enough(node, seeds_available, parents)) for node in nodes]
    seeds = [smallest_seeds(n, parents, confidence, available=seeds_available) for n in nodes]
    years = np.arange(len(nodes), dtype=np.int64)
    return ParentsOutlook(
        years,
        years + (1 if biennial else 0),
        np.array(chance, dtype=np.float64),
        np.array([-1 if few is None else few for few in seeds], dtype=np.int64),
        np.array([few is not None for few in seeds], dtype=np.bool_),
    )


def _left(share: BetaShare) -> WeightedNodes:
    lost = share_nodes(share)
    return WeightedNodes(1.0 - lost.value, lost.weight)


def _times(first: WeightedNodes, second: WeightedNodes) -> WeightedNodes:
    return compress(
        first.value[:, None] * second.value[None, :],
        first.weight[:, None] * second.weight[None, :],
    )
