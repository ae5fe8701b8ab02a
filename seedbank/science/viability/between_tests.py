"""How much tests of one lot vary beyond what their seeds explain, learned over the garden.

The intra-class correlation rho is common to all of a gardener's tests. The chance of each lot's
tests under each of seven values, its keeping and its start summed out, is multiplied over the lots
with two tests or more. Prior: log-normal of median 0.012, spread 0.9 in logs; tolerances of
official tests imply 0.0028 (7 CFR 201.63, computed), home tests vary more: our choice. One value,
the mean, is used for every test: a mixture over rho would let one more seed alive lower a belief.
Outside check: simulated gardens (``tests/benchmarks/test_shared_keeping``).
"""

from collections.abc import Callable

import numpy as np

from seedbank.science.quantities import FloatArray
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior_scan import Priors
from seedbank.science.viability.shared_keeping import pace_evidence

RHO = np.array([0.003, 0.006, 0.012, 0.025, 0.05, 0.1, 0.2])
RHO_MEDIAN, RHO_LOG_SD = 0.012, 0.9
MOST_LOTS = 300
"""So many lots, those with most tests, tell enough: our choice."""


def rho_evidence(priors: Priors, tests_at: Callable[[float], Observations]) -> FloatArray:
    """log chance (T, 7) of each lot's tests at each of ``RHO``, which ``tests_at`` gives for it."""
    answers = [
        pace_evidence(priors, tests_at(rho)).log_chance(priors.log_sigma_sd) for rho in RHO.tolist()
    ]
    return np.stack(answers, axis=1)


def learn_rho(evidence: FloatArray) -> float:
    """Mean of rho from lots' log chances (T, 7), to three decimals; the prior's with T = 0.

    Three decimals so that one test more seldom changes what every other test is worth.
    """
    log_weight = -0.5 * (np.log(RHO / RHO_MEDIAN) / RHO_LOG_SD) ** 2 + evidence.sum(axis=0)
    weight = np.exp(log_weight - log_weight.max())
    return round(float(weight @ RHO / weight.sum()), 3)
