"""The yardstick keeps the limits a plan keeps, and goes strictly in turn."""

from dataclasses import replace

import pytest

from seedbank.science.plan.plan import solve_plan
from tests.science.plan.greedy import in_turn, oldest_first, weakest_first
from tests.science.plan.small_gardens import allowed, lost, small_garden


@pytest.mark.parametrize("seed", range(6))
def test_what_is_sown_in_turn_keeps_every_limit_and_is_no_better_than_the_plan(seed: int) -> None:
    problem = small_garden(seed, varieties=8, horizon=4)
    age = {v.name: float(n) for n, v in enumerate(problem.varieties)}
    plan = solve_plan(problem, time_limit_s=60.0, gap=0.0)
    for choice in (oldest_first(problem, age), weakest_first(problem)):
        assert allowed(choice, problem)
        assert any(choice.values())
        assert all(crop.season == 0 for crops in choice.values() for crop in crops)
        objective = sum(v.weight * lost(v, choice[v.name], problem) for v in problem.varieties)
        assert objective >= plan.objective - 1e-9


def test_the_first_in_turn_gets_the_only_place() -> None:
    problem = small_garden(3)
    rivals = tuple(
        replace(v, group="g", distance_m=500.0, bed_m2=(1.0,), work=(1.0,), ways=v.ways[:1])
        for v in problem.varieties
    )
    one_place = replace(problem, varieties=rivals, sites=problem.sites[:1], gaps=(), stands=())
    for first in rivals:
        age = {v.name: 1.0 for v in rivals} | {first.name: 9.0}
        chosen = oldest_first(one_place, age)
        assert [name for name, crops in chosen.items() if crops] == [first.name]


def test_nothing_is_sown_of_a_variety_known_to_be_lost() -> None:
    problem = small_garden(3)
    dead = replace(problem.varieties[0], existing=0.0 * problem.varieties[0].existing)
    garden = replace(problem, varieties=(dead, *problem.varieties[1:]))
    rank = {v.name: float(n) for n, v in enumerate(garden.varieties)}
    assert in_turn(garden, rank)[dead.name] == ()
