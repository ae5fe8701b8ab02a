"""Sets of crops against all of them enumerated, and what happens when there are too many."""

from dataclasses import replace

import numpy as np
import pytest

from seedbank.science.plan import plan_columns, plan_sets
from seedbank.science.plan.plan import PlanStatus, solve_plan
from seedbank.science.plan.plan_columns import build_columns
from seedbank.science.plan.plan_options import crop_options
from seedbank.science.plan.plan_problem import PlanProblem
from seedbank.science.plan.plan_sets import crop_sets, crops_each
from seedbank.science.quantities import IntArray
from tests.science.plan.small_gardens import allowed, sets_of, small_garden


def roomy(seed: int, most_crops: int = 3) -> PlanProblem:
    """Nothing of it is sure to fail, so every crop is an option."""
    problem = small_garden(seed, varieties=5, horizon=5)
    varieties = tuple(replace(v, most_crops=most_crops) for v in problem.varieties)
    return replace(problem, varieties=varieties, stands=()).in_order()


def seasons(problem: PlanProblem) -> list[IntArray]:
    options = crop_options(problem)
    return [options.season[options.variety == v] for v in range(len(problem.varieties))]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("most_crops", [0, 1, 2, 3])
def test_the_sets_are_all_there_are_and_are_counted_without_listing_them(
    seed: int, most_crops: int
) -> None:
    problem = roomy(seed, most_crops)
    total = 0
    for variety, season in zip(problem.varieties, seasons(problem), strict=True):
        listed = crop_sets(
            problem, variety, season, most_crops=most_crops, first=0, nothing=season.size
        )
        every = list(sets_of(variety, problem))
        assert listed.shape == (len(every), 3)
        assert len({tuple(row) for row in listed.tolist()}) == len(every)
        total += len(every)
    as_many = crops_each(problem, seasons(problem), total)
    assert as_many.tolist() == [most_crops] * 5
    if most_crops > 1:
        assert crops_each(problem, seasons(problem), total - 1).sum() < as_many.sum()


def test_those_with_most_sets_lose_a_crop_first_and_single_crops_are_always_weighed() -> None:
    problem = roomy(1)
    every = crops_each(problem, seasons(problem), 10**9)
    for most in (20_000, 2_000, 700, 300):
        may = crops_each(problem, seasons(problem), most)
        assert np.all(may <= every)
        every = may
    assert crops_each(problem, seasons(problem), 0).tolist() == [1] * 5


def test_a_plan_of_curtailed_sets_keeps_every_limit_and_says_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = roomy(3)
    whole = solve_plan(problem, time_limit_s=60.0, gap=0.0)
    assert whole.curtailed == ()
    size = build_columns(problem).variety.size

    def fewer(problem: PlanProblem, seasons: list[IntArray]) -> IntArray:
        return plan_sets.crops_each(problem, seasons, size // 4)

    monkeypatch.setattr(plan_columns, "crops_each", fewer)
    assert build_columns(problem).variety.size <= size // 4
    plan = solve_plan(problem, time_limit_s=60.0, gap=0.0)
    assert plan.curtailed
    assert allowed(plan.choices(), problem)
    assert plan.status is PlanStatus.PROVEN
    assert plan.objective >= whole.objective - 1e-9
    crops = {column.variety: len(column.crops) for column in plan.columns}
    assert all(crops[name] < 3 for name in plan.curtailed)
