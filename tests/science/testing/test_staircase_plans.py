"""Checks of sequential plans: printed plan, path enumeration, and an independent recursion."""

from itertools import product
from math import comb

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom

from tests.science.testing.staircase_plans import SequentialPlan, Step, exact_operating_curve

# Ellis, Hong & Roberts 1985 / Rao et al. 2006 table 8.3, regeneration standard 85 %, groups of 40.
# Read: 29 at 40, 64 and 76 at 80. All other rows from memory.
PRINTED_85 = [
    (40, 29, None), (80, 64, 76), (120, 100, 111), (160, 135, 146), (200, 170, 181),
    (240, 205, 216), (280, 240, 251), (320, 275, 286), (360, 310, 321), (400, 340, 341),
]  # fmt: skip
SMALL = [(3, 0, 3), (5, 2, None), (8, 5, 6)]


def test_the_printed_85_percent_plan_gives_the_operating_curve_worked_out_for_it():
    # Figures computed beside the table in the collected standards (P(regenerate), mean seeds).
    expected = {
        0.75: (1.000, 69), 0.80: (0.999, 101), 0.825: (0.981, 138), 0.85: (0.814, 208),
        0.875: (0.352, 275), 0.90: (0.044, 227), 0.925: (0.001, 140), 0.95: (0.000, 98),
    }  # fmt: skip
    curve = exact_operating_curve(SequentialPlan.from_rows(PRINTED_85), np.array(list(expected)))
    regenerate, seeds = zip(*expected.values(), strict=True)
    assert curve.regenerate == pytest.approx(regenerate, abs=5.0001e-4)
    # 68.5 and 98.5 stand exactly on the rounding edge, hence half a seed and a hair.
    assert curve.mean_seeds == pytest.approx(seeds, abs=0.51)


def test_the_stages_read_from_the_genebank_manual_are_the_plans_first_two():
    # Rao et al. 2006, Handbooks for Genebanks 8, flowchart 8.1 and table 8.3 (read).
    plan = SequentialPlan.from_rows(PRINTED_85)
    for tested, low, high in [(40, 29, None), (80, 64, 76)]:
        assert plan.step(tested, low) is Step.REGENERATE
        assert plan.step(tested, low + 1) is Step.TEST_MORE
        if high is None:
            assert plan.step(tested, tested) is Step.TEST_MORE
        else:
            assert plan.step(tested, high) is Step.KEEP
            assert plan.step(tested, high - 1) is Step.TEST_MORE


@pytest.mark.parametrize("p", [0.0, 0.2, 0.55, 0.9, 1.0])
def test_every_path_of_a_small_plan_walked_one_by_one_gives_the_same_curve(p):
    plan = SequentialPlan.from_rows(SMALL)
    regenerate = keep = 0.0
    stopped = dict.fromkeys((3, 5, 8), 0.0)
    for path in product((0, 1), repeat=8):
        chance = float(np.prod([p if seed else 1 - p for seed in path]))
        for tested in (3, 5, 8):
            step = plan.step(tested, sum(path[:tested]))
            if step is not Step.TEST_MORE:
                stopped[tested] += chance
                regenerate += chance * (step is Step.REGENERATE)
                keep += chance * (step is Step.KEEP)
                break
    curve = exact_operating_curve(plan, np.array([p]))
    mean = sum(n * q for n, q in stopped.items())
    assert curve.regenerate[0] == pytest.approx(regenerate, abs=1e-13)
    assert curve.keep[0] == pytest.approx(keep, abs=1e-13)
    assert curve.stopping[0] == pytest.approx(list(stopped.values()), abs=1e-13)
    assert curve.mean_seeds[0] == pytest.approx(mean, abs=1e-12)
    spread = sum(n * n * q for n, q in stopped.items()) - mean**2
    assert curve.sd_seeds[0] == pytest.approx(max(spread, 0) ** 0.5, abs=1e-6)


def orderings_counted(plan: SequentialPlan, p: float) -> tuple[float, float]:
    """(regenerate, keep) by counting seed orders one seed at a time in whole numbers."""
    stages = {
        n: (a, b)
        for n, a, b in zip(
            plan.tested.tolist(),
            plan.regenerate_at_most.tolist(),
            plan.keep_at_least.tolist(),
            strict=True,
        )
    }
    orders, regenerate, keep = {0: 1}, 0.0, 0.0
    for n in range(1, max(stages) + 1):
        step = {k: orders.get(k, 0) + orders.get(k - 1, 0) for k in range(n + 1)}
        orders = {k: count for k, count in step.items() if count}
        if n in stages:
            low, high = stages[n]
            for k in [k for k in orders if k <= low or k >= high]:
                chance = orders.pop(k) * p**k * (1 - p) ** (n - k)
                regenerate += chance * (k <= low)
                keep += chance * (k >= high)
    return regenerate, keep


@pytest.mark.parametrize("p", [0.75, 0.85, 0.9])
def test_counting_orders_seed_by_seed_agrees_with_the_convolution(p):
    plan = SequentialPlan.from_rows([*PRINTED_85[:4], (200, 175, 176)])
    curve = exact_operating_curve(plan, np.array([p]))
    assert (curve.regenerate[0], curve.keep[0]) == pytest.approx(
        orderings_counted(plan, p), abs=1e-12
    )


def test_a_one_group_plan_is_the_plain_binomial_test():
    plan = SequentialPlan.from_rows([(25, 19, 20)])
    p = np.array([0.0, 0.5, 0.8, 1.0])
    curve = exact_operating_curve(plan, p)
    assert curve.regenerate == pytest.approx(binom.cdf(19, 25, p), abs=1e-14)
    assert curve.mean_seeds.tolist() == pytest.approx([25.0] * 4)
    assert curve.sd_seeds == pytest.approx(np.zeros(4), abs=1e-6)


@given(
    st.lists(st.integers(1, 12), min_size=1, max_size=5),
    st.data(),
    st.floats(0, 1, allow_subnormal=False),
)
@settings(deadline=None, max_examples=60)
def test_any_plan_whatever_always_ends_in_one_of_its_two_answers(groups, data, p):
    rows, total = [], 0
    for place, group in enumerate(groups):
        total += group
        low = data.draw(st.integers(-1, total))
        last = place == len(groups) - 1
        rows.append((total, low, low + 1 if last else data.draw(st.integers(low + 1, total + 1))))
    curve = exact_operating_curve(SequentialPlan.from_rows(rows), np.array([p, (1 + p) / 2]))
    assert curve.regenerate + curve.keep == pytest.approx(np.ones(2), abs=1e-12)
    assert curve.stopping.sum(axis=1) == pytest.approx(np.ones(2), abs=1e-12)


def test_the_least_chance_there_is_is_as_good_as_none():
    plan = SequentialPlan.from_rows([(4, 0, 3), (8, 1, 2)])
    least, none = exact_operating_curve(plan, np.array([np.finfo(np.float64).tiny, 0.0])).regenerate
    assert least == none == 1.0


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([(10, 5, 5)], "keep_at_least"),
        ([(10, 5, 8)], "last group"),
        ([(10, 5, 8), (10, 7, 8)], "rise"),
        ([(10, -2, 8), (20, 7, 8)], "-1"),
    ],
)
def test_a_plan_that_cannot_be_followed_is_refused(rows, said):
    with pytest.raises(ValueError, match=said):
        SequentialPlan.from_rows(rows)


def test_a_step_is_refused_off_the_plan_and_for_impossible_counts():
    plan = SequentialPlan.from_rows(PRINTED_85)
    with pytest.raises(ValueError, match="41"):
        plan.step(41, 3)
    with pytest.raises(ValueError, match="81"):
        plan.step(80, 81)
    with pytest.raises(ValueError, match=r"0\.\.1"):
        exact_operating_curve(plan, np.array([1.1]))


def test_a_group_that_decides_nothing_changes_nothing():
    plan = SequentialPlan.from_rows([(4, None, None), (9, 6, 7)])
    expected = sum(comb(9, k) * 0.7**k * 0.3 ** (9 - k) for k in range(7))
    assert exact_operating_curve(plan, np.array([0.7])).regenerate[0] == pytest.approx(expected)
