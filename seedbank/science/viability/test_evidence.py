"""What a finished test is worth as evidence on viability.

Two tests of one lot differ by more than their seeds explain: sampling, moisture, judgement. The
tolerances of 7 CFR 201.63 for two tests of 400 seeds imply, at a 5 % level, an intra-class
correlation between tests of 0.002 to 0.005 (computed; see the test). Home tests are given 0.01,
which is our choice. It discounts every test's size: n seeds count as n / (1 + (n - 1) rho).

Replicates that disagree say that much less again: the test then counts as one beta-binomial
observation whose correlation gives it the spread of the posterior averaged over the replicates'
unknown correlation.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from seedbank.science.germination.overdispersion import posterior_of_uneven_replicates
from seedbank.science.germination.proportion import INTERVAL_REACH
from seedbank.science.germination.replicates import ToleranceTable, judge_agreement
from seedbank.science.quantities import INTERVAL_LEVEL, FloatArray

BETWEEN_TESTS_RHO = 0.01


@dataclass(frozen=True, slots=True)
class DiscountedCounts:
    """Counts scaled to the size that a test without variation between tests would need."""

    viable: FloatArray
    seeds: FloatArray


def discount_counts(
    viable: FloatArray, seeds: FloatArray, rho: FloatArray | float = BETWEEN_TESTS_RHO
) -> DiscountedCounts:
    """Scale counts by 1 / (1 + (n - 1) rho): same share, honest size. Zero seeds stay zero."""
    size = np.asarray(seeds, dtype=np.float64)
    scale = 1.0 / (1.0 + np.maximum(size - 1.0, 0.0) * rho)
    return DiscountedCounts(viable * scale, size * scale)


MOST_CORRELATION = 0.9


@dataclass(frozen=True, slots=True)
class TestEvidence:
    """One finished test: ``viable`` of ``seeds``, and the correlation that discounts them."""

    __test__ = False

    viable: int
    seeds: int
    correlation: float


def weigh_test(
    viable: ArrayLike, seeds: ArrayLike, table: ToleranceTable | None = None
) -> TestEvidence:
    """What a test with these replicates (R,) is worth; ``table`` as for ``judge_agreement``.

    Checked against the interval of :func:`posterior_of_uneven_replicates` it must reproduce.
    Raises ValueError for impossible counts.
    """
    good, size = np.asarray(viable, dtype=np.int64), np.asarray(seeds, dtype=np.int64)
    total, whole = int(good.sum()), int(size.sum())
    if judge_agreement(good, size, table).agrees or whole < 2:
        return TestEvidence(total, whole, BETWEEN_TESTS_RHO)
    interval = posterior_of_uneven_replicates(good, size).interval(INTERVAL_LEVEL)
    sd = (interval.high - interval.low) / (2.0 * INTERVAL_REACH)
    share = (total + 0.5) / (whole + 1.0)
    effective = max(share * (1.0 - share) / sd**2, 1.0)
    rho = (whole / effective - 1.0) / (whole - 1.0)
    return TestEvidence(total, whole, float(np.clip(rho, BETWEEN_TESTS_RHO, MOST_CORRELATION)))
