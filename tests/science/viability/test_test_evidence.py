import numpy as np
import pytest
from scipy.stats import beta, norm

from seedbank.science.germination.overdispersion import posterior_of_uneven_replicates
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO, discount_counts, weigh_test
from tests.published_rows import published


def test_the_home_allowance_is_two_to_six_times_what_official_retest_tolerances_imply() -> None:
    # 7 CFR 201.63 (read): the most two tests of 400 may differ, by the mean of the two. At 5 %,
    # tolerance = 1.96 sqrt(2 p q (1/400 + rho)); brackets below 96 % (above, whole per cents bite).
    implied = []
    for row in published("test_tolerances"):
        if (
            not row["table"].startswith("us_201.63 germination (mean")
            or row["mean_pct_from"] == "96"
        ):
            continue
        mean = 0.5 * (float(row["mean_pct_from"]) + float(row["mean_pct_to"].strip("<"))) / 100.0
        mean = max(mean, 0.5)
        spread = (float(row["max_difference"]) / 100.0 / norm.ppf(0.975)) ** 2
        implied.append(spread / (2 * mean * (1 - mean)) - 1 / 400)
    assert len(implied) == 5
    assert min(implied) > 0
    assert BETWEEN_TESTS_RHO / 6 < np.mean(implied) < BETWEEN_TESTS_RHO / 2


def test_a_discount_keeps_the_share_and_shrinks_the_size() -> None:
    counts = discount_counts(np.array([0.0, 18.0, 90.0]), np.array([0.0, 20.0, 100.0]), 0.01)
    assert counts.seeds == pytest.approx([0.0, 20 / 1.19, 100 / 1.99])
    assert counts.viable[1:] / counts.seeds[1:] == pytest.approx([0.9, 0.9])


def test_replicates_that_agree_carry_only_the_allowance_between_tests() -> None:
    worth = weigh_test([18, 17], [20, 20])
    assert (worth.viable, worth.seeds, worth.correlation) == (35, 40, BETWEEN_TESTS_RHO)


@pytest.mark.parametrize("viable", [[19, 6], [48, 30, 41, 12], [20, 20, 3, 18]])
def test_replicates_that_disagree_are_worth_no_more_than_their_own_interval(
    viable: list[int],
) -> None:
    seeds = [20] * len(viable) if max(viable) <= 20 else [50] * len(viable)
    worth = weigh_test(viable, seeds)
    outside = posterior_of_uneven_replicates(viable, seeds).interval(0.90)
    size = worth.seeds / (1 + (worth.seeds - 1) * worth.correlation)
    share = worth.viable / worth.seeds
    low, high = beta.ppf([0.05, 0.95], share * size + 0.5, (1 - share) * size + 0.5)
    assert worth.correlation > 5 * BETWEEN_TESTS_RHO
    assert high - low == pytest.approx(outside.high - outside.low, rel=0.25)
