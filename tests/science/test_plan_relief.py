"""Every gain is held against planning the changed garden to the end."""

from dataclasses import replace

import pytest

from seedbank.science.plan import solve_plan
from seedbank.science.plan_problem import Pin, PlanProblem
from seedbank.science.plan_relief import ReliefKind, exposed, pin_costs, reliefs
from tests.science.small_gardens import small_garden

EXACT = {"time_limit_s": 60.0, "gap": 0.0}


def crowded(seed: int) -> PlanProblem:
    problem = small_garden(seed, varieties=7, horizon=4)
    strict = [replace(v, distance_m=500.0, home_distance_m=3.0) for v in problem.varieties]
    return replace(problem, varieties=tuple(strict))


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
        sites = [replace(s, bed_m2=s.bed_m2 + (s.name == subject)) for s in problem.sites]
        return replace(problem, sites=tuple(sites))
    if kind is ReliefKind.STOP_FLOWERING:
        return replace(problem, stands=tuple(s for s in problem.stands if s.name != subject))
    if kind is ReliefKind.HAND_OVER:
        return replace(problem, varieties=tuple(v for v in problem.varieties if v.name != subject))
    eased = [replace(v, distance_m=3.0) if v.name == subject else v for v in problem.varieties]
    return replace(problem, varieties=tuple(eased))


@pytest.mark.parametrize("seed", [1, 6])
def test_each_gain_is_what_planning_the_changed_garden_shows_and_within_its_bounds(
    seed: int,
) -> None:
    problem = crowded(seed)
    plan = solve_plan(problem, **EXACT)
    found = reliefs(problem, plan, **EXACT, of_each=1)
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
    told = {(r.kind, r.subject) for r in reliefs(problem, plan, **EXACT, of_each=0)}
    every = [(ReliefKind.WORK, ""), (ReliefKind.GEAR, "cage"), (ReliefKind.BED, "a")]
    every += [(ReliefKind.BED, "b"), (ReliefKind.STOP_FLOWERING, "left to run")]
    every += [(ReliefKind.HAND_OVER, v.name) for v in problem.varieties]
    for kind, subject in every:
        if (kind, subject) not in told:
            gain = plan.objective - best(changed(problem, kind, subject))
            assert gain == pytest.approx(0.0, abs=1e-5)


def test_handing_over_a_variety_says_what_the_others_win() -> None:
    problem = crowded(1)
    plan = solve_plan(problem, **EXACT)
    weight = {v.name: v.weight for v in problem.varieties}
    handed = [r for r in reliefs(problem, plan, **EXACT) if r.kind is ReliefKind.HAND_OVER]
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


def test_a_pin_costs_what_the_plan_without_it_saves() -> None:
    problem = crowded(6)
    free = solve_plan(problem, **EXACT)
    name = next(c.variety for c in free.columns if not c.crops)
    pinned = replace(problem, pins=(Pin(name, 0), Pin(name, 1, wanted=False)))
    plan = solve_plan(pinned, **EXACT)
    costs = pin_costs(pinned, plan, **EXACT)
    assert [c.pin for c in costs] == list(pinned.pins)
    forced, barred = costs
    assert forced.cost == pytest.approx(plan.objective - free.objective, abs=1e-6)
    assert forced.cost > 0.0
    assert barred.cost == pytest.approx(0.0, abs=1e-6)
    assert forced.cost_low - 1e-9 <= forced.cost <= forced.cost_high + 1e-9
