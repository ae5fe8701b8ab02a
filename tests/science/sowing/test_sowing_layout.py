"""Outside checks: scipy's binomial, and a cereal seed-rate worked example."""

import numpy as np
import pytest
from scipy import stats

from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.sowing_layout import (
    CellBounds,
    ThousandSeedWeight,
    lay_out_bed,
    lay_out_cells,
    lay_out_row,
    lay_out_stations,
    places_filled,
    seed_grams,
    sure_places,
)

HALF = WeightedNodes(np.array([0.5]), np.ones(1))


def test_the_cereal_worked_example_gives_168_kg_a_hectare() -> None:
    # Teagasc: 280 plants/m2 x 50.9 g TSW / 85 % establishment = 168 kg/ha.
    seeds = round(280 * 10_000 / 0.85)
    bed = lay_out_bed(seeds, 280 * 10_000, 280.0)
    assert bed.area_m2 == pytest.approx(10_000)
    grams = seed_grams(seeds, ThousandSeedWeight(50.9, 45.0, 55.0))
    assert grams.typical_g / 1000 == pytest.approx(168, abs=0.5)


def test_a_row_says_the_same_thing_three_ways() -> None:
    row = lay_out_row(120, 40, 5.0)
    assert row.row_m == pytest.approx(2.0)
    assert row.seeds_per_m == pytest.approx(60.0)
    assert row.cm_between_seeds == pytest.approx(100.0 / 60.0)


def test_stations_take_the_fewest_seeds_that_fill_nineteen_in_twenty() -> None:
    plan = lay_out_stations(HALF, 20)
    filled = 1 - 0.5 ** np.arange(1, 16)
    enough = stats.binom.sf(18, 20, filled) >= 0.9
    assert plan.seeds_per_station == 1 + int(np.argmax(enough))
    assert plan.attained
    assert plan.reached == pytest.approx(stats.binom.sf(18, 20, filled[plan.seeds_per_station - 1]))


def test_patches_within_a_station_ask_for_more_seed() -> None:
    assert lay_out_stations(HALF, 20, rho=0.2).seeds_per_station > (
        lay_out_stations(HALF, 20).seeds_per_station
    )
    alone = stats.betabinom.pmf(0, 4, 0.5 * 4, 0.5 * 4)
    got = places_filled(HALF, 10, 4, 9, 0.2)
    assert got == pytest.approx(stats.binom.sf(8, 10, 1 - alone), abs=1e-12)


def test_stations_without_seed_enough_say_so() -> None:
    plan = lay_out_stations(HALF, 20, available=45)
    assert (plan.attained, plan.seeds_per_station, plan.seeds) == (False, 2, 40)


def test_cells_take_the_least_seed() -> None:
    plan = lay_out_cells(HALF, 10, bounds=CellBounds(cells=100))
    cells = np.arange(10, 60)
    assert plan.seeds_per_cell == 1
    assert plan.cells == 10 + int(np.argmax(stats.binom.sf(9, cells, 0.5) >= 0.9))


def test_few_cells_are_filled_by_sowing_more_in_each() -> None:
    plan = lay_out_cells(HALF, 10, bounds=CellBounds(cells=12))
    per_cell = np.arange(1, 7)
    enough = stats.binom.sf(9, 12, 1 - 0.5**per_cell) >= 0.9
    assert plan.attained
    assert plan.cells <= 12
    assert plan.seeds_per_cell >= 1 + int(np.argmax(enough))


def test_sure_places_is_the_binomial_quantile() -> None:
    sure = sure_places(HALF, 30, 1, 0.9, 0.0)
    assert stats.binom.sf(sure - 1, 30, 0.5) >= 0.9 > stats.binom.sf(sure, 30, 0.5)


def test_a_mixture_of_lots_of_emergence_is_mixed_before_the_quantile() -> None:
    nodes = WeightedNodes(np.array([0.3, 0.9]), np.array([0.25, 0.75]))
    exact = 0.25 * stats.binom.sf(4, 8, 0.3) + 0.75 * stats.binom.sf(4, 8, 0.9)
    assert places_filled(nodes, 8, 1, 5, 0.0) == pytest.approx(exact, abs=1e-13)


def test_fewer_seeds_than_stations_leave_stations_empty() -> None:
    good = WeightedNodes(np.array([0.98]), np.ones(1))
    plan = lay_out_stations(good, 20, available=18)
    assert (plan.stations, plan.seeds_per_station, plan.seeds) == (18, 1, 18)
    # 19 of the 20 stations can't be filled by 18 seeds.
    assert (plan.reached, plan.attained) == (0.0, False)
    assert plan.filled.high == 18
    just = lay_out_stations(good, 20, available=19)
    assert just.reached == pytest.approx(0.98**19)
