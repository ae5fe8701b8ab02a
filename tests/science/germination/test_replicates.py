import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from seedbank.science.germination.overdispersion import heterogeneity
from seedbank.science.germination.replicates import (
    Rule,
    ToleranceTable,
    exact_p_value,
    judge_agreement,
    tolerated_range_given_total,
)
from tests.by_turns import by_turns

# 7 CFR 201.55 (2015 annual edition, read): greatest range between replicates of 100 for an
# average of 99, 98, ... 51 %; the two highest averages have no entry for two replicates.
TWO = [
    *[None, None, 6, 6, 7, 8, 8, 9, 9, 9, 10, 10, 11, 11, 11, 11, 12, 12, 12, 13, 13, 13, 13, 13],
    *[14] * 7,
    *[15] * 14,
    *[16] * 4,
]
FOUR = [
    *[5, 6, 7, 8, 9, 10, 10, 11, 11, 12, 12, 13, 13, 14, 14, 14, 15, 15, 15, 16, 16, 16],
    *[17] * 5,
    *[18] * 6,
    *[19] * 11,
    *[20] * 5,
]
HIGH = np.arange(99, 50, -1)


def table() -> ToleranceTable:
    return ToleranceTable(
        average_high_pct=HIGH.astype(float),
        average_low_pct=101.0 - HIGH,
        max_range={2: np.array(TWO, dtype=float), 4: np.array(FOUR, dtype=float)},
        source="7 CFR 201.55 (2015 annual edition)",
    )


def enumerated(k: list[int], n: list[int]) -> list[tuple[float, float, int]]:
    """(probability, X2, range) of every split of sum(k) over replicates of n."""
    splits = [x for x in itertools.product(*[range(m + 1) for m in n]) if sum(x) == sum(k)]
    weight = stats.multivariate_hypergeom.pmf(splits, m=n, n=sum(k))
    return [
        (float(w), float(heterogeneity(x, n)), max(x) - min(x))
        for w, x in zip(weight, splits, strict=True)
    ]


@pytest.mark.parametrize(
    ("k", "n"),
    [
        ([18, 11], [20, 20]),
        ([9, 3, 7], [10, 10, 10]),
        ([9, 3, 7], [10, 12, 15]),
        ([4, 0, 1, 5], [5, 5, 5, 7]),
        ([12, 3, 7], [13, 7, 17]),
        ([1, 0, 0, 0], [5, 5, 5, 5]),
        ([10, 0], [10, 10]),
        ([3, 1], [4, 1]),
    ],
)
def test_exact_p_value_agrees_with_enumeration(k: list[int], n: list[int]) -> None:
    seen = float(heterogeneity(k, n))
    theirs = sum(w for w, x2, _ in enumerated(k, n) if x2 >= seen - 1e-9)
    p_value, is_bound = exact_p_value(k, n)
    assert not is_bound
    assert p_value == pytest.approx(theirs, rel=1e-9)


def test_exact_p_value_of_large_replicates_is_near_the_chi_square() -> None:
    k, n = [84, 71, 79, 88, 80, 75, 77, 83, 90, 81], [100] * 10
    p_value, is_bound = exact_p_value(k, n)
    assert not is_bound
    assert p_value == pytest.approx(stats.chi2.sf(heterogeneity(k, n), 9), rel=0.05)


@pytest.mark.parametrize(
    "k", [[40, 60] * 5, [47, 53] * 5, [84, 71, 79, 88, 80, 75, 77, 83, 90, 81], [0, 100] * 5]
)
def test_ten_replicates_of_a_hundred_cost_no_more_than_simulating_them(k: list[int]) -> None:
    """Measured: 0.1 to 1.3 times what 200,000 splits drawn by numpy cost."""
    rng = np.random.default_rng(1)
    exact, drawn = by_turns(
        3,
        lambda: judge_agreement(k, [100] * 10),
        lambda: rng.multivariate_hypergeometric([100] * 10, sum(k), size=200_000),
    )
    assert exact.seconds / drawn.seconds <= 3.0


def test_awkward_sizes_give_a_close_upper_bound() -> None:
    # Six primes have no small common multiple; the answer is a bound just above the chi-square.
    k, n = [31, 40, 30, 43, 41, 39], [47, 49, 53, 59, 61, 67]
    p_value, is_bound = exact_p_value(k, n)
    assert is_bound
    rng = np.random.default_rng(3)
    draws = rng.multivariate_hypergeometric(n, sum(k), size=200_000)
    seen = float(heterogeneity(k, n))
    share = (heterogeneity(draws, np.broadcast_to(n, draws.shape)) >= seen - 1e-9).mean()
    # 4 standard errors of 200,000 draws, and under 0.005 for the grid.
    assert -0.0045 <= p_value - share <= 0.0095


@pytest.mark.parametrize("total", [7, 15, 22, 28])
def test_tolerated_range_given_the_total_agrees_with_enumeration(total: int) -> None:
    n = [10, 10, 10]
    splits = enumerated([min(10, total), *np.diff(np.clip([10, 20, 30], 0, total))], n)
    limit = tolerated_range_given_total(total, 10, 3)
    assert sum(w for w, _, r in splits if r > limit) <= 0.025
    assert sum(w for w, _, r in splits if r > limit - 1) > 0.025


def test_exact_rule_given_the_total_comes_near_the_published_tolerances() -> None:
    two = [
        tolerated_range_given_total(2 * int(h), 100, 2) - t
        for h, t in zip(HIGH, TWO, strict=True)
        if t is not None
    ]
    four = [
        tolerated_range_given_total(4 * int(h), 100, 4) - t for h, t in zip(HIGH, FOUR, strict=True)
    ]
    assert (two.count(0), max(map(abs, two))) == (20, 1)
    # 99 % of four replicates is the entry two away: five dead of 400 in one replicate is rarer
    # given four dead in all than given a mean of 99 %.
    assert (four.count(0), sum(abs(d) <= 1 for d in four)) == (36, 48)


def test_published_table_decides_for_replicates_of_a_hundred() -> None:
    # 7 CFR 201.55 (read): average 90 %, four replicates: 12 allowed.
    within = judge_agreement([84, 96, 90, 90], [100] * 4, table())
    assert (within.agrees, within.rule, within.tolerated_range_pct) == (True, Rule.TABLE, 12.0)
    beyond = judge_agreement([83, 96, 91, 90], [100] * 4, table())
    assert (beyond.agrees, beyond.range_pct) == (False, 13.0)


def test_low_averages_use_the_same_rows_as_high_ones() -> None:
    # 7 CFR 201.55 (read): average 11 % shares the row of 90 %.
    assert table().tolerated(11.4, 4) == table().tolerated(89.5, 4) == 12.0


@pytest.mark.parametrize(
    ("k", "n"),
    [
        ([100, 100, 100, 99], [100] * 4),  # average rounds to 100: no row
        ([99, 98], [100] * 2),  # blank entry
        ([90, 91, 89], [100] * 3),  # no column
        ([9, 8], [10, 10]),
    ],
)
def test_where_the_table_is_silent_the_exact_rule_decides(k: list[int], n: list[int]) -> None:
    agreement = judge_agreement(k, n, table())
    assert agreement.agrees
    assert agreement.rule is Rule.EXACT


def test_uneven_home_replicates_disagree() -> None:
    agreement = judge_agreement([18, 8], [20, 20])
    assert not agreement.agrees
    assert agreement.p_value < 0.025
    assert agreement.range_pct == pytest.approx(50.0)
    assert agreement.tolerated_range_pct is not None
    assert agreement.tolerated_range_pct < 50.0


def test_unequal_replicates_have_no_tolerated_range() -> None:
    assert judge_agreement([9, 20], [10, 25]).tolerated_range_pct is None


def test_one_replicate_agrees_with_itself() -> None:
    assert judge_agreement([7], [10]).rule is Rule.SINGLE


@pytest.mark.parametrize("k", [[0, 0, 0], [10, 10, 10]])
def test_none_or_all_germinated_agrees(k: list[int]) -> None:
    agreement = judge_agreement(k, [10, 10, 10])
    assert (agreement.agrees, agreement.p_value, agreement.tolerated_range_pct) == (True, 1.0, 0.0)


@pytest.mark.parametrize(
    ("k", "n"), [([], []), ([1], [0]), ([3, 11], [10, 10]), ([1.5], [4]), ([1, 2], [4])]
)
def test_impossible_replicates_are_refused(k: list[float], n: list[int]) -> None:
    with pytest.raises(ValueError, match="count"):
        judge_agreement(k, n)


def test_chance_alone_raises_disagreement_no_more_often_than_stated() -> None:
    # Exact, not simulated: total over all outcomes of 3 x 8 with p = 0.8 of those called uneven.
    outcomes = list(itertools.product(range(9), repeat=3))
    called = {
        tuple(sorted(x)): exact_p_value(x, [8] * 3)[0] < 0.025
        for x in outcomes
        if x == tuple(sorted(x))
    }
    chance = sum(
        float(np.prod(stats.binom.pmf(x, 8, 0.8))) for x in outcomes if called[tuple(sorted(x))]
    )
    assert 0.0 < chance <= 0.025


replicate = st.integers(1, 30).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@settings(max_examples=60, deadline=None)
@given(st.lists(replicate, min_size=2, max_size=4), st.randoms(use_true_random=False))
def test_p_value_does_not_care_for_order_or_for_counting_failures(
    replicates: list[tuple[int, int]], shuffler: object
) -> None:
    k, n = np.array(replicates).T
    p_value = exact_p_value(k, n)[0]
    assert 0.0 <= p_value <= 1.0
    assert exact_p_value(n - k, n)[0] == pytest.approx(p_value, abs=1e-9)
    shuffler.shuffle(replicates)  # type: ignore[attr-defined]  # hypothesis types it as object
    mixed_k, mixed_n = np.array(replicates).T
    assert exact_p_value(mixed_k, mixed_n)[0] == pytest.approx(p_value, abs=1e-9)
