"""How thickly to sow, in gardens like the one believed in and in three that aren't.

Mean cost over five beds, in plants lost for each plant wanted, beside sowing by feel, the rule of
nine times in ten, the printed rates for every lot, and an oracle that knows what will come up. All
may sow the gaps again; by feel, as printed and for nine in ten at their own rate.
"""

import numpy as np
import pytest
from scipy.special import ndtr

from seedbank.science.quantities import FloatArray
from seedbank.science.sowing.lot_choice import USABLE_VIABILITY
from tests.benchmarks.sowing_worlds import BEDS, RULES, WORLDS, Played, simulate
from tests.sizes import sized

pytestmark = pytest.mark.benchmark
LOTS = sized(100, 200)  # a bed


@pytest.fixture(scope="module")
def played() -> tuple[dict[tuple[str, str, str], list[Played]], FloatArray]:
    found, lots = simulate(LOTS)
    alive = np.array([ndtr(lot.truth) for bed in BEDS for lot in lots[bed.name]])
    table = found
    for name in (*RULES, "oracle"):
        row = " ".join(f"{w} {_cost(table, name, w):.3f}" for w in WORLDS)
        own = [one for bed in BEDS for one in table[name, "own", bed.name]]
        seeds, good = np.mean([one.seeds for one in own]), np.mean([one.good for one in own])
        print(f"{name:12} {row}  seeds a plant {seeds:.1f}  good in the end {good:.3f}")
    for world in WORLDS:
        mean, error = _less_than_feel(table, world)
        beds = " ".join(f"{bed.name} {_paired(table, world, bed.name).mean():+.3f}" for bed in BEDS)
        print(f"{world:6} rule less feel {mean:+.4f} (standard error {error:.4f})  {beds}")
    return table, alive


def _costs(
    table: dict[tuple[str, str, str], list[Played]], key: tuple[str, str, str]
) -> FloatArray:
    return np.array([one.cost for one in table[key]])


def _cost(table: dict[tuple[str, str, str], list[Played]], name: str, world: str) -> float:
    return float(np.mean([_costs(table, (name, world, bed.name)).mean() for bed in BEDS]))


def _paired(table: dict[tuple[str, str, str], list[Played]], world: str, bed: str) -> FloatArray:
    return _costs(table, ("rule", world, bed)) - _costs(table, ("feel", world, bed))


def _less_than_feel(
    table: dict[tuple[str, str, str], list[Played]], world: str
) -> tuple[float, float]:
    each = [_paired(table, world, bed.name) for bed in BEDS]
    variance = sum(one.var() / one.size for one in each)
    return float(np.mean([one.mean() for one in each])), float(np.sqrt(variance) / len(BEDS))


def test_the_rule_costs_little_in_its_own_world_and_in_a_kind_one(played) -> None:
    table, _ = played
    assert _cost(table, "rule", "own") <= 0.18
    assert _cost(table, "rule", "kind") <= 0.13


def test_it_costs_a_third_less_than_buying_certainty_with_seed(played) -> None:
    table, _ = played
    for world in ("own", "kind"):
        assert _cost(table, "rule", world) <= 0.7 * _cost(table, "nine in ten", world)


def test_it_beats_sowing_by_feel_and_is_plainly_worse_nowhere(played) -> None:
    table, _ = played
    assert _cost(table, "rule", "own") <= 0.9 * _cost(table, "feel", "own")
    for world in WORLDS:
        assert _cost(table, "rule", world) <= _cost(table, "feel", world) + 0.005


def test_it_takes_no_more_seed_than_a_good_habit_and_gives_good_crops(played) -> None:
    table, alive = played
    own = [one for bed in BEDS for one in table["rule", "own", bed.name]]
    assert np.mean([one.seeds for one in own]) <= 5.0
    usable = alive >= USABLE_VIABILITY
    good = np.array([one.good for one in own])[usable]
    print(f"good crops of usable seed {good.mean():.3f} of {good.size}")
    assert good.mean() >= 0.90


def test_no_rule_does_better_than_knowing(played) -> None:
    table, _ = played
    for world in WORLDS:
        assert _cost(table, "oracle", world) < min(_cost(table, name, world) for name in RULES)
