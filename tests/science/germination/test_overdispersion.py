import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from seedbank.science.germination.overdispersion import (
    heterogeneity,
    log_likelihood,
    moment_correlation,
    posterior_of_uneven_replicates,
    proportion_posterior,
)
from seedbank.science.germination.proportion import proportion_interval


def scipy_log_likelihood(k: list[int], n: list[int], p: float, rho: float) -> float:
    size = (1 - rho) / rho
    return float(stats.betabinom.logpmf(k, n, p * size, (1 - p) * size).sum())


@pytest.mark.parametrize("rho", [0.001, 0.05, 0.3, 0.9])
def test_log_likelihood_agrees_with_scipy_betabinom(rho: float) -> None:
    k, n = [18, 11, 25, 0], [20, 20, 25, 3]
    p = np.array([0.02, 0.4, 0.81, 0.999])
    theirs = [scipy_log_likelihood(k, n, x, rho) for x in p]
    np.testing.assert_allclose(log_likelihood(k, n, p, rho), theirs, rtol=1e-9)


def test_log_likelihood_without_correlation_is_binomial() -> None:
    k, n = [18, 11], [20, 20]
    theirs = stats.binom.logpmf(k, n, 0.7).sum()
    assert float(log_likelihood(k, n, 0.7, 0.0)) == pytest.approx(theirs, rel=1e-12)


def test_replicates_closer_than_chance_have_no_correlation() -> None:
    assert float(moment_correlation([17, 17, 17, 17], [20, 20, 20, 20])) == 0.0


@pytest.mark.parametrize(("k", "n"), [([0, 0], [10, 10]), ([10, 10], [10, 10]), ([4], [10])])
def test_nothing_to_compare_gives_no_correlation(k: list[int], n: list[int]) -> None:
    assert float(moment_correlation(k, n)) == 0.0


def test_moment_correlation_of_equal_replicates_by_hand() -> None:
    # k = 18, 10 of 20 each: p = 0.7, X2 = (4^2 + 4^2) / (20 * 0.7 * 0.3) = 32 / 4.2 = 7.619;
    # rho = (X2 - 1) / (2 * 19 * (1 - 1/2)) = 6.619 / 19 = 0.34837.
    assert float(moment_correlation([18, 10], [20, 20])) == pytest.approx(0.348371, abs=1e-6)


def test_moment_correlation_ignores_padding_and_keeps_tests_apart() -> None:
    padded = moment_correlation([[18, 10, 0], [9, 2, 7]], [[20, 20, 0], [10, 10, 10]])
    assert padded[0] == pytest.approx(float(moment_correlation([18, 10], [20, 20])))
    assert padded[1] == pytest.approx(float(moment_correlation([9, 2, 7], [10, 10, 10])))


def test_moment_correlation_recovers_the_correlation_of_simulated_tests() -> None:
    # The clamp at 0 and the edge at 0.99 hardly bite with 40 replicates of rho = 0.1.
    rng = np.random.default_rng(20011)
    n = np.broadcast_to(np.array([20, 50] * 20), (2000, 40))
    p = rng.beta(0.8 * 9, 0.2 * 9, size=n.shape)
    rho = moment_correlation(rng.binomial(n, p), n)
    assert rho.mean() == pytest.approx(0.1, abs=0.005)


def test_heterogeneity_agrees_with_scipy_contingency() -> None:
    k, n = np.array([18, 11, 7]), np.array([20, 20, 10])
    theirs = stats.chi2_contingency(np.array([k, n - k]), correction=False).statistic
    assert float(heterogeneity(k, n)) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(("k", "n"), [(0, 20), (3, 20), (17, 20), (20, 20), (381, 400), (1, 1)])
def test_posterior_without_correlation_is_the_jeffreys_interval(k: int, n: int) -> None:
    ours = proportion_posterior([k], [n]).interval(0.9)
    jeffreys = proportion_interval(k, n, 0.9)
    assert ours.low == pytest.approx(jeffreys.low, abs=1e-6)
    assert ours.high == pytest.approx(jeffreys.high, abs=1e-6)


def test_correlated_posterior_agrees_with_adaptive_quadrature() -> None:
    k, n, rho = [18, 9, 14], [20, 20, 20], 0.12

    def height(angle: float) -> float:
        return float(np.exp(scipy_log_likelihood(k, n, np.sin(angle / 2) ** 2, rho) + 9))

    for proportion in (0.4, 0.6, 0.7, 0.85):
        cut = 2 * np.arcsin(np.sqrt(proportion))
        below = integrate.quad(height, 1e-9, cut, epsrel=1e-10)[0]
        above = integrate.quad(height, cut, np.pi - 1e-9, epsrel=1e-10)[0]
        ours = proportion_posterior(k, n, rho).probability_at_least(proportion)
        assert ours == pytest.approx(above / (above + below), abs=1e-6)


def test_posterior_over_unknown_correlation_agrees_with_double_quadrature() -> None:
    k, n = [18, 9, 14], [20, 20, 20]

    def height(angle: float, rho: float) -> float:
        return float(np.exp(scipy_log_likelihood(k, n, np.sin(angle / 2) ** 2, rho) + 9))

    posterior = posterior_of_uneven_replicates(k, n)
    cut = 2 * np.arcsin(np.sqrt(0.6))
    edges = {"epsabs": 1e-7, "epsrel": 1e-6}
    below = integrate.dblquad(height, 1e-6, 1 - 1e-6, 1e-9, cut, **edges)[0]
    above = integrate.dblquad(height, 1e-6, 1 - 1e-6, cut, np.pi - 1e-9, **edges)[0]
    # 40 points of rho leave a few parts in 10,000.
    ours = posterior.probability_at_least(0.6)
    assert ours == pytest.approx(above / (above + below), abs=5e-4)


def test_ninety_percent_interval_of_uneven_tests_holds_the_truth_often_enough() -> None:
    # Only tests whose replicates disagree are widened, so only those are counted.
    rng = np.random.default_rng(77)
    p, rho, n = 0.85, 0.15, np.array([25, 25, 25, 25])
    size = (1 - rho) / rho
    counts = rng.binomial(n, rng.beta(p * size, (1 - p) * size, size=(600, 4)))
    uneven = counts[heterogeneity(counts, np.broadcast_to(n, counts.shape)) > 9.35]
    held = [posterior_of_uneven_replicates(k, n).interval(0.9) for k in uneven]
    coverage = np.mean([i.low <= p <= i.high for i in held])
    plain = np.mean(
        [i.low <= p <= i.high for i in (proportion_posterior(k, n).interval(0.9) for k in uneven)]
    )
    assert len(uneven) > 250
    assert 0.87 <= coverage <= 0.97
    assert plain < 0.75  # the binomial interval, which widening is there to mend


def test_correlation_widens_the_interval() -> None:
    plain = proportion_posterior([18, 9, 14], [20, 20, 20]).interval(0.9)
    wide = proportion_posterior([18, 9, 14], [20, 20, 20], 0.12).interval(0.9)
    assert wide.low < plain.low
    assert wide.high > plain.high


@pytest.mark.parametrize("rho", [-0.1, 1.0, float("nan")])
def test_a_correlation_outside_its_range_is_refused(rho: float) -> None:
    with pytest.raises(ValueError, match="rho"):
        proportion_posterior([1], [2], rho)


def test_counts_beyond_the_seeds_are_refused() -> None:
    with pytest.raises(ValueError, match=r"within 0\.\.seeds"):
        moment_correlation([11, 2], [10, 10])
    with pytest.raises(ValueError, match="one shape"):
        heterogeneity([1, 2, 3], [10, 10])


replicate = st.integers(1, 30).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@settings(max_examples=40, deadline=None)
@given(st.lists(replicate, min_size=1, max_size=5), st.floats(0, 0.9), st.floats(0.01, 0.99))
def test_posterior_mirrors_when_failures_are_counted(
    replicates: list[tuple[int, int]], rho: float, proportion: float
) -> None:
    k, n = np.array(replicates).T
    straight = proportion_posterior(k, n, rho).probability_at_least(proportion)
    mirrored = proportion_posterior(n - k, n, rho).probability_at_least(1 - proportion)
    assert straight == pytest.approx(1 - mirrored, abs=1e-9)
