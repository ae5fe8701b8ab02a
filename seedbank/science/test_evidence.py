"""What a finished test is worth as evidence on viability.

Two tests of one lot differ by more than their seeds explain: sampling, moisture, judgement. The
tolerances of 7 CFR 201.63 for two tests of 400 seeds imply, at a 5 % level, an intra-class
correlation between tests of about 0.005 (computed; see the test). Home tests are given twice that,
which is our choice. It discounts every test's size: n seeds count as n / (1 + (n - 1) rho).
"""

from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray

BETWEEN_TESTS_RHO = 0.01


@dataclass(frozen=True, slots=True)
class DiscountedCounts:
    """Counts scaled to the size that a test without variation between tests would need."""

    viable: FloatArray
    seeds: FloatArray


def discount_counts(
    viable: FloatArray, seeds: FloatArray, rho: float = BETWEEN_TESTS_RHO
) -> DiscountedCounts:
    """Scale counts by 1 / (1 + (n - 1) rho): same share, honest size. Zero seeds stay zero."""
    size = np.asarray(seeds, dtype=np.float64)
    scale = 1.0 / (1.0 + np.maximum(size - 1.0, 0.0) * rho)
    return DiscountedCounts(viable * scale, size * scale)
