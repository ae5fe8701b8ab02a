"""What is foretold of a germination test before it is counted, and how well the count agrees.

The number viable among its seeds is beta-binomial (tests of one lot vary by rho beyond their
seeds), mixed over what is believed of the lot on the day. A count's log score is the log of the
chance that was given to it (I.J. Good, J. R. Stat. Soc. B 14:107-114, 1952, from memory): the
nearer to 0 the better, and on the mean no wrong belief scores better than the right one. Its bands
are mid-P (H.O. Lancaster, J. Am. Stat. Assoc. 56:223-234, 1961, from memory).

Outside checks: scipy.stats.betabinom mixed by hand, and coverage of simulated tests.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr

from seedbank.science.quantities import INTERVAL_ENDS, FloatArray, IntArray, Interval
from seedbank.science.sowing.patches import patch_pmf
from seedbank.science.sowing.plant_counts import CountLaw, CountSummary
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors, fit_posterior


@dataclass(frozen=True, slots=True)
class TestForecast:
    """Viability believed of a lot on the day (fractions: median, ends of the 90 % band), and the
    chances (N + 1,) of 0 .. N viable among the seeds of a test."""

    __test__ = False

    median: float
    low: float
    high: float
    chance: FloatArray

    @property
    def counts(self) -> CountSummary:
        """With mid-P intervals: whole counts of a few seeds would hold far more than they say."""
        whole = CountLaw.listed(self.chance).summary()
        middle = np.cumsum(self.chance) - 0.5 * self.chance
        return replace(
            whole,
            likely=_between(middle, 0.25, 0.75, whole.likely),
            range=_between(middle, *INTERVAL_ENDS, whole.range),
        )

    def log_score(self, viable: int) -> float:
        """Log of the chance that this count was given."""
        return float(np.log(max(self.chance[viable], np.finfo(np.float64).tiny)))


def _between(middle: FloatArray, low: float, high: float, whole: Interval) -> Interval:
    """The counts whose middle (N + 1,) lies between two chances; what ``whole`` holds if none."""
    inside = np.flatnonzero((middle >= low) & (middle <= high))
    return replace(whole, low=float(inside[0]), high=float(inside[-1])) if inside.size else whole


def forecast_tests(
    priors: Priors,
    observations: Observations,
    dose: FloatArray,
    seeds: IntArray,
    rho: ArrayLike,
) -> list[TestForecast]:
    """Of T tests, each of a lot with this prior and these earlier tests, at its dose of the day.

    ``priors`` and ``seeds`` (set in each) are (T,), ``observations`` (T, J) and ``dose`` (T, Z) in
    each circumstance; rho > 0, one or one each.
    """
    posterior = fit_posterior(priors, observations, dose)
    low, median, high = posterior.quantile((INTERVAL_ENDS[0], 0.5, INTERVAL_ENDS[1]), dose).T
    nodes = posterior.nodes(dose)
    found = []
    correlation = np.broadcast_to(np.asarray(rho, dtype=np.float64), seeds.shape).tolist()
    for at, (number, spread) in enumerate(zip(seeds.tolist(), correlation, strict=True)):
        each = patch_pmf(ndtr(nodes.probit[at]), number, spread)
        chance = np.einsum("k,kn->n", nodes.weight[at], each)
        chance /= chance.sum()
        found.append(
            TestForecast(float(median[at]), float(low[at]), float(high[at]), np.asarray(chance))
        )
    return found
