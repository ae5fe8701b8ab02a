"""Nodes from five quantiles, held against a normal's moments and a posterior's own nodes."""

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from seedbank.science.quantities import BAND_QUANTILES
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.science.viability.prior import nodes_from_quantiles


def test_a_normal_is_rebuilt_at_its_own_mid_quantiles() -> None:
    mean, sd = np.array([0.3, -1.2]), np.array([0.5, 2.0])
    nodes = nodes_from_quantiles(mean[:, None] + sd[:, None] * ndtri(np.array(BAND_QUANTILES)))
    level = (np.arange(16) + 0.5) / 16
    assert nodes.probit == pytest.approx(mean[:, None] + sd[:, None] * ndtri(level))
    assert nodes.weight.sum(axis=1) == pytest.approx([1.0, 1.0])


def test_the_share_under_each_inner_quantile_is_kept() -> None:
    probits = np.array([[-3.0, -0.5, 0.1, 0.2, 2.0]])
    nodes = nodes_from_quantiles(probits)
    assert np.all(np.diff(nodes.probit) > 0)
    assert [(nodes.probit < q).mean() for q in probits[0, 1:4]] == [0.25, 0.5, 0.75]


def test_moments_of_viability_agree_with_the_posterior_they_came_from() -> None:
    lots = 3
    tests = Observations.of_tests(
        dose=np.full((lots, 1), 0.4),
        viable=np.array([[0.0], [17.0], [30.0]]),
        seeds=np.array([[0.0], [20.0], [60.0]]),
        overdispersion=np.zeros((lots, 1)),
    )
    priors = Priors(np.full(lots, 1.8), np.full(lots, 0.5), np.full(lots, 0.8))
    dose = np.full(lots, 1.0)
    posterior = fit_posterior(priors, tests, dose)
    coarse = nodes_from_quantiles(posterior.probit_quantile(BAND_QUANTILES, dose))
    fine = posterior.nodes(dose, 201)
    means = [(ndtr(n.probit) * n.weight).sum(axis=1) for n in (coarse, fine)]
    spreads = [
        np.sqrt(((ndtr(n.probit) - mean[:, None]) ** 2 * n.weight).sum(axis=1))
        for n, mean in zip((coarse, fine), means, strict=True)
    ]
    # Screening needs no better than two points of viability; the worst here is 1.2.
    assert means[0] == pytest.approx(means[1], abs=0.02)
    assert spreads[0] == pytest.approx(spreads[1], rel=0.1)
