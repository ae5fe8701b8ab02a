"""Outside checks: scipy's binomial and beta-binomial, dense double integration, convolution."""

import math

import numpy as np
import pytest
from scipy import integrate, stats
from scipy.special import ndtr

from seedbank.science.sowing import plant_counts
from seedbank.science.sowing.emergence import BetaShare, ShiftLaw, WeightedNodes, emergence_nodes
from seedbank.science.sowing.plant_counts import (
    EXACT_LIMIT,
    CountLaw,
    Patches,
    plants_pmf,
    probability_enough,
    seedling_pmf,
)

SURE = WeightedNodes(np.array([0.37]), np.ones(1))


def hermite(mean: float, sd: float) -> WeightedNodes:
    point, weight = np.polynomial.hermite_e.hermegauss(80)
    return WeightedNodes(mean + sd * point, weight / weight.sum())


def test_known_emergence_gives_the_binomial() -> None:
    exact = stats.binom.pmf(np.arange(81), 80, 0.37)
    assert np.abs(plants_pmf(SURE, 80) - exact).max() < 1e-13


def test_one_patch_gives_the_beta_binomial() -> None:
    exact = stats.betabinom.pmf(np.arange(41), 40, 0.37 * 9, 0.63 * 9)
    assert np.abs(plants_pmf(SURE, 40, Patches(0.1)) - exact).max() < 1e-13


def test_beta_distributed_emergence_gives_the_beta_binomial() -> None:
    # Degenerate seed and bed, beta pests: plants surviving are beta-binomial in 1 - pest.
    sure_seed = WeightedNodes(np.array([9.0]), np.ones(1))
    nodes = emergence_nodes(sure_seed, ShiftLaw(0.0, 0.0), BetaShare(2.0, 7.0))
    exact = stats.betabinom(60, 7.0, 2.0).sf(np.arange(1, 60) - 1)
    got = probability_enough(nodes, 60, np.arange(1, 60))
    assert np.abs(got - exact).max() < 1e-4


def test_several_patches_add_as_a_convolution() -> None:
    whole = stats.betabinom.pmf(np.arange(11), 10, 0.37 * 4, 0.63 * 4)
    rest = stats.betabinom.pmf(np.arange(4), 3, 0.37 * 4, 0.63 * 4)
    exact = np.convolve(np.convolve(whole, whole), rest)
    assert np.abs(plants_pmf(SURE, 23, Patches(0.2, 10)) - exact).max() < 1e-13


@pytest.mark.parametrize(("seeds", "wanted"), [(12, 6), (60, 30), (400, 260)])
def test_normal_viability_and_shift_agree_with_dblquad(seeds: int, wanted: int) -> None:
    def density(shift: float, probit: float) -> float:
        tail = stats.binom.sf(wanted - 1, seeds, ndtr(probit - max(shift, 0.0)))
        squares = ((probit - 0.9) / 0.3) ** 2 + ((shift - 0.6) / 0.3) ** 2
        return float(tail * math.exp(-0.5 * squares) / (2.0 * math.pi * 0.3**2))

    above, _ = integrate.dblquad(density, -1.2, 3.0, 0.0, 2.7, epsabs=1e-9)
    below, _ = integrate.dblquad(density, -1.2, 3.0, -1.5, 0.0, epsabs=1e-9)
    nodes = emergence_nodes(hermite(0.9, 0.3), ShiftLaw(0.6, 0.3))
    assert float(probability_enough(nodes, seeds, wanted)) == pytest.approx(above + below, abs=1e-6)


def test_the_normal_count_beyond_the_exact_limit_is_close_where_it_begins(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    nodes = emergence_nodes(hermite(0.9, 0.3), ShiftLaw(0.6, 0.3))
    seeds, wanted = EXACT_LIMIT + 1, np.array([350, 500, 620, 700, 800])
    patches = Patches(0.06, 20)
    normal = probability_enough(nodes, seeds, wanted, patches)
    monkeypatch.setattr(plant_counts, "EXACT_LIMIT", 2000)
    exact = probability_enough(nodes, seeds, wanted, patches)
    assert np.abs(normal - exact).max() < 1e-4
    assert np.abs(normal - exact).max() > 0.0


def test_mean_plants_is_seeds_times_germination_less_field_loss() -> None:
    # Processors and Growers Research Organisation 2013: plants = seeds x germination% x
    # (100 - loss%) / 100^2; here 100 seeds, 90 % germination, 10 % loss.
    nodes = emergence_nodes(
        WeightedNodes(np.array([float(stats.norm.ppf(0.9))]), np.ones(1)),
        ShiftLaw(float(stats.norm.ppf(0.9) - stats.norm.ppf(0.81))),
    )
    assert CountLaw.listed(plants_pmf(nodes, 100)).summary().mean == pytest.approx(81.0, abs=1e-9)


def test_edges_are_certain() -> None:
    assert float(probability_enough(SURE, 0, 0)) == 1.0
    assert float(probability_enough(SURE, 5, 6)) == 0.0
    assert plants_pmf(SURE, 0).tolist() == [1.0]
    with pytest.raises(ValueError, match="negative"):
        plants_pmf(SURE, -1)


def test_clusters_give_more_seedlings_than_plants_with_the_right_mean_and_variance() -> None:
    pmf = seedling_pmf(plants_pmf(SURE, 50), 2.5)
    count = np.arange(pmf.size)
    mean = float(pmf @ count)
    # Sum over emerged units of 1 + Poisson(1.5): mean 2.5 n p, variance 1.5 n p + 2.5^2 n p q.
    assert mean == pytest.approx(2.5 * 50 * 0.37, rel=1e-6)
    variance = 1.5 * 50 * 0.37 + 2.5**2 * 50 * 0.37 * 0.63
    assert float(pmf @ (count - mean) ** 2) == pytest.approx(variance, rel=1e-4)
    with pytest.raises(ValueError, match="at least 1"):
        seedling_pmf(pmf, 0.5)
