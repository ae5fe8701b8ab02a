from typing import Literal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

from seedbank.science.germination.proportion import (
    INTERVAL_REACH,
    Method,
    lower_bound,
    proportion_interval,
    proportion_intervals,
    upper_bound,
)
from seedbank.science.quantities import INTERVAL_ENDS

STATSMODELS = {
    Method.WILSON: "wilson",
    Method.CLOPPER_PEARSON: "beta",
    Method.JEFFREYS: "jeffreys",
}
SIZES = [*range(1, 61), 100, 200, 400, 1000, 10000]


def grid() -> tuple[np.ndarray, np.ndarray]:
    pairs = [(k, n) for n in SIZES for k in (range(n + 1) if n <= 400 else range(0, n + 1, 97))]
    k, n = np.array(pairs).T
    return np.concatenate([k, n[-1:]]), np.concatenate([n, n[-1:]])


def test_the_reach_of_an_interval_is_the_normal_quantile_of_its_end() -> None:
    assert pytest.approx(stats.norm.ppf(INTERVAL_ENDS[1]), rel=1e-15) == INTERVAL_REACH


@pytest.mark.parametrize("method", list(Method))
@pytest.mark.parametrize("level", [0.5, 0.8, 0.9, 0.95, 0.99])
def test_intervals_agree_with_statsmodels_over_the_whole_grid(method: Method, level: float) -> None:
    k, n = grid()
    low, high = proportion_intervals(k, n, level, method)
    their_low, their_high = proportion_confint(k, n, 1 - level, method=STATSMODELS[method])
    if method is Method.JEFFREYS:
        # Brown, Cai & DasGupta 2001, Stat. Sci. 16:113: the limit is 0 at k = 0 and 1 at k = n;
        # statsmodels leaves the beta quantile there.
        their_low = np.where(k == 0, 0.0, their_low)
        their_high = np.where(k == n, 1.0, their_high)
    np.testing.assert_allclose(low, their_low, atol=2e-12, rtol=1e-9)
    np.testing.assert_allclose(high, their_high, atol=2e-12, rtol=1e-9)


# Newcombe 1998, Statistics in Medicine 17:857-872, Table I (from memory, recomputed for
# published_checks.csv); jeffreys rows computed from Brown, Cai & DasGupta 2001, Stat. Sci.
# 16:101-133; last row a worked example printed at rstudio-pubs 1367507 (read).
PUBLISHED = [
    (Method.WILSON, 81, 263, 0.2553, 0.3662, 5e-5),
    (Method.CLOPPER_PEARSON, 81, 263, 0.2527, 0.3676, 5e-5),
    (Method.WILSON, 15, 148, 0.0624, 0.1605, 5e-5),
    (Method.CLOPPER_PEARSON, 15, 148, 0.0578, 0.1617, 5e-5),
    (Method.WILSON, 0, 20, 0.0000, 0.1611, 5e-5),
    (Method.CLOPPER_PEARSON, 0, 20, 0.0000, 0.1684, 5e-5),
    (Method.WILSON, 1, 29, 0.0061, 0.1718, 5e-5),
    (Method.CLOPPER_PEARSON, 1, 29, 0.0009, 0.1776, 5e-5),
    (Method.JEFFREYS, 81, 263, 0.2545, 0.3656, 5e-5),
    (Method.JEFFREYS, 15, 148, 0.0604, 0.1576, 5e-5),
    (Method.JEFFREYS, 0, 20, 0.0000, 0.1166, 5e-5),
    (Method.JEFFREYS, 1, 29, 0.0037, 0.1501, 5e-5),
    (Method.WILSON, 6, 32, 0.08889545, 0.35309155, 5e-9),
]


@pytest.mark.parametrize(("method", "k", "n", "low", "high", "tolerance"), PUBLISHED)
def test_published_intervals_are_reproduced(
    method: Method, k: int, n: int, low: float, high: float, tolerance: float
) -> None:
    interval = proportion_interval(k, n, 0.95, method)
    assert interval.low == pytest.approx(low, abs=tolerance)
    assert interval.high == pytest.approx(high, abs=tolerance)


@pytest.mark.parametrize("confidence", [0.6, 0.9, 0.95, 0.99])
def test_one_sided_beta_bounds_agree_with_scipy_quantiles(confidence: float) -> None:
    k, n = grid()
    inner = (k > 0) & (k < n)
    k, n = k[inner], n[inner]
    for method, low, high in [
        (
            Method.CLOPPER_PEARSON,
            stats.beta.ppf(1 - confidence, k, n - k + 1),
            stats.beta.ppf(confidence, k + 1, n - k),
        ),
        (
            Method.JEFFREYS,
            stats.beta.ppf(1 - confidence, k + 0.5, n - k + 0.5),
            stats.beta.ppf(confidence, k + 0.5, n - k + 0.5),
        ),
    ]:
        np.testing.assert_allclose(lower_bound(k, n, confidence, method), low, rtol=1e-9)
        np.testing.assert_allclose(upper_bound(k, n, confidence, method), high, rtol=1e-9)


def test_one_sided_wilson_bounds_are_ends_of_the_statsmodels_interval_at_twice_the_tail() -> None:
    k, n = grid()
    low, high = proportion_confint(k, n, 0.2, method="wilson")
    np.testing.assert_allclose(lower_bound(k, n, 0.9, Method.WILSON), low, atol=1e-12)
    np.testing.assert_allclose(upper_bound(k, n, 0.9, Method.WILSON), high, atol=1e-12)


def test_clopper_pearson_one_sided_bound_has_the_tail_it_claims() -> None:
    low = float(lower_bound(17, 20, 0.95, Method.CLOPPER_PEARSON))
    assert stats.binom.sf(16, 20, low) == pytest.approx(0.05, rel=1e-9)


@pytest.mark.parametrize("method", list(Method))
def test_edges_are_exact(method: Method) -> None:
    assert proportion_interval(0, 12, 0.9, method).low == 0.0
    assert proportion_interval(12, 12, 0.9, method).high == 1.0
    nothing = proportion_interval(0, 0, 0.9, method)
    assert (nothing.low, nothing.high, nothing.level) == (0.0, 1.0, 0.9)


# The names the methods go by in their papers, on the page of methods and in textbooks.
NAMES = [
    ("jeffreys", "jeffreys"),
    ("Jeffreys", "jeffreys"),
    ("wilson", "wilson"),
    ("score", "wilson"),
    ("Wilson score", "wilson"),
    ("clopper-pearson", "beta"),
    ("Clopper-Pearson", "beta"),
    ("clopper_pearson", "beta"),
    ("exact", "beta"),
]


@pytest.mark.parametrize(("name", "theirs"), NAMES)
def test_a_method_given_by_name_is_the_one_computed(name: str, theirs: str) -> None:
    for k, n in ((17, 20), (3, 20), (50, 100)):
        interval = proportion_interval(k, n, 0.95, name)
        expected = proportion_confint(k, n, 0.05, method=theirs)  # statsmodels
        assert (interval.low, interval.high) == pytest.approx(expected, abs=1e-9)
        one_sided = float(lower_bound(k, n, 0.975, name)), float(upper_bound(k, n, 0.975, name))
        assert one_sided == (interval.low, interval.high)


@pytest.mark.parametrize("kind", ["exact", "wilson"])
def test_named_intervals_are_those_of_scipy(kind: Literal["exact", "wilson"]) -> None:
    theirs = stats.binomtest(17, 20).proportion_ci(0.95, method=kind)
    interval = proportion_interval(17, 20, 0.95, kind)
    assert (interval.low, interval.high) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


@pytest.mark.parametrize("name", ["banana", "", "wald", "agresti-coull", None])
def test_a_method_nobody_named_is_refused_with_those_there_are(name: object) -> None:
    asked = (proportion_interval, proportion_intervals, lower_bound, upper_bound)
    for ask in asked:
        with pytest.raises(ValueError, match=r"wilson.*clopper-pearson.*jeffreys.*score.*exact"):
            ask(17, 20, 0.95, name)  # type: ignore[arg-type]


@pytest.mark.parametrize(("k", "n"), [(-1, 4), (5, 4)])
def test_impossible_counts_are_refused(k: int, n: int) -> None:
    with pytest.raises(ValueError, match=r"within 0\.\.seeds"):
        proportion_interval(k, n)


@pytest.mark.parametrize("level", [0.0, 1.0, -0.2, float("nan")])
def test_a_level_that_is_no_probability_is_refused(level: float) -> None:
    with pytest.raises(ValueError, match="level"):
        proportion_interval(1, 2, level)


counts = st.integers(1, 500).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
levels = st.floats(0.05, 0.995)


@given(counts, levels, st.sampled_from(list(Method)))
def test_interval_holds_the_observed_fraction_unless_jeffreys_is_narrow(
    seeds: tuple[int, int], level: float, method: Method
) -> None:
    k, n = seeds
    interval = proportion_interval(k, n, level, method)
    assert 0.0 <= interval.low < interval.high <= 1.0
    # A short Jeffreys interval sits round the posterior median, so it may miss k/n near an edge.
    if method is not Method.JEFFREYS or level >= 0.9:
        assert interval.low <= k / n + 1e-12
        assert interval.high >= k / n - 1e-12


@given(counts, levels, levels, st.sampled_from(list(Method)))
def test_a_higher_level_never_gives_a_shorter_interval(
    seeds: tuple[int, int], one: float, other: float, method: Method
) -> None:
    small = proportion_interval(*seeds, min(one, other), method)
    large = proportion_interval(*seeds, max(one, other), method)
    assert large.low <= small.low + 1e-12
    assert large.high >= small.high - 1e-12


@given(counts, levels, st.sampled_from(list(Method)))
def test_counting_the_failures_mirrors_the_interval(
    seeds: tuple[int, int], level: float, method: Method
) -> None:
    k, n = seeds
    straight = proportion_interval(k, n, level, method)
    mirrored = proportion_interval(n - k, n, level, method)
    assert mirrored.low == pytest.approx(1 - straight.high, abs=1e-12)
    assert mirrored.high == pytest.approx(1 - straight.low, abs=1e-12)


@given(counts, levels, st.sampled_from(list(Method)))
def test_one_more_success_never_lowers_a_bound(
    seeds: tuple[int, int], level: float, method: Method
) -> None:
    k, n = seeds
    first = proportion_interval(k, n + 1, level, method)
    second = proportion_interval(k + 1, n + 1, level, method)
    assert second.low >= first.low
    assert second.high >= first.high
