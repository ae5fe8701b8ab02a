"""What testing ten seeds before sowing would save, in plants.

The expected cost of sowing at the rate that is best by what is believed now, less that of sowing,
after each count that the test may give, at the rate that is best then (preposterior analysis,
H. Raiffa & R. Schlaifer 1961, from memory).

Outside check: never below zero, nothing where the lot is known, never above knowing it.
"""

from dataclasses import replace

import numpy as np
from scipy.special import ndtr

from seedbank.science.binomial import binomial_pmf
from seedbank.science.quantities import FloatArray
from seedbank.science.sowing.emergence import BetaShare, ShiftLaw, WeightedNodes
from seedbank.science.sowing.emergence_twice import EmergenceTwice, emergence_twice, fewer_nodes
from seedbank.science.sowing.two_sowings import Bed, sowing_costs

TEST_SEEDS = 10
"""Seeds of a quick test: ten tell most of what fifty do; our choice."""
_RATES = 13


def saved_by_test(
    bed: Bed,
    lot: WeightedNodes,
    shift: ShiftLaw,
    lost: BetaShare | None = None,
    instead: float = np.inf,
) -> float:
    """Plants saved by testing ``TEST_SEEDS`` of a lot (probits) before it goes into ``bed``, at
    rates up to ``bed.most_rate``; both sowings as in ``emergence_twice``. ``instead`` is what
    fresh seed would cost, that the test may lead to."""
    nodes = fewer_nodes(lot, 16)
    point = np.ones(1)
    each = np.array(
        [emergence_twice(WeightedNodes(v, point), shift, lost).joint for v in nodes.value[:, None]]
    )
    counts = np.arange(TEST_SEEDS + 1)[:, None]
    seen = binomial_pmf(counts, TEST_SEEDS, ndtr(nodes.value)) * nodes.weight
    rates = np.geomspace(min(0.5, bed.most_rate), bed.most_rate, _RATES)
    after = sum(
        min(_least(bed, rates, np.einsum("v,vij->ij", row / row.sum(), each)), instead) * row.sum()
        for row in seen
        if row.sum() > 1e-9
    )
    now = _least(bed, rates, np.einsum("v,vij->ij", nodes.weight, each))
    return max(min(now, instead) - float(after), 0.0)


def _least(bed: Bed, rates: FloatArray, joint: FloatArray) -> float:
    known = replace(bed, twice=EmergenceTwice(bed.twice.value, joint))
    return float(sowing_costs(known, rates).total.min())
