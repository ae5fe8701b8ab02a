"""Checks of test counts at viability nodes against scipy's binomial and beta-binomial."""

import numpy as np
import pytest
from scipy.special import ndtr, ndtri
from scipy.stats import betabinom, binom

from seedbank.science.quantities import ProbitNodes
from seedbank.science.testing.test_plan import count_probabilities

PROBITS = np.array([[-6.0, -0.5, 0.0, 1.3, 8.0], [-2.0, -1.0, 0.3, 2.0, 3.0]])
NODES = ProbitNodes(PROBITS, np.full(PROBITS.shape, 0.2))


@pytest.mark.parametrize("seeds", [0, 1, 20, 100])
def test_counts_without_patchiness_are_binomial(seeds):
    expected = binom.pmf(np.arange(seeds + 1), seeds, ndtr(PROBITS)[..., None])
    assert count_probabilities(NODES, seeds) == pytest.approx(expected, abs=1e-12)


def test_counts_with_patchiness_are_beta_binomial_lot_by_lot():
    rho, k = np.array([0.0, 0.15]), np.arange(26)
    found = count_probabilities(NODES, 25, rho)
    assert found[0] == pytest.approx(binom.pmf(k, 25, ndtr(PROBITS[0])[:, None]), abs=1e-12)
    a, b = ndtr(PROBITS[1]) * 0.85 / 0.15, ndtr(-PROBITS[1]) * 0.85 / 0.15
    assert found[1] == pytest.approx(betabinom.pmf(k, 25, a[:, None], b[:, None]), abs=1e-12)


@pytest.mark.parametrize("rho", [0.0, 0.3])
def test_a_lot_surely_dead_or_surely_alive_gives_none_or_all(rho):
    nodes = ProbitNodes(ndtri(np.array([[0.0, 1.0]])), np.array([[0.5, 0.5]]))
    found = count_probabilities(nodes, 10, rho)
    assert found[0, 0] == pytest.approx(np.eye(11)[0], abs=1e-12)
    assert found[0, 1] == pytest.approx(np.eye(11)[10], abs=1e-12)


def test_negative_counts_and_impossible_correlations_are_refused():
    with pytest.raises(ValueError, match="-1"):
        count_probabilities(NODES, -1)
    with pytest.raises(ValueError, match="rho"):
        count_probabilities(NODES, 5, 1.0)
