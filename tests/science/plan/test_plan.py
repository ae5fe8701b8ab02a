"""Outside checks: full enumeration of small gardens, OR-tools' CP-SAT on larger ones."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from ortools.sat.python import cp_model

from seedbank.science.plan.plan import PlanStatus, solve_plan
from seedbank.science.plan.plan_problem import Crop, Pin, PlanProblem, PlanVariety, Standing
from seedbank.science.saving.saving_survival import NO_CROP, SeedLives, loss_by_end
from tests.science.plan.small_gardens import (
    allowed,
    failure,
    lost,
    metres,
    sets_of,
    small_garden,
    total,
)
from tests.sizes import sized


def least(problem: PlanProblem) -> float:
    """The best objective of all plans: every combination that keeps the limits is tried."""
    options = []
    for variety in problem.varieties:
        sets = list(sets_of(variety, problem))
        options.append([(crops, variety.weight * lost(variety, crops, problem)) for crops in sets])
    names = [variety.name for variety in problem.varieties]
    best = float("inf")

    def grow(choice: dict[str, tuple[Crop, ...]], sum_: float) -> None:
        nonlocal best
        if len(choice) == len(names):
            best = min(best, sum_)
            return
        name = names[len(choice)]
        for crops, loss in options[len(choice)]:
            more = choice | {name: crops}
            if allowed({n: more.get(n, ()) for n in names}, problem):
                grow(more, sum_ + loss)

    grow({}, 0.0)
    return best


def exact(problem: PlanProblem, **more: object):  # type: ignore[no-untyped-def]
    return solve_plan(problem, time_limit_s=60.0, gap=0.0, **more)


@pytest.mark.parametrize("seed", range(10))
def test_the_plan_is_the_best_of_all_plans(seed: int) -> None:
    problem = small_garden(seed, varieties=3)
    plan = exact(problem)
    assert plan.objective == pytest.approx(least(problem), abs=1e-7)
    assert total(plan, problem) == pytest.approx(plan.objective, abs=1e-9)
    assert allowed(plan.choices(), problem)
    assert (plan.gap, plan.status) == (0.0, PlanStatus.PROVEN)
    assert plan.bound <= plan.objective + 1e-9


def by_cp_sat(problem: PlanProblem) -> float:
    """The best objective by another solver: a yes or no a set of crops, conflicts pair by pair."""
    model = cp_model.CpModel()
    use: dict[tuple[str, int, str], list[tuple[int, cp_model.IntVar]]] = {}
    air: list[tuple[PlanVariety, Crop, cp_model.IntVar]] = []
    terms = []
    for variety in problem.varieties:
        sets = list(sets_of(variety, problem))
        picks = [model.new_bool_var("") for _ in sets]
        model.add_exactly_one(picks)
        for crops, loss, pick in zip(sets, losses(variety, sets, problem), picks, strict=True):
            terms.append((variety.weight * loss, pick))
            for crop in crops:
                book(variety, crop, pick, use, air)
    beds = {site.name: site.bed_m2 for site in problem.sites}
    gear = dict(problem.limits.gear)
    for (what, _, name), drawn in use.items():
        most = {"bed": beds.get(name), "gear": gear.get(name), "work": problem.limits.work}[what]
        model.add(sum(amount * pick for amount, pick in drawn) <= int(10 * most))  # type: ignore[operator]
    for (v, c, one), (u, d, other) in itertools.combinations(air, 2):
        same = v.group == u.group and v.name != u.name and c.season + v.lead == d.season + u.lead
        if same and metres(problem, c.site, d.site) < max(v.distance_m, u.distance_m):
            model.add(one + other <= 1)
    model.minimize(sum(round(1e9 * loss) * pick for loss, pick in terms))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = 60
    assert solver.solve(model) == cp_model.OPTIMAL
    return solver.objective_value / 1e9


def book(variety, crop, pick, use, air) -> None:  # type: ignore[no-untyped-def]
    """Everything one crop draws on, in tenths."""
    way = next(w for w in variety.ways if w.name == crop.way)
    flowers = crop.season + variety.lead - 1
    for k in range(variety.lead):
        season = crop.season + k
        use.setdefault(("bed", season, crop.site), []).append((int(10 * variety.bed_m2[k]), pick))
        work = variety.work[k] + (way.work if season == flowers else 0.0)
        use.setdefault(("work", season, ""), []).append((int(10 * work), pick))
    if way.gear:
        use.setdefault(("gear", flowers, way.gear), []).append((10, pick))
    if way.open_air:
        air.append((variety, crop, pick))


def losses(variety: PlanVariety, sets: list[tuple[Crop, ...]], problem: PlanProblem) -> list[float]:
    size = max(map(len, sets))
    sown = [[c.season for c in s] + [NO_CROP] * (size - len(s)) for s in sets]
    fails = [[failure(variety, c, problem) for c in s] + [1.0] * (size - len(s)) for s in sets]
    return loss_by_end(
        SeedLives(variety.existing[None], variety.fresh[None], np.array([variety.lead])),
        np.zeros(len(sets), dtype=np.int64),
        np.array(sown),
        np.array(fails),
    ).tolist()


@pytest.mark.parametrize("seed", range(sized(2, 4)))
def test_another_solver_finds_the_same_optimum(seed: int) -> None:
    problem = small_garden(100 + seed, varieties=14, horizon=4)
    problem = replace(problem, limits=replace(problem.limits, work=5.0))
    plan = exact(problem)
    assert allowed(plan.choices(), problem)
    assert plan.objective == pytest.approx(by_cp_sat(problem), rel=1e-6)


def shuffled(problem: PlanProblem, seed: int) -> PlanProblem:
    rng = np.random.default_rng(seed)
    varieties = [problem.varieties[i] for i in rng.permutation(len(problem.varieties))]
    flipped = [replace(v, ways=v.ways[::-1]) for v in varieties]
    return replace(problem, varieties=tuple(flipped), sites=problem.sites[::-1])


@pytest.mark.parametrize("gap", [0.0, 0.01])
def test_the_same_question_in_any_order_gives_the_same_plan(gap: float) -> None:
    problem = small_garden(7, varieties=16, horizon=4)
    plan = solve_plan(problem, time_limit_s=60.0, gap=gap)
    for seed in range(3):
        again = solve_plan(shuffled(problem, seed), time_limit_s=60.0, gap=gap)
        assert again == plan


def test_a_wanted_crop_is_grown_and_an_unwanted_one_is_not() -> None:
    problem = small_garden(3)
    free = exact(problem)
    for variety in problem.varieties:
        for wanted in (True, False):
            pin = Pin(variety.name, season=1, wanted=wanted)
            plan = exact(replace(problem, pins=(pin,)))
            seasons = [crop.season for crop in plan.choices()[variety.name]]
            assert (1 in seasons) == wanted
            assert plan.broken_pins == ()
            assert plan.objective >= free.objective - 1e-9
            assert allowed(plan.choices(), problem)


def test_pins_that_exclude_each_other_are_kept_as_far_as_they_can_be() -> None:
    problem = small_garden(5)
    group = [
        replace(v, group="g", distance_m=500.0, bed_m2=(1.0,), work=(0.5,))
        for v in problem.varieties
    ]
    pins = tuple(Pin(v.name, 0, "a", "distance") for v in group)
    plan = exact(replace(problem, varieties=tuple(group), pins=pins))
    assert len(plan.broken_pins) == len(pins) - 1
    kept = next(pin for pin in pins if pin not in plan.broken_pins)
    assert Crop(0, "a", "distance") in plan.choices()[kept.variety]
    best = min(
        exact(replace(problem, varieties=tuple(group), pins=(pin,))).objective for pin in pins
    )
    assert plan.objective >= best - 1e-9
    assert plan.status is PlanStatus.PROVEN


def test_planning_again_changes_nothing_when_nothing_changed() -> None:
    seeds = (3, 5, 6, 7, *range(sized(0, 3)))
    for seed, gap in itertools.product(seeds, (0.0, 0.01)):
        problem = small_garden(seed, varieties=12, horizon=4)
        plan = solve_plan(problem, time_limit_s=60.0, gap=gap)
        again = solve_plan(problem, time_limit_s=60.0, gap=gap, previous=plan.choices())
        assert again.choices() == plan.choices()
        assert again.changes == 0


def test_a_change_that_touches_nobody_leaves_the_plan_as_it_is() -> None:
    problem = small_garden(2, varieties=10, horizon=4)
    plan = exact(problem)
    stranger = replace(problem.varieties[0], name="a stranger", group="its own", most_crops=0)
    more = replace(problem, varieties=(*problem.varieties, stranger))
    again = exact(more, previous=plan.choices())
    assert again.changes == 0
    assert {n: c for n, c in again.choices().items() if n != "a stranger"} == plan.choices()


def test_after_a_failed_crop_no_more_changes_than_pay_for_themselves() -> None:
    problem = small_garden(11, varieties=10, horizon=4)
    plan = exact(problem)
    name, failed = plan.sown_in(0)[0]
    after = replace(problem, pins=(Pin(name, 0, wanted=False),))
    fresh_start = exact(after)
    again = exact(after, previous=plan.choices(), change_penalty=0.01)
    assert failed not in again.choices()[name]
    # Each change saves at least its penalty against the cheapest plan with fewer changes.
    assert again.objective + 0.01 * again.changes <= fresh_start.objective + 0.01 * sum(
        len(set(fresh_start.choices()[n]) ^ (set(c) - {failed if n == name else None}))
        for n, c in plan.choices().items()
    )
    stubborn = exact(after, previous=plan.choices(), change_penalty=10.0)
    assert stubborn.changes == 0
    assert stubborn.objective >= again.objective - 1e-9 >= fresh_start.objective - 2e-9


@pytest.mark.parametrize("seed", [3, 5, 7, 0, 1, 2][: sized(2, 6)])
def test_more_room_never_makes_a_plan_worse_nor_one_more_variety_the_others_better(
    seed: int,
) -> None:
    problem = small_garden(40 + seed, varieties=8, horizon=4)
    plan = exact(problem)
    limits = problem.limits
    for more in (replace(limits, work=3.0), replace(limits, gear=(("cage", 2.0),))):
        assert exact(replace(problem, limits=more)).objective <= plan.objective + 1e-9
    fewer = exact(replace(problem, varieties=problem.varieties[1:]))
    others = [c for c in plan.columns if c.variety != problem.varieties[0].name]
    weight = {v.name: v.weight for v in problem.varieties}
    assert sum(weight[c.variety] * c.loss for c in others) >= fewer.objective - 1e-9


def test_a_standing_biennial_takes_its_room_and_counts_for_its_variety() -> None:
    problem = small_garden(1, varieties=4)
    biennial = replace(
        problem.varieties[0], bed_m2=(4.0, 4.0), work=(0.5, 1.0), gap=2, name="standing"
    )
    garden = replace(problem, varieties=(biennial, *problem.varieties[1:]))
    way = biennial.ways[0].name
    grown = exact(replace(garden, standing=(Standing("standing", -1, "a", way),)))
    bare = exact(
        replace(garden, varieties=tuple(replace(v, most_crops=0) for v in garden.varieties))
    )
    loss = {c.variety: c.loss for c in grown.columns}
    without = {c.variety: c.loss for c in bare.columns}
    assert loss["standing"] < without["standing"]
    # The bed at "a" (4 m2) is full until it is harvested, and it is not sown again before.
    assert all(crop.site != "a" for _, crop in grown.sown_in(0))
    assert all(crop.season >= 1 for crop in grown.choices()["standing"])


def test_when_time_runs_out_the_best_plan_found_comes_with_its_gap() -> None:
    problem = small_garden(9, varieties=20, horizon=4)
    ticks = itertools.count(0.0, 1.0)  # a clock on which every look costs a second
    plan = solve_plan(problem, time_limit_s=3.0, gap=0.0, clock=lambda: next(ticks))
    best = exact(problem)
    assert allowed(plan.choices(), problem)
    assert plan.status is PlanStatus.TIME_RAN_OUT
    assert plan.bound <= best.objective <= plan.objective
    assert plan.gap == pytest.approx(1 - plan.bound / plan.cost)


def test_no_variety_makes_an_empty_plan_and_contradictions_are_refused() -> None:
    problem = small_garden(0)
    empty = exact(replace(problem, varieties=()))
    assert (empty.columns, empty.objective, empty.gap) == ((), 0.0, 0.0)
    with pytest.raises(ValueError, match="name of its own"):
        exact(replace(problem, varieties=problem.varieties * 2))
    with pytest.raises(ValueError, match="no such site"):
        exact(replace(problem, pins=(Pin("v0", site="nowhere"),)))
    with pytest.raises(ValueError, match="no such variety"):
        exact(replace(problem, pins=(Pin("nobody"),)))
    with pytest.raises(ValueError, match="gap"):
        solve_plan(problem, time_limit_s=1.0, gap=-0.1)
    with pytest.raises(ValueError, match="time limit"):
        solve_plan(problem, time_limit_s=0.0, gap=0.1)


@pytest.mark.parametrize("seed", range(8))
def test_what_is_due_is_sown_then_where_it_can_be_never_before_and_later_is_never_safer(
    seed: int,
) -> None:
    free = small_garden(seed)
    dues = [int(due) for due in np.random.default_rng(seed).integers(0, 3, len(free.varieties))]
    due = replace(
        free,
        varieties=tuple(
            replace(v, due=d, waiting=0.02) for v, d in zip(free.varieties, dues, strict=True)
        ),
    )
    plan = exact(due)
    assert plan.gap == 0.0
    for variety, column in zip(due.in_order().varieties, plan.columns, strict=True):
        assert all(crop.season >= (variety.due or 0) for crop in column.crops)
        alone = exact(replace(due, varieties=(variety,), pins=(), standing=()))
        (best,) = alone.columns
        if best.crops:  # by itself nothing hinders it
            assert best.crops[0].season == variety.due
        assert column.loss >= best.loss - 1e-9


def test_a_pin_may_have_a_crop_sown_before_it_is_due() -> None:
    problem = small_garden(1)
    name = problem.varieties[0].name
    late = replace(
        problem,
        varieties=tuple(replace(v, due=2) if v.name == name else v for v in problem.varieties),
        pins=(Pin(name, 0),),
    )
    plan = exact(late)
    assert plan.broken_pins or plan.choices()[name][0].season == 0
