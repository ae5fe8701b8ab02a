"""Outside checks: brute search with scipy's binomial, the probit model's old-lot property."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from scipy.special import ndtri

from seedbank.science.sowing.emergence import ShiftLaw, WeightedNodes, emergence_nodes
from seedbank.science.sowing.plant_counts import Patches, probability_enough
from seedbank.science.sowing.seed_need import seeds_to_sow, smallest_seeds


def sure(viability: float) -> WeightedNodes:
    return WeightedNodes(np.array([float(ndtri(viability))]), np.ones(1))


@settings(max_examples=60, deadline=None)
@given(st.floats(0.05, 0.99), st.integers(1, 60), st.floats(0.5, 0.99))
def test_the_smallest_number_is_the_smallest(chance: float, wanted: int, level: float) -> None:
    nodes = WeightedNodes(np.array([chance]), np.ones(1))
    found = smallest_seeds(nodes, wanted, level)
    assert found is not None
    assert stats.binom.sf(wanted - 1, found, chance) >= level - 1e-9
    assert stats.binom.sf(wanted - 1, found - 1, chance) < level + 1e-9


def test_the_smallest_number_is_found_with_patches_and_uncertainty_by_full_scan() -> None:
    point, weight = np.polynomial.hermite_e.hermegauss(30)
    nodes = emergence_nodes(
        WeightedNodes(0.8 + 0.4 * point, weight / weight.sum()), ShiftLaw(0.7, 0.3)
    )
    patches = Patches(0.08, 20)
    scan = probability_enough(nodes, np.arange(20, 200), 20, patches)
    assert np.all(np.diff(scan) > -1e-12)
    first = 20 + int(np.argmax(scan >= 0.9))
    assert smallest_seeds(nodes, 20, 0.9, patches) == first


def test_an_old_lot_needs_more_than_its_towel_ratio_under_stress() -> None:
    # Ellis & Roberts 1981: the same stress in probits takes more of a 70 % lot than of a 95 %.
    fresh = seeds_to_sow(emergence_nodes(sure(0.95), ShiftLaw(1.0, 0.0)), 50).seeds
    old = seeds_to_sow(emergence_nodes(sure(0.70), ShiftLaw(1.0, 0.0)), 50).seeds
    assert old / fresh > 1.5 * (0.95 / 0.70)
    kind_fresh = seeds_to_sow(emergence_nodes(sure(0.95), ShiftLaw(0.0, 0.0)), 50).seeds
    kind_old = seeds_to_sow(emergence_nodes(sure(0.70), ShiftLaw(0.0, 0.0)), 50).seeds
    assert kind_old / kind_fresh == pytest.approx(0.95 / 0.70, rel=0.08)


def test_a_lot_too_small_says_what_it_can_give() -> None:
    nodes = emergence_nodes(sure(0.6), ShiftLaw(0.5, 0.0))
    chance = float(stats.norm.cdf(ndtri(0.6) - 0.5))
    need = seeds_to_sow(nodes, 30, 0.9, available=40)
    assert not need.attained
    assert need.seeds == 40
    assert need.reached == pytest.approx(stats.binom.sf(29, 40, chance), abs=1e-10)
    assert stats.binom.sf(need.sure_plants - 1, 40, chance) >= 0.9
    assert stats.binom.sf(need.sure_plants, 40, chance) < 0.9


def test_dead_seed_gives_none_however_much_is_sown() -> None:
    dead = WeightedNodes(np.zeros(1), np.ones(1))
    need = seeds_to_sow(dead, 5, available=100)
    assert (need.attained, need.reached, need.sure_plants) == (False, 0.0, 0)


def test_surplus_is_seedlings_past_the_plants_wanted() -> None:
    nodes = WeightedNodes(np.array([0.5]), np.ones(1))
    need = seeds_to_sow(nodes, 20)
    count = np.arange(need.seeds + 1)
    expected = stats.binom.pmf(count, need.seeds, 0.5) @ np.maximum(count - 20, 0)
    assert need.surplus.mean == pytest.approx(expected, abs=1e-9)
    assert need.surplus.range.low == max(need.seedlings.range.low - 20, 0)


@pytest.mark.parametrize("confidence", [0.0, 1.0, 1.2])
def test_a_confidence_outside_0_to_1_is_refused(confidence: float) -> None:
    with pytest.raises(ValueError, match="confidence"):
        smallest_seeds(sure(0.9), 10, confidence)


@settings(max_examples=40, deadline=None)
@given(
    st.floats(-1.0, 2.5),
    st.floats(0.0, 0.8),
    st.integers(1, 40),
    st.floats(0.5, 0.98),
    st.sampled_from([Patches(0.0, 20), Patches(0.08, 20)]),
)
def test_more_plants_more_surety_or_worse_seed_never_take_fewer_seeds(
    mean: float, spread: float, wanted: int, confidence: float, patches: Patches
) -> None:
    point, weight = np.polynomial.hermite_e.hermegauss(20)

    def lot(probit: float) -> WeightedNodes:
        return emergence_nodes(
            WeightedNodes(probit + spread * point, weight / weight.sum()), ShiftLaw(0.4, 0.2)
        )

    def needed(probit: float, plants: int, sure: float) -> float:
        found = smallest_seeds(lot(probit), plants, sure, patches)
        return np.inf if found is None else found

    usual = needed(mean, wanted, confidence)
    assert usual >= wanted
    assert needed(mean, wanted + 1, confidence) > usual or usual == np.inf
    assert needed(mean, wanted, min(confidence + 0.01, 0.99)) >= usual
    assert needed(mean - 0.2, wanted, confidence) >= usual
