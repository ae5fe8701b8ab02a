"""Checks of designed plans: exact rates, the fixed-size test, Wald's slope and sample number."""

import numpy as np
import pytest
from scipy.stats import binom

from seedbank.science.testing.sequential import HOME_GROUPS, exact_operating_curve
from seedbank.science.testing.wald import wald_plan, wald_slope


@pytest.mark.parametrize("group", HOME_GROUPS)
def test_a_plan_that_says_it_meets_its_error_rates_meets_them_exactly(group):
    found = wald_plan(0.6, 0.85, 0.05, 0.10, group, 120)
    curve = exact_operating_curve(found.plan, np.array([0.6, 0.85]))
    assert found.met
    assert curve.regenerate[1] == pytest.approx(found.regenerate_good)
    assert curve.regenerate[1] <= 0.05
    assert curve.keep[0] <= 0.10
    assert found.plan.tested[-1] <= 120
    assert set(np.diff(found.plan.tested, prepend=0)) == {group}


def test_a_sequential_plan_spends_fewer_seeds_than_the_fixed_test_of_the_same_rates():
    found = wald_plan(0.6, 0.85, 0.05, 0.05, 5, 100)
    fixed = next(
        n
        for n in range(1, 101)
        if any(
            binom.cdf(cut, n, 0.85) <= 0.05 and binom.sf(cut, n, 0.6) <= 0.05 for cut in range(n)
        )
    )
    assert found.met
    assert max(found.mean_seeds_good, found.mean_seeds_bad) < 0.75 * fixed


def test_mean_seeds_come_near_walds_own_formula_and_never_far_below():
    # Wald 1947 ch. 5: mean sample number of the open-ended single-seed test at p_high, without
    # overshoot. No test with these rates needs fewer on average (Wald & Wolfowitz 1948).
    found = wald_plan(0.6, 0.85, 0.05, 0.05, 1, 80)
    keep, drop = np.log(0.95 / 0.05), np.log(0.05 / 0.95)
    drift = 0.85 * np.log(0.85 / 0.6) + 0.15 * np.log(0.15 / 0.4)
    least = (0.95 * keep + 0.05 * drop) / drift
    assert least <= found.mean_seeds_good <= 1.35 * least


def test_too_few_seeds_are_owned_up_to_with_the_rates_reached():
    found = wald_plan(0.85, 0.90, 0.05, 0.05, 40, 80)
    curve = exact_operating_curve(found.plan, np.array([0.85, 0.90]))
    assert not found.met
    assert found.regenerate_good == pytest.approx(curve.regenerate[1])
    assert found.keep_bad == pytest.approx(curve.keep[0])
    # Nothing of at most 80 seeds can do it (Neyman & Pearson): the fixed test of 80 fails too.
    assert not any(
        binom.cdf(cut, 80, 0.90) <= 0.05 and binom.sf(cut, 80, 0.85) <= 0.05 for cut in range(80)
    )


def test_the_nearest_miss_is_at_least_as_near_as_the_best_fixed_test():
    found = wald_plan(0.5, 0.7, 0.05, 0.05, 20, 40)
    nearest = min(max(binom.cdf(c, 40, 0.7), binom.sf(c, 40, 0.5)) / 0.05 for c in range(40))
    assert max(found.regenerate_good, found.keep_bad) / 0.05 <= nearest + 1e-12


def test_the_slope_of_walds_lines_for_85_against_90_percent_is_0_8764():
    # Computed beside the genebank plan, which rises 35 seeds per 40 (0.875) from 120 on.
    assert wald_slope(0.85, 0.90) == pytest.approx(0.8764, abs=5e-5)


@pytest.mark.parametrize(
    "bad",
    [
        (0.9, 0.8, 0.05, 0.05, 10, 50),
        (0.5, 0.8, 0.0, 0.05, 10, 50),
        (0.5, 0.8, 0.05, 0.6, 10, 50),
        (0.5, 0.8, 0.05, 0.05, 60, 50),
        (0.5, 0.8, 0.05, 0.05, 0, 50),
    ],
)
def test_standards_rates_and_groups_out_of_order_are_refused(bad):
    with pytest.raises(ValueError, match="need"):
        wald_plan(*bad)
