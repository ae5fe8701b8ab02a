"""Costs of sowing with a second sowing counted in: properties, and simulation seed by seed."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from scipy.special import ndtr, ndtri

from seedbank.science.sowing.crop_filling import RHO_AT_A_PLACE, WAYS, Crop
from seedbank.science.sowing.emergence import (
    BetaShare,
    ShiftLaw,
    WeightedNodes,
    emergence_nodes,
)
from seedbank.science.sowing.emergence_twice import emergence_twice
from seedbank.science.sowing.patches import Patches
from seedbank.science.sowing.sowing_costs import Prices, usual_prices
from seedbank.science.sowing.testing_first import saved_by_test
from seedbank.science.sowing.two_sowings import Bed, cheapest_rate, outlook, sowing_costs

LAW = ShiftLaw(1.0, 0.43, 0.08, 0.25)
DRAWS = 24_000  # the mean cost of so many is known to about 1 %


def lot(mean: float, sd: float) -> WeightedNodes:
    point, weight = np.polynomial.hermite_e.hermegauss(21)
    return WeightedNodes(mean + sd * point, weight / weight.sum())


def bed(way: str, wanted: int = 40, mean: float = 1.2, sd: float = 0.4, law: ShiftLaw = LAW) -> Bed:
    return Bed(emergence_twice(lot(mean, sd), law), Crop(way, wanted), usual_prices(way, wanted))


def test_a_row_thinned_plant_by_plant_fills_as_the_formula_says() -> None:
    """Seedlings fall at random; the next one kept stands at least 0.6 places on."""
    rng = np.random.default_rng(1)
    for density in (0.5, 1.0, 2.0, 2.4):
        at = np.sort(rng.uniform(0.0, 20_000.0, rng.poisson(density * 20_000)))
        kept, last = 0, -np.inf
        for place in at:
            if place - last >= 0.6:
                kept, last = kept + 1, place
        filled = Crop("drilled", 1).filled(np.array(density), np.array(density))
        assert kept / 20_000 == pytest.approx(float(filled), rel=0.02)


def test_a_station_is_a_beta_binomial_and_one_sure_seed_fills_it() -> None:
    crop, rho = Crop("station", 1), RHO_AT_A_PLACE["station"]
    scale = (1.0 - rho) / rho
    for units in (1, 2, 5):
        exact = 1.0 - stats.betabinom.pmf(0, units, 0.6 * scale, 0.4 * scale)
        assert float(crop.place_filled(0.6, units)) == pytest.approx(float(exact))
    assert float(crop.place_filled(1.0, 1)) == pytest.approx(1.0)


def test_both_sowings_are_known_alike_and_share_what_they_share() -> None:
    pest = BetaShare(2.0, 20.0)
    twice = emergence_twice(lot(1.2, 0.4), LAW, pest)
    alone = emergence_nodes(lot(1.2, 0.4), LAW, pest)
    assert twice.joint.sum() == pytest.approx(1.0)
    assert np.allclose(twice.joint, twice.joint.T)
    assert twice.mean == pytest.approx(alone.mean, abs=0.002)
    spread = float(twice.weight @ (twice.value - twice.mean) ** 2)
    exact = float(alone.weight @ (alone.value - alone.mean) ** 2)
    assert spread == pytest.approx(exact, rel=0.05)
    rng = np.random.default_rng(2)
    alive = rng.normal(1.2, 0.4, 200_000)
    shared = rng.normal(1.0, np.sqrt(0.43**2 - 0.25**2), alive.size)
    one, two = (
        ndtr(alive - np.maximum(shared + rng.normal(0.0, 0.25, alive.size), 0.0))
        * np.where(rng.random(alive.size) < 0.08, 0.1, 1.0)
        * (1.0 - rng.beta(2.0, 20.0, alive.size))
        for _ in range(2)
    )
    centred = twice.value - twice.mean
    correlation = float(centred @ twice.joint @ centred) / spread
    assert correlation == pytest.approx(float(np.corrcoef(one, two)[0, 1]), abs=0.03)


@pytest.mark.parametrize("wanted", [8, 40])
@pytest.mark.parametrize("way", ["drilled", "to-stand", "station"])
def test_costs_are_what_sowing_seed_by_seed_comes_to(way: str, wanted: int) -> None:
    here = bed(way, wanted)
    rate = 3.0
    costs = sowing_costs(here, np.array([rate]))
    expected = outlook(here, rate)
    rng = np.random.default_rng(3)
    pairs = rng.choice(here.twice.joint.size, size=DRAWS, p=here.twice.joint.ravel())
    first, second = np.divmod(pairs, here.twice.value.size)
    total, again, crop, prices = 0.0, 0, here.crop, here.prices
    for one, two in zip(here.twice.value[first], here.twice.value[second], strict=True):
        filled, surplus = sown(rng, crop, wanted, rate, one)
        cost = prices.seed * rate * wanted + prices.thinning * surplus
        cost += wanted * (1.0 - float(crop.crop(filled)))
        if filled * wanted < expected.trigger - 1e-9:
            again += 1
            gaps = max(round(wanted * (1.0 - filled)), 1)
            more, too_many = sown(rng, crop, gaps, expected.again_rate, two)
            end = filled + (1.0 - filled) * more
            gained = wanted * float(crop.crop(end) - crop.crop(filled))
            cost += prices.work + prices.seed * expected.again_rate * gaps
            cost += prices.thinning * too_many - (1.0 - prices.delay) * gained
        total += cost
    assert float(costs.total[0]) == pytest.approx(total / DRAWS, rel=0.05)
    assert expected.again == pytest.approx(again / DRAWS, abs=0.05)


def sown(
    rng: np.random.Generator, crop: Crop, wanted: int, rate: float, chance: float
) -> tuple[float, float]:
    if crop.way == "station":
        scale = (1.0 - RHO_AT_A_PLACE["station"]) / RHO_AT_A_PLACE["station"]
        share = rng.beta(max(chance * scale, 1e-9), max((1 - chance) * scale, 1e-9), wanted)
        up = rng.binomial(round(rate), share)
        return float(np.mean(up > 0)), float(up.sum() - np.sum(up > 0))
    seeds = max(round(rate * wanted), 1)
    x = rng.binomial(seeds, chance) / wanted
    filled = float(crop.filled(np.array(x), np.array(seeds / wanted)))
    return filled, max(x - filled, 0.0) * wanted


@given(
    way=st.sampled_from(WAYS),
    wanted=st.integers(3, 60),
    mean=st.floats(-0.5, 2.0),
    sd=st.floats(0.05, 0.8),
)
def test_the_trigger_is_at_most_the_plants_wanted(
    way: str, wanted: int, mean: float, sd: float
) -> None:
    costs = sowing_costs(bed(way, wanted, mean, sd), np.array([1.0, 2.0, 5.0]))
    assert np.all((costs.trigger >= 0.0) & (costs.trigger <= wanted + 1e-9))
    assert np.all((costs.again >= 0.0) & (costs.again <= 1.0 + 1e-9))
    assert np.all(costs.saved >= 0.0)


@pytest.mark.parametrize("way", WAYS)
def test_poorer_seed_goes_thicker_and_dearer_seed_or_thinning_thinner(way: str) -> None:
    rates = [cheapest_rate(bed(way, mean=mean, sd=0.3)) for mean in (2.0, 1.5, 1.0, 0.5, 0.0)]
    assert rates == sorted(rates)
    for change in ("seed", "thinning"):
        usual = bed(way)
        dear = replace(usual.prices, **{change: 3.0 * getattr(usual.prices, change)})
        assert cheapest_rate(replace(usual, prices=dear)) < cheapest_rate(usual)


def test_one_seed_goes_to_a_station_where_each_comes_up() -> None:
    sure = emergence_twice(WeightedNodes(np.array([8.0]), np.ones(1)), ShiftLaw(0.0))
    here = Bed(sure, Crop("station", 20), usual_prices("station", 20))
    assert round(cheapest_rate(here)) == 1


def test_nothing_is_sown_again_after_the_window_or_without_seed() -> None:
    late = bed("drilled")
    late = replace(late, prices=late.prices.in_time(False))
    assert outlook(late, 3.0).trigger == 0.0
    assert outlook(late, 3.0).again == 0.0
    spent = replace(bed("drilled"), stock=120)
    assert outlook(spent, 3.0).trigger == 0.0


def test_two_sowings_beat_one_the_more_the_more_failures_count() -> None:
    gains = []
    for failure in (0.0, 0.1, 0.3):
        here = bed("drilled", law=replace(LAW, failure=failure))
        expected = outlook(here, 5.0)
        gains.append(expected.good_end - expected.good_first)
    assert gains == sorted(gains)
    assert gains[-1] > 0.15


def test_without_any_spread_a_tested_fresh_lot_is_hardly_ever_sown_again() -> None:
    here = bed("drilled", mean=float(ndtri(0.9)), sd=0.1, law=ShiftLaw(1.0))
    assert outlook(here, cheapest_rate(here)).again < 0.02


@given(mean=st.floats(-0.3, 1.8), step=st.floats(0.0, 0.02), way=st.sampled_from(WAYS))
def test_rates_and_costs_change_as_little_as_what_is_believed(
    mean: float, step: float, way: str
) -> None:
    one, other = (bed(way, mean=m, sd=0.4) for m in (mean, mean + step))
    first, second = (sowing_costs(b, np.array([3.0])).total[0] for b in (one, other))
    assert first == pytest.approx(second, abs=0.02 * 40 + 1e-9, rel=0.05)
    assert cheapest_rate(one) == pytest.approx(cheapest_rate(other), rel=0.08)


def test_a_test_first_saves_nothing_of_a_known_lot_and_never_costs() -> None:
    saved = []
    for sd in (0.01, 0.4, 0.9):
        here = replace(bed("drilled", mean=0.7, sd=sd), most_rate=8.8)
        saved.append(saved_by_test(here, lot(0.7, sd), LAW))
    assert saved == sorted(saved)
    assert saved[0] == pytest.approx(0.0, abs=1e-3)
    assert saved[2] > 0.3


def test_scarce_seed_is_dearer_the_less_is_left() -> None:
    prices = Prices(0.02, 0.02, 0.0, 1.0, 0.3)
    plenty = prices.of_seed(np.array([12.0]), None)
    assert prices.of_seed(np.array([12.0]), 10_000) == pytest.approx(plenty, rel=0.01)
    assert prices.of_seed(np.array([12.0]), 24)[0] > plenty[0]
    halves = prices.of_seed(np.array([12.0, 24.0]), 24)
    assert halves[1] > 2.0 * halves[0]
    fine = Prices(0.004, 0.02, 0.0, 1.0, 0.3)
    rare = [fine.of_rare(40, stock).seed for stock in (None, 100, 2_000, 20_000)]
    assert rare == [0.05, 0.05, 0.025, 0.004]


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="flung"):
        Crop("flung", 3)
    with pytest.raises(ValueError, match="plants"):
        Crop("drilled", 0, Patches())
