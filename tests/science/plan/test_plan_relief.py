"""Every gain is held against planning the changed garden to the end."""

import itertools
from collections.abc import Callable
from dataclasses import replace

import pytest

from seedbank.science.plan.plan import Plan, solve_plan
from seedbank.science.plan.plan_problem import PlanProblem, TimeBudget
from seedbank.science.plan.plan_relief import (
    MORE_BED_M2,
    Relief,
    ReliefKind,
    Reliefs,
    exposed,
    reliefs,
)
from tests.science.plan.small_gardens import small_garden

EXACT = {"time_limit_s": 60.0, "gap": 0.0}


def crowded(seed: int) -> PlanProblem:
    problem = small_garden(seed, varieties=7, horizon=4)
    strict = [replace(v, distance_m=500.0, home_distance_m=3.0) for v in problem.varieties]
    return replace(problem, varieties=tuple(strict))


def helping(
    problem: PlanProblem,
    plan: Plan,
    of_each: int = 1,
    limit_s: float = 60.0,
    clock: Callable[[], float] | None = None,
) -> Reliefs:
    budget = TimeBudget(limit_s, clock)
    return reliefs(problem, plan, budget=budget, each_s=60.0, gap=0.0, of_each=of_each)


def best(problem: PlanProblem) -> float:
    return solve_plan(problem, **EXACT).objective


def changed(problem: PlanProblem, kind: ReliefKind, subject: str) -> PlanProblem:
    limits = problem.limits
    if kind is ReliefKind.GEAR:
        gear = tuple((k, n + (k == subject)) for k, n in limits.gear)
        return replace(problem, limits=replace(limits, gear=gear))
    if kind is ReliefKind.WORK:
        return replace(problem, limits=replace(limits, work=limits.work + 1))
    if kind is ReliefKind.BED:
        sites = [
            replace(s, bed_m2=s.bed_m2 + MORE_BED_M2 * (s.name == subject)) for s in problem.sites
        ]
        return replace(problem, sites=tuple(sites))
    if kind is ReliefKind.STOP_FLOWERING:
        return replace(problem, stands=tuple(s for s in problem.stands if s.name != subject))
    if kind is ReliefKind.HAND_OVER:
        return replace(problem, varieties=tuple(v for v in problem.varieties if v.name != subject))
    eased = [replace(v, distance_m=3.0) if v.name == subject else v for v in problem.varieties]
    return replace(problem, varieties=tuple(eased))


@pytest.mark.parametrize("seed", [3, 5, 6, 8])
def test_each_gain_is_what_planning_the_changed_garden_shows_and_within_its_bounds(
    seed: int,
) -> None:
    problem = crowded(seed)
    plan = solve_plan(problem, **EXACT)
    found = helping(problem, plan).tried
    told = {relief.kind for relief in found}
    tried = [relief.kind for relief in found if relief.gain is not None]
    assert {ReliefKind.HAND_OVER, ReliefKind.HOME_ISOLATION} < told
    assert sorted(tried) == sorted(told)
    gains = [relief.gain for relief in found if relief.gain is not None]
    assert gains == sorted(gains, reverse=True)
    for relief in found:
        gain = plan.objective - best(changed(problem, relief.kind, relief.subject))
        assert relief.gain_low - 1e-6 <= gain <= relief.gain_high + 1e-6
        if relief.gain is not None:
            assert relief.gain == pytest.approx(gain, abs=1e-6)


def test_what_is_left_out_would_not_help() -> None:
    problem = crowded(4)
    plan = solve_plan(problem, **EXACT)
    told = {(r.kind, r.subject) for r in helping(problem, plan, of_each=0).tried}
    every = [(ReliefKind.WORK, ""), (ReliefKind.GEAR, "cage"), (ReliefKind.BED, "a")]
    every += [(ReliefKind.BED, "b"), (ReliefKind.STOP_FLOWERING, "left to run")]
    every += [(ReliefKind.HAND_OVER, v.name) for v in problem.varieties]
    for kind, subject in every:
        if (kind, subject) not in told:
            gain = plan.objective - best(changed(problem, kind, subject))
            assert gain == pytest.approx(0.0, abs=1e-5)


def test_handing_over_a_variety_says_what_the_others_win() -> None:
    problem = crowded(5)
    plan = solve_plan(problem, **EXACT)
    weight = {v.name: v.weight for v in problem.varieties}
    handed = [r for r in helping(problem, plan).tried if r.kind is ReliefKind.HAND_OVER]
    assert handed
    for relief in handed:
        loss = next(c.loss for c in plan.columns if c.variety == relief.subject)
        assert relief.own == pytest.approx(weight[relief.subject] * loss)
        if relief.gain is not None:
            assert relief.gain >= relief.own - 1e-6


def test_the_exposed_are_those_of_great_weighted_loss_worst_first() -> None:
    problem = crowded(1)
    plan = solve_plan(problem, **EXACT)
    found = exposed(problem, plan, 1.2)
    weight = {v.name: v.weight for v in problem.varieties}
    expected = {c.variety for c in plan.columns if weight[c.variety] * c.loss > 1.2}
    assert {one.variety for one in found} == expected
    assert 0 < len(found) < len(plan.columns)
    assert [one.weighted for one in found] == sorted((o.weighted for o in found), reverse=True)


def gains_by_name(found: tuple[Relief, ...]) -> dict[tuple[ReliefKind, str], Relief]:
    return {(relief.kind, relief.subject): relief for relief in found}


def test_what_there_was_no_time_to_plan_keeps_the_bounds_it_had_and_is_told() -> None:
    problem = crowded(1)
    plan = solve_plan(problem, **EXACT)
    whole = helping(problem, plan)
    assert not whole.cut_short
    planned = sum(relief.gain is not None for relief in whole.tried)
    seconds = itertools.count()
    looking = len(helping(problem, plan, of_each=0).tried)
    # A second passes at every look at the clock: time for all the bounds and then for little more.
    short = helping(problem, plan, limit_s=2.0 * looking, clock=lambda: float(next(seconds)))
    assert short.cut_short
    done = [relief for relief in short.tried if relief.gain is not None]
    assert 0 < len(done) < planned
    full = gains_by_name(whole.tried)
    for name, relief in gains_by_name(short.tried).items():
        known = full[name].gain
        if relief.gain is None and known is not None:
            assert relief.gain_low - 1e-6 <= known <= relief.gain_high + 1e-6


def test_without_time_nothing_is_planned_anew() -> None:
    problem = crowded(1)
    plan = solve_plan(problem, **EXACT)
    seconds = itertools.count()
    none = helping(problem, plan, limit_s=0.5, clock=lambda: float(next(seconds)))
    assert none.cut_short
    assert len(none.tried) <= 1
    assert all(relief.gain is None for relief in none.tried)
