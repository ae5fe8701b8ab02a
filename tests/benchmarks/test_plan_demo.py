"""Ten seasons of the demonstration garden: the plan against saving the oldest first.

The garden has room for every seed crop that is due, so that there both grow the same and lose the
same. What a plan is worth shows with time for three seed crops a season.
"""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from seedbank.database.engine import session_factory
from seedbank.interchange.folder.import_collection import import_collection
from seedbank.plan.inputs import gather_plan
from seedbank.science.plan.plan import solve_plan
from seedbank.science.plan.plan_problem import Crop, PlanProblem
from seedbank.upkeep.open_collection import open_collection
from tests.benchmarks.simulated import NOW, TODAY
from tests.science.plan.greedy import oldest_first
from tests.science.plan.plan_simulation import Policy, draw_luck, simulate_plan

pytestmark = pytest.mark.benchmark
SEASONS, JUDGED, LUCKS = 10, 6, 8
CROPS_A_SEASON = 3.0
DEMO = Path(__file__).parents[2] / "demo_data"


def _garden(folder: Path) -> PlanProblem:
    engine = open_collection(f"sqlite:///{folder}/demo.sqlite", now=NOW)
    with session_factory(engine)() as session:
        import_collection(session, DEMO, NOW)
        problem = gather_plan(session, today=TODAY, horizon=SEASONS + JUDGED).problem
    engine.dispose()
    return replace(problem, horizon=JUDGED, limits=replace(problem.limits, work=CROPS_A_SEASON))


def _planned(problem: PlanProblem, age: Mapping[str, float]) -> Mapping[str, tuple[Crop, ...]]:
    del age
    return solve_plan(problem, time_limit_s=30.0, gap=0.005).choices()


def test_planning_loses_fewer_of_the_demo_than_the_oldest_first(tmp_path: Path) -> None:
    problem = _garden(tmp_path)
    policies: dict[str, Policy] = {"oldest first": oldest_first, "planned": _planned}
    lost: dict[str, list[int]] = {}
    weight: dict[str, float] = {}
    for name, policy in policies.items():
        rng = np.random.default_rng(20270220)
        ages = {v.name: float(rng.integers(1, 6)) for v in problem.varieties}
        lucks = [draw_luck(rng, len(problem.varieties), SEASONS) for _ in range(LUCKS)]
        played = [simulate_plan(problem, policy, k, judged=JUDGED, ages=ages) for k in lucks]
        lost[name] = [len(p.lost) for p in played]
        weight[name] = sum(p.weight for p in played)
    total = len(problem.varieties) * LUCKS
    for name, each in lost.items():
        print(
            f"\ndemo, {name}: {sum(each)} of {total} varieties lost in {SEASONS} seasons "
            f"({each}), by weight {weight[name]:.1f}"
        )
    assert sum(lost["planned"]) < sum(lost["oldest first"])
    assert weight["planned"] < weight["oldest first"]
