"""Outside check: forecasts drawn from the model itself are calibrated; wrong ones are not."""

import numpy as np
import pytest
from scipy.special import ndtr

from seedbank.science.sowing.emergence import ShiftLaw, WeightedNodes, emergence_nodes
from seedbank.science.sowing.emergence_calibration import (
    ForetoldSowing,
    bin_forecasts,
    hold_against,
)
from seedbank.science.sowing.plant_counts import plants_law


def foretold(seed: int, extra_shift: float) -> list[ForetoldSowing]:
    rng = np.random.default_rng(seed)
    point, weight = np.polynomial.hermite_e.hermegauss(20)
    sowings = []
    for _ in range(300):
        mean = rng.normal(1.0, 0.3)
        told = emergence_nodes(
            WeightedNodes(mean + 0.3 * point, weight / weight.sum()), ShiftLaw(1.5, 0.3)
        )
        shift = rng.normal(1.5, 0.3) + extra_shift
        chance = ndtr(rng.normal(mean, 0.3) - max(shift, 0.0))
        sowings.append(ForetoldSowing(told, 60, int(rng.binomial(60, chance))))
    return sowings


def mid_pit(sowing: ForetoldSowing) -> float:
    law = plants_law(sowing.emergence, sowing.trials, sowing.patches)
    reached, passed = law.at_least(np.array([sowing.emerged, sowing.emerged + 1])).tolist()
    return 1.0 - 0.5 * float(reached + passed)


def test_a_true_forecaster_is_calibrated() -> None:
    sowings = foretold(1, 0.0)
    held = [hold_against(one) for one in sowings]
    assert 0.86 <= np.mean([one.inside_90 for one in held]) <= 0.96
    assert 0.44 <= np.mean([one.inside_50 for one in held]) <= 0.62
    assert np.mean([mid_pit(one) for one in sowings]) == pytest.approx(0.5, abs=0.05)
    assert np.mean([one.error for one in held]) == pytest.approx(0.0, abs=0.025)


def test_a_hopeful_forecaster_is_found_out() -> None:
    sowings = foretold(1, 0.6)
    assert np.mean([hold_against(one).error for one in sowings]) < -0.05
    assert np.mean([mid_pit(one) for one in sowings]) < 0.4


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
