"""Outside checks: dense normal conditioning, and statsmodels MixedLM's predicted effects."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal
from statsmodels.regression.mixed_linear_model import MixedLM

from seedbank.science.sowing.field_shift_learning import solve_effects


def test_effects_agree_with_dense_conditioning_and_the_joint_density() -> None:
    rng = np.random.default_rng(5)
    design = rng.normal(size=(14, 5))
    observed, noise = rng.normal(size=14), rng.uniform(0.1, 1.0, 14)
    mean, variance = rng.normal(size=5), rng.uniform(0.2, 2.0, 5)
    fit = solve_effects(design, observed, noise, mean, variance)
    total = design @ np.diag(variance) @ design.T + np.diag(noise)
    gain = np.diag(variance) @ design.T @ np.linalg.inv(total)
    assert fit.mean == pytest.approx(mean + gain @ (observed - design @ mean), abs=1e-10)
    assert fit.covariance == pytest.approx(np.diag(variance) - gain @ design * variance, abs=1e-10)
    density = multivariate_normal(design @ mean, total).logpdf(observed)
    assert fit.log_marginal == pytest.approx(float(density), abs=1e-9)


def test_effects_agree_with_a_mixed_model_at_its_own_variances() -> None:
    rng = np.random.default_rng(8)
    group = np.repeat(np.arange(12), 9)
    truth = rng.normal(0.0, 0.8, 12)
    observed = 0.4 + truth[group] + rng.normal(0.0, 0.5, group.size)
    model = MixedLM(observed, np.ones((group.size, 1)), groups=group).fit()
    predicted = np.array([float(model.random_effects[g].iloc[0]) for g in range(12)])
    centre, between = float(model.fe_params[0]), float(model.cov_re[0, 0])
    fit = solve_effects(
        np.eye(12)[group],
        observed - centre,
        np.full(group.size, float(model.scale)),
        np.zeros(12),
        np.full(12, between),
    )
    assert fit.mean == pytest.approx(predicted, abs=1e-6)


def test_without_observations_the_prior_stays() -> None:
    fit = solve_effects(
        np.zeros((0, 2)), np.zeros(0), np.zeros(0), np.array([1.0, -2.0]), np.array([0.5, 2.0])
    )
    assert fit.mean.tolist() == [1.0, -2.0]
    assert np.diag(fit.covariance) == pytest.approx([0.5, 2.0])
    assert fit.log_marginal == pytest.approx(0.0, abs=1e-12)


def test_an_observation_that_says_nothing_changes_nothing() -> None:
    design, prior = np.ones((2, 1)), (np.zeros(1), np.ones(1))
    both = solve_effects(design, np.array([0.7, 9.0]), np.array([0.3, np.inf]), *prior)
    one = solve_effects(design[:1], np.array([0.7]), np.array([0.3]), *prior)
    assert both.mean == pytest.approx(one.mean)
    assert both.log_marginal == pytest.approx(one.log_marginal)
