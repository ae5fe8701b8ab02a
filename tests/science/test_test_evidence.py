import numpy as np
import pytest
from scipy.stats import norm

from seedbank.facts import loaders
from seedbank.science.test_evidence import BETWEEN_TESTS_RHO, discount_counts


def test_the_home_allowance_is_twice_what_official_retest_tolerances_imply() -> None:
    # 7 CFR 201.63 (read): the most two tests of 400 may differ, by the mean of the two. At 5 %,
    # tolerance = 1.96 sqrt(2 p q (1/400 + rho)); brackets below 96 % (above, whole per cents bite).
    implied = []
    for row in loaders.test_tolerances():
        if not row.table.startswith("us_201.63 germination (mean") or row.mean_pct_from == "96":
            continue
        mean = 0.5 * (float(row.mean_pct_from) + float(row.mean_pct_to.strip("<"))) / 100.0
        mean = max(mean, 0.5)
        spread = (row.max_difference / 100.0 / norm.ppf(0.975)) ** 2
        implied.append(spread / (2 * mean * (1 - mean)) - 1 / 400)
    assert len(implied) == 5
    assert min(implied) > 0
    assert BETWEEN_TESTS_RHO / 6 < np.mean(implied) < BETWEEN_TESTS_RHO / 2


def test_a_discount_keeps_the_share_and_shrinks_the_size() -> None:
    counts = discount_counts(np.array([0.0, 18.0, 90.0]), np.array([0.0, 20.0, 100.0]), 0.01)
    assert counts.seeds == pytest.approx([0.0, 20 / 1.19, 100 / 1.99])
    assert counts.viable[1:] / counts.seeds[1:] == pytest.approx([0.9, 0.9])
