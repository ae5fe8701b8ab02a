"""All that verdicts ask of the lots' posteriors, asked of some lots at a time.

Each part is fitted once, asked everything, and let go: however large the collection, only these
few numbers a lot remain.
"""

from dataclasses import dataclass, fields

import numpy as np
from scipy.special import ndtr

from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.testing.test_plan import keep_or_regenerate_losses, screen_tests
from seedbank.science.verdicts.regeneration import regeneration_viability
from seedbank.science.verdicts.verdict import RARITY_WEIGHT
from seedbank.science.viability.posterior import Posterior
from seedbank.science.viability.quantile_nodes import QUANTILES, nodes_from_quantiles
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO

USABLE_VIABILITY = 0.30  # our choice
TEST_SEEDS = 20  # our choice
NEEDLESS_CROP_LOSS = 0.05  # of a seed crop grown for nothing, beside losing a rare variety (1)
_QUANTILES = len(QUANTILES)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of each lot, (L,): doses this season, next and the one after (a biennial's
    later ones fall later), the viability that raises its seed parents, who else keeps it."""

    now: FloatArray
    next: FloatArray
    after: FloatArray
    needed: FloatArray
    other_keepers: IntArray

    def take(self, lots: IntArray) -> "Asked":
        return Asked(*(getattr(self, field.name)[lots] for field in fields(self)))


@dataclass(frozen=True, slots=True)
class Chances:
    """The answers, (L,). ``quantiles`` (L, 5) are today's probits; ``parents`` (3, L) the chance
    of raising the seed parents, season by season; ``value_of_test`` is in losses of a variety
    nobody else keeps."""

    quantiles: FloatArray
    initial: FloatArray
    parents: FloatArray
    below_regeneration: FloatArray
    usable: FloatArray
    value_of_test: FloatArray


def lot_chances(posterior: Posterior, asked: Asked) -> Chances:
    """Ask it all. ``initial`` is the viability at harvest, by the mean probit."""
    table = np.empty((posterior.size, _QUANTILES + 7))
    for lots, part in posterior.in_parts():
        table[lots] = _of_part(part, asked.take(lots))
    initial, now, later, after, below, usable, worth = table[:, _QUANTILES:].T.copy()
    return Chances(
        table[:, :_QUANTILES].copy(), initial, np.array([now, later, after]), below, usable, worth
    )


def _of_part(posterior: Posterior, asked: Asked) -> FloatArray:
    """Answers of some lots, a row each."""
    quantiles = posterior.probit_quantile(QUANTILES, asked.now)
    initial = ndtr(posterior.probit_mean(np.zeros(posterior.size)))
    chance = posterior.probability_at_least
    return np.column_stack(
        [
            quantiles,
            initial,
            *(chance(asked.needed, dose) for dose in (asked.now, asked.next, asked.after)),
            1.0 - chance(regeneration_viability(initial), asked.now),
            chance(USABLE_VIABILITY, asked.now),
            _value_of_test(quantiles, asked),
        ]
    )


def _value_of_test(quantiles: FloatArray, asked: Asked) -> FloatArray:
    """What a test of ``TEST_SEEDS`` seeds is worth."""
    nodes = nodes_from_quantiles(quantiles)
    losses = keep_or_regenerate_losses(
        nodes,
        np.minimum(asked.needed, 1.0),
        RARITY_WEIGHT[asked.other_keepers],
        np.full(asked.needed.size, NEEDLESS_CROP_LOSS),
    )
    return screen_tests(nodes, losses, TEST_SEEDS, BETWEEN_TESTS_RHO).test
