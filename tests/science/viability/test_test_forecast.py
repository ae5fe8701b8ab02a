"""Outside checks: scipy's beta-binomial mixed by hand, and coverage of simulated tests."""

import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import betabinom

from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.science.viability.test_forecast import forecast_tests

RHO = 0.02


def priors(lots: int) -> Priors:
    return Priors(np.full(lots, 1.5), np.full(lots, 0.5), np.full(lots, 0.6), np.full(lots, 0.2))


def test_chances_are_those_of_a_beta_binomial_mixed_over_what_is_believed() -> None:
    one = np.ones((1, 1))
    seen = Observations.of_tests(0.4 * one, 20.0 * one, 25.0 * one, RHO * one)
    dose = np.array([0.9])
    [told] = forecast_tests(priors(1), seen, dose, np.array([30]), RHO)
    draws = fit_posterior(priors(1), seen, dose).quantile((np.arange(2000) + 0.5) / 2000, dose)[0]
    worth = (1.0 - RHO) / RHO
    by_hand = betabinom.pmf(
        np.arange(31), 30, (draws * worth)[:, None], ((1 - draws) * worth)[:, None]
    )
    assert told.chance == pytest.approx(by_hand.mean(axis=0), abs=2e-4)
    assert told.log_score(24) == pytest.approx(np.log(told.chance[24]))
    assert (told.low, told.median, told.high) == pytest.approx(
        np.quantile(draws, (0.05, 0.5, 0.95)), abs=1e-3
    )


def test_bands_hold_nine_simulated_tests_in_ten() -> None:
    rng, lots = np.random.default_rng(8), 3000
    dose = rng.uniform(0.1, 2.5, lots)
    alive = ndtr(rng.normal(1.5, 0.5, lots) - np.exp(-rng.normal(0.2, 0.6, lots)) * dose)
    worth = (1.0 - RHO) / RHO
    p = rng.beta(np.maximum(alive * worth, 1e-9), np.maximum((1 - alive) * worth, 1e-9))
    seeds = rng.choice([50, 100, 200], lots)
    viable = rng.binomial(seeds, p)
    told = forecast_tests(priors(lots), Observations.none(lots), dose, seeds, RHO)
    held = [
        one.counts.range.low <= k <= one.counts.range.high
        for one, k in zip(told, viable, strict=True)
    ]
    half = [
        one.counts.likely.low <= k <= one.counts.likely.high
        for one, k in zip(told, viable, strict=True)
    ]
    assert 0.88 <= np.mean(held) <= 0.94  # counts are whole: bands hold a little more
    assert 0.48 <= np.mean(half) <= 0.56
