"""Outside check: forecasts drawn from the model itself are calibrated; wrong ones are not."""

import numpy as np
import pytest
from scipy.special import ndtr

from seedbank.science.sowing.emergence import WeightedNodes, emergence_nodes
from seedbank.science.sowing.emergence_calibration import (
    ForetoldSowing,
    bin_forecasts,
    hold_against,
    judge_emergence_forecasts,
)


def foretold(seed: int, extra_shift: float) -> list[ForetoldSowing]:
    rng = np.random.default_rng(seed)
    point, weight = np.polynomial.hermite_e.hermegauss(20)
    sowings = []
    for _ in range(300):
        mean = rng.normal(1.0, 0.3)
        told = emergence_nodes(WeightedNodes(mean + 0.3 * point, weight / weight.sum()), 1.5, 0.3)
        shift = rng.normal(1.5, 0.3) + extra_shift
        chance = ndtr(rng.normal(mean, 0.3) - max(shift, 0.0))
        sowings.append(ForetoldSowing(told, 60, int(rng.binomial(60, chance))))
    return sowings


def test_a_true_forecaster_is_calibrated() -> None:
    judged = judge_emergence_forecasts(foretold(1, 0.0))
    assert 0.86 <= judged.inside_90 <= 0.96
    assert 0.44 <= judged.inside_50 <= 0.62
    assert judged.pit.mean() == pytest.approx(0.5, abs=0.05)
    assert judged.mean_error == pytest.approx(0.0, abs=0.025)


def test_a_hopeful_forecaster_is_found_out() -> None:
    judged = judge_emergence_forecasts(foretold(1, 0.6))
    assert judged.mean_error < -0.05
    assert judged.pit.mean() < 0.4


def test_no_sowings_give_no_judgement() -> None:
    judged = judge_emergence_forecasts([])
    assert judged.sowings == 0
    assert np.isnan(judged.inside_90)


def test_bins_hold_each_sowing_once_and_say_what_came_of_it_on_the_mean() -> None:
    held = [hold_against(one) for one in foretold(3, 0.3)]
    bins = bin_forecasts(held, 4)
    assert sum(one.sowings for one in bins) == len(held)
    for one in bins:
        inside = [h for h in held if one.low <= h.counts.mean / h.trials < one.high]
        error = np.array([h.error for h in inside])
        assert len(inside) == one.sowings
        assert one.emerged - one.foretold == pytest.approx(error.mean())
        if len(inside) > 1:
            assert one.error_se == pytest.approx(error.std(ddof=1) / np.sqrt(error.size))
    assert bin_forecasts([]) == ()


def test_a_certain_forecast_falls_into_the_last_bin_and_one_sowing_has_no_error_of_its_own() -> (
    None
):
    sure = ForetoldSowing(WeightedNodes(np.array([1.0]), np.ones(1)), 10, 10)
    (only,) = bin_forecasts([hold_against(sure)])
    assert (only.low, only.high, only.sowings) == (0.8, 1.0, 1)
    assert only.foretold == pytest.approx(1.0)
    assert np.isnan(only.error_se)
