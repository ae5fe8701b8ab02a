"""Held against the exact chance of loss, and against seasons played by hand."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from seedbank.science.plan.plan_problem import Crop, PlanLimits, PlanProblem, PlanSite, PlanVariety
from tests.science.plan.plan_simulation import Luck, draw_luck, simulate_plan
from tests.science.plan.small_gardens import lost

SEASONS = 4


def one_variety(lead: int) -> PlanProblem:
    variety = PlanVariety(
        "v",
        "g",
        np.linspace(0.9, 0.3, SEASONS + 3),
        np.linspace(0.95, 0.4, SEASONS + 3),
        failure=0.3,
        bed_m2=(1.0,) * lead,
        work=(1.0,) * lead,
    )
    return PlanProblem((variety,), (PlanSite("a", 10.0),), PlanLimits(10.0), 2)


@pytest.mark.parametrize(("lead", "sown"), [(1, (0, 2)), (1, (1,)), (2, (0, 2)), (2, (1,))])
def test_seasons_played_lose_as_often_as_the_exact_chance_says(
    lead: int, sown: tuple[int, ...]
) -> None:
    problem = one_variety(lead)
    rng = np.random.default_rng(20270303)
    runs, gone = 3000, 0
    for _ in range(runs):
        calendar = iter(range(SEASONS))

        def fixed(_: PlanProblem, __: Mapping[str, float], calendar=calendar):  # type: ignore[no-untyped-def]
            return {"v": (Crop(0, "a", "distance"),) if next(calendar) in sown else ()}

        gone += len(simulate_plan(problem, fixed, draw_luck(rng, 1, SEASONS), judged=2).lost)
    variety = problem.varieties[0]
    cut = replace(
        variety, existing=variety.existing[: SEASONS + 1], fresh=variety.fresh[: SEASONS + 1]
    )
    judged = replace(problem, varieties=(cut,), horizon=SEASONS)
    exact = lost(cut, tuple(Crop(y, "a", "distance") for y in sown), judged)
    assert gone / runs == pytest.approx(exact, abs=4 * np.sqrt(exact * (1 - exact) / runs))


def test_a_failed_crop_shows_its_lot_was_alive_and_a_dead_lot_is_known_dead() -> None:
    problem = one_variety(1)
    curve = problem.varieties[0].existing
    seen: list[np.ndarray] = []

    def always(now: PlanProblem, _: Mapping[str, float]) -> dict[str, tuple[Crop, ...]]:
        seen.append(now.varieties[0].existing)
        return {"v": (Crop(0, "a", "distance"),)}

    # The lot can until its curve falls below 0.75; every crop fails.
    luck = Luck(np.array([0.75]), np.zeros((1, SEASONS)), np.zeros((1, SEASONS)))
    played = simulate_plan(problem, always, luck, judged=2)
    assert seen[0] == pytest.approx(curve[:3])
    assert seen[1] == pytest.approx(curve[1:4] / curve[0])
    assert seen[2] == pytest.approx(curve[2:5] / curve[1])
    assert seen[3] == pytest.approx(np.zeros(3))
    assert played.lost == ("v",)
    assert played.by_season == (0, 1, 1, 1)


def test_a_biennial_stands_through_its_second_season() -> None:
    problem = one_variety(2)
    standing = []

    def once(now: PlanProblem, _: Mapping[str, float]) -> dict[str, tuple[Crop, ...]]:
        standing.append([crop.season for crop in now.standing])
        return {"v": (Crop(0, "a", "distance"),)} if len(standing) == 1 else {}

    luck = Luck(np.array([0.8]), np.zeros((1, SEASONS)), np.ones((1, SEASONS)))
    played = simulate_plan(problem, once, luck, judged=2)
    assert standing == [[], [-1], [], []]
    assert (played.lost, played.crops) == ((), 1)


def test_the_same_luck_plays_the_same_and_short_curves_are_refused() -> None:
    problem = one_variety(1)
    luck = draw_luck(np.random.default_rng(1), 1, SEASONS)
    never = lambda now, age: {}  # noqa: ARG005, E731
    assert simulate_plan(problem, never, luck, judged=2) == simulate_plan(
        problem, never, luck, judged=2
    )
    with pytest.raises(ValueError, match="must reach"):
        simulate_plan(problem, never, luck, judged=9)
