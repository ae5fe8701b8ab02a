"""Tests that went wrong (too cold, mould, old paper), and tests of one lot that can't all hold.

Of a test that went wrong the seed that sprouted is f times what was alive, f unknown, flat on 0..1:
with 0..n seeds alive it says p^-1 times the integral of the beta-binomial from 0 to p, the least
that was alive and hardly anything of the most. Such a test is taken so where the gardener says
that it went wrong, and for sure: as one possibility among two (our choice would be 0.3) belief
would rise as fewer seeds sprout. One seed more never lowers what it says, for the integrand's
likelihood ratio rises with p, and so does that of its part below any p.

Two tests **contradict** each other where, by the lot's belief from the earlier alone, a count so
far off as the later's has a two-sided chance under 1 in 200 (our choice). The seed may have aged
in between, if the later is lower; it can't have come alive, so that a later one that is higher is
held against the earlier's own day. Which one failed: the lower. Whether it did is judged by all
else that is known of the lot, with prior chance 0.3 (our choice).

Outside checks: the regularised incomplete beta function, sums over a dense grid of viability.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import log_ndtr

from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.viability.evidence import (
    GRID,
    EvidenceTables,
    Observations,
    count_likelihood,
)
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.science.viability.test_forecast import forecast_tests

CONTRADICTS: Final = 1.0 / 200.0
FAILED_CHANCE: Final = 0.3
MORE_SEEDS: Final = 10
"""So many more are asked for where tests contradict each other: our choice."""
_FINER: Final = 8
_FINE = np.linspace(GRID[0], GRID[-1], _FINER * (GRID.size - 1) + 1)


def least_alive(viable: FloatArray, seeds: FloatArray, rho: FloatArray) -> FloatArray:
    """log likelihood (T, 501) over the probit of viability of tests (T,) that went wrong."""
    density = count_likelihood(viable, seeds, rho, _FINE) - 0.5 * (_FINE**2 + np.log(2.0 * np.pi))
    cells = np.logaddexp(density[:, 1:], density[:, :-1]) + np.log(0.5 * (_FINE[1] - _FINE[0]))
    below = count_likelihood(viable, seeds, rho, _FINE[:1]) + log_ndtr(_FINE[0])
    whole = np.logaddexp.accumulate(np.hstack([below, cells]), axis=1)
    return np.asarray(whole[:, ::_FINER] - log_ndtr(GRID))


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Tests number ``first`` and ``second`` of a lot can't well both hold (two-sided ``chance``).

    ``failed`` is which of them came out lower than the other allows.
    """

    first: int
    second: int
    chance: float
    failed: int


@dataclass(frozen=True, slots=True)
class LotTests:
    """Tests of one lot in order of their days: counts and correlation (J,), and ``dose`` (J, Z)
    in each of its circumstances, which are as likely as ``weight`` (Z,) says."""

    dose: FloatArray
    weight: FloatArray
    viable: FloatArray
    seeds: FloatArray
    rho: FloatArray

    def alone(self, at: IntArray) -> Observations:
        """One test a row (P,), as if it were all that is known of the lot."""
        counts = (part[at, None] for part in (self.viable, self.seeds, self.rho))
        return Observations.of_tests(self.dose[at, None, :], *counts).weighed(
            np.broadcast_to(self.weight, (at.size, self.weight.size))
        )


def find_contradiction(prior: Priors, tests: LotTests) -> Contradiction | None:
    """The two tests of a lot, of this ``prior`` (1,), that contradict each other most, if any."""
    first, second = np.triu_indices(tests.seeds.size, 1)
    if first.size == 0:
        return None
    priors, earlier = prior.take(np.zeros_like(first)), tests.alone(first)
    seeds, rho = tests.seeds[second].astype(np.int64), tests.rho[second]
    aged, fresh = (
        forecast_tests(priors, earlier, tests.dose[day], seeds, rho) for day in (second, first)
    )
    counted = tests.viable[second].astype(np.int64).tolist()
    low = np.array([one.chance[: k + 1].sum() for one, k in zip(aged, counted, strict=True)])
    high = np.array([one.chance[k:].sum() for one, k in zip(fresh, counted, strict=True)])
    chance = 2.0 * np.minimum(low, high)
    worst = int(np.argmin(chance))
    if chance[worst] >= CONTRADICTS:
        return None
    pair = int(first[worst]), int(second[worst])
    return Contradiction(*pair, float(chance[worst]), pair[int(low[worst] < high[worst])])


def chance_it_failed(prior: Priors, others: Observations, tests: LotTests, at: int) -> float:
    """Chance that test number ``at`` of a lot of this ``prior`` (1,) went wrong.

    By all ``others`` that speak of the lot.
    """
    count = tests.viable[[at]], tests.seeds[[at]], tests.rho[[at]]
    both = [count_likelihood(*count), least_alive(*count)]
    nodes = fit_posterior(prior, others, tests.dose[[at]]).nodes(tests.dose[[at]])
    said = EvidenceTables.of(np.vstack(both)).at(np.array([[1], [2]]), nodes.probit)
    good, failed = np.exp(said - said.max()) @ nodes.weight[0]
    odds = FAILED_CHANCE * failed / ((1.0 - FAILED_CHANCE) * good + FAILED_CHANCE * failed)
    return float(odds)
