"""Whatever the garden, and whenever time runs out, a plan keeps every limit and its promises."""

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seedbank.science.plan.plan import solve_plan
from seedbank.science.plan.plan_problem import PlanProblem
from tests.science.plan.small_gardens import allowed, small_garden, total

gardens = st.builds(
    small_garden, st.integers(0, 10_000), varieties=st.integers(1, 6), horizon=st.integers(1, 3)
)
few = settings(max_examples=12, deadline=None)


@few
@given(gardens, st.integers(1, 12))
def test_a_plan_keeps_every_limit_however_little_time_it_had(
    problem: PlanProblem, looks: int
) -> None:
    ticks = itertools.count(0.0, 1.0)  # a clock on which every look costs a second
    plan = solve_plan(problem, time_limit_s=float(looks), gap=0.0, clock=lambda: next(ticks))
    assert allowed(plan.choices(), problem)
    assert plan.bound <= plan.cost + 1e-9
    assert total(plan, problem) == pytest.approx(plan.objective, abs=1e-9)


@few
@given(gardens, st.floats(0.0, 2.0), st.integers(0, 1))
def test_less_work_or_gear_never_makes_a_plan_better(
    problem: PlanProblem, work: float, cages: int
) -> None:
    def best(garden: PlanProblem) -> float:
        return solve_plan(garden, time_limit_s=60.0, gap=0.0).objective

    limits = problem.limits
    usual = best(problem)
    assert best(replace(problem, limits=replace(limits, work=work))) >= usual - 1e-9
    fewer = replace(limits, gear=(("cage", float(cages)),))
    assert best(replace(problem, limits=fewer)) >= usual - 1e-9


@few
@given(gardens, st.integers(0, 10_000))
def test_a_plan_made_again_keeps_every_limit_whatever_went_before(
    problem: PlanProblem, other: int
) -> None:
    before = solve_plan(
        small_garden(other, len(problem.varieties), problem.horizon), time_limit_s=60.0, gap=0.0
    ).choices()
    again = solve_plan(problem, time_limit_s=60.0, gap=0.0, previous=before)
    assert allowed(again.choices(), problem)
    once_more = solve_plan(problem, time_limit_s=60.0, gap=0.0, previous=again.choices())
    assert once_more.changes == 0
    assert once_more.choices() == again.choices()
