"""Checks that the advice hangs together; the numbers behind it are checked in their own modules."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from seedbank.science.quantities import Finding, FloatArray
from seedbank.science.sowing.crop_filling import Crop
from seedbank.science.sowing.emergence import BetaShare, ShiftLaw, WeightedNodes, emergence_nodes
from seedbank.science.sowing.emergence_twice import emergence_twice
from seedbank.science.sowing.plant_counts import Patches, probability_enough
from seedbank.science.sowing.soil_warmth import SoilWarmth
from seedbank.science.sowing.sowing import (
    Seedbed,
    SeedInHand,
    advise_sowing,
    alternatives,
    sow_at_rate,
)
from seedbank.science.sowing.sowing_costs import usual_prices
from seedbank.science.sowing.sowing_layout import CellLayout, RowLayout, StationLayout
from seedbank.science.sowing.testing_first import saved_by_test
from seedbank.science.sowing.two_sowings import Bed
from seedbank.science.sowing.usual_rate import RateAdvice, advise_rate, good_lot, usual_range
from tests.by_turns import by_turns


def viability(mean: float, sd: float) -> WeightedNodes:
    point, weight = np.polynomial.hermite_e.hermegauss(100)
    return WeightedNodes(mean + sd * point, weight / weight.sum())


SEED = SeedInHand(viability(1.2, 0.3), 2000)
BED = Seedbed("row", ShiftLaw(0.9, 0.4), BetaShare(0.8, 9.2), Patches(0.06, 20), in_row_cm=5.0)


def test_a_row_is_sown_as_thickly_as_the_plants_need() -> None:
    advice = advise_sowing(SEED, BED, 60, 0.9)
    emergence = emergence_nodes(SEED.viability, ShiftLaw(0.9, 0.4), BED.pest)
    seeds = advice.need.seeds
    around = probability_enough(emergence, [seeds - 1, seeds], 60, BED.patches)
    assert around[0] < 0.9 <= around[1]
    assert isinstance(advice.layout, RowLayout)
    assert advice.layout.row_m * advice.layout.seeds_per_m == pytest.approx(seeds)


def test_each_method_gets_its_own_layout() -> None:
    station = advise_sowing(SEED, replace(BED, method="station", shift=ShiftLaw(0.4, 0.4)), 20, 0.9)
    module = advise_sowing(SEED, replace(BED, method="module", shift=ShiftLaw(0.2, 0.4)), 20, 0.9)
    assert isinstance(station.layout, StationLayout)
    assert isinstance(module.layout, CellLayout)
    assert station.need.reached == station.layout.reached
    assert module.need.seeds == module.layout.seeds


def test_no_more_cells_are_filled_than_there_are() -> None:
    bed = replace(BED, method="module", shift=ShiftLaw(0.2, 0.4))
    free, bound = (advise_sowing(SEED, replace(bed, most_cells=n), 20, 0.9) for n in (None, 24))
    assert isinstance(free.layout, CellLayout)
    assert isinstance(bound.layout, CellLayout)
    assert free.layout.cells > 24 >= bound.layout.cells
    assert bound.layout.seeds_per_cell > free.layout.seeds_per_cell


def rate_of(seed: SeedInHand, bed: Seedbed, wanted: int = 60) -> tuple[RateAdvice, float]:
    """A drilled row's rate, usual 50 to 150 a metre at 5 cm, and what a test would save."""
    law = replace(bed.shift, failure=0.08)
    good = emergence_twice(good_lot(), law, bed.pest)
    twice = emergence_twice(seed.viability, law, bed.pest)
    sown = Bed(
        twice, Crop("drilled", wanted, bed.patches), usual_prices("drilled", wanted), seed.available
    )
    rate = advise_rate(sown, seed.viability, good, usual_range("drilled", 2.5, 7.5))
    return rate, saved_by_test(rate.bed, seed.viability, law, bed.pest)


def test_the_rate_that_costs_least_is_laid_out_and_its_numbers_are_of_what_is_sown() -> None:
    rate, _ = rate_of(SEED, BED)
    advice = sow_at_rate(SEED, BED, 60, rate)
    assert isinstance(advice.layout, RowLayout)
    assert advice.need.seeds == rate.units
    assert 50 <= advice.layout.seeds_per_m <= 150
    chance = probability_enough(
        emergence_nodes(SEED.viability, BED.shift, BED.pest), rate.units, 60, BED.patches
    )
    assert advice.need.reached == pytest.approx(float(chance))


def test_too_little_seed_brings_alternatives_and_no_boast_of_saving() -> None:
    few = replace(SEED, available=60)
    rate, saved = rate_of(few, BED)
    advice = sow_at_rate(few, BED, 60, rate)
    codes = [one.code for one in alternatives(BED, rate, saved, 60)]
    assert not advice.need.attained
    assert advice.need.seeds <= 60
    assert advice.by_feel is None
    assert {"pre-germinate", "other-lot", "buy"} <= set(codes)


def test_a_doubtful_lot_is_worth_testing_and_a_known_one_is_not() -> None:
    codes = []
    for sd in (0.9, 0.02):
        seed = replace(SEED, viability=viability(0.8, sd))
        rate, saved = rate_of(seed, BED)
        codes.append([one.code for one in alternatives(BED, rate, saved, 2000)])
    assert "test-first" in codes[0]
    assert "test-first" not in codes[1]


def test_own_history_replaces_the_common_figure() -> None:
    common = advise_sowing(SEED, BED, 60, 0.9).by_feel
    own = advise_sowing(SEED, BED, 60, 0.9, seeds_per_plant_before=[9.0, 7.0, 8.0]).by_feel
    assert common is not None
    assert own is not None
    assert common.basis.code == "by-feel-usual"
    assert (own.seeds_per_plant, own.seeds) == (8.0, 480)
    assert own.seedlings_not_thinned > common.seedlings_not_thinned


def test_cold_soil_says_wait() -> None:
    too_cold = Finding("soil-unfit", {"soil_temp_c": 6.0, "side": "cold"})
    soil = SoilWarmth("cold", 3.0, 1.0, None, too_cold)
    rate, saved = rate_of(SEED, BED)
    found = alternatives(replace(BED, soil=soil), rate, saved, 2000)
    assert [one.code for one in found] == ["wait-for-warmth"]


def test_clusters_mean_more_to_thin_but_no_fewer_seeds() -> None:
    single, cluster = (
        advise_sowing(replace(SEED, seedlings_per_unit=m), BED, 60, 0.9).need for m in (1.0, 2.5)
    )
    assert single.seeds == cluster.seeds
    assert cluster.seedlings.mean == pytest.approx(2.5 * single.seedlings.mean, rel=1e-4)
    assert cluster.surplus.mean > single.surplus.mean


def test_a_lots_whole_advice_costs_hardly_more_than_scipys_count_of_one_amount() -> None:
    """Measured: as much, 6 ms. scipy: chances of 0..500 plants of 500 seeds, 100 viabilities."""

    def by_scipy() -> FloatArray:
        means = np.linspace(1.0, 3.0, 100)
        return np.asarray(stats.betabinom.pmf(np.arange(501)[:, None], 500, means, 3.0))

    advice, one_amount = by_turns(7, lambda: advise_sowing(SEED, BED, 60, 0.9), by_scipy)
    assert advice.seconds / one_amount.seconds <= 3.0


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="flung"):
        advise_sowing(SEED, replace(BED, method="flung"), 60, 0.9)
    with pytest.raises(ValueError, match="plants wanted"):
        advise_sowing(SEED, BED, 0, 0.9)


def test_who_sows_thinner_than_advised_saves_no_thinning() -> None:
    thin = advise_sowing(SEED, BED, 60, 0.9, seeds_per_plant_before=[1.0, 1.1, 1.2]).by_feel
    assert thin is not None
    assert thin.seeds_saved < 0
    assert thin.seedlings_not_thinned == 0.0
