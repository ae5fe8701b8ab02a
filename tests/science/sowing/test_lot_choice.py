"""Outside checks: convolution of scipy binomials; brute-force mixture over the shared shift."""

import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr

from seedbank.science.sowing import lot_choice, shared_bed
from seedbank.science.sowing.emergence import (
    BetaShare,
    ShiftLaw,
    WeightedNodes,
    emergence_nodes,
    emergence_probability,
    share_nodes,
    shift_nodes,
)
from seedbank.science.sowing.lot_choice import choose_lots
from seedbank.science.sowing.plant_counts import NO_PATCHES, Patches, plants_pmf
from seedbank.science.sowing.shared_bed import Bed, LotOffer, combined_pmf


def hermite(mean: float, sd: float) -> WeightedNodes:
    point, weight = np.polynomial.hermite_e.hermegauss(30)
    return WeightedNodes(mean + sd * point, weight / weight.sum())


def sure(probit: float) -> WeightedNodes:
    return WeightedNodes(np.array([probit]), np.ones(1))


def test_two_known_lots_add_as_a_convolution() -> None:
    offers = [LotOffer("a", 2018, sure(0.4), 30), LotOffer("b", 2022, sure(1.4), 30)]
    got = combined_pmf(offers, [12, 20], Bed(ShiftLaw(0.5, 0.0)))
    one = stats.binom.pmf(np.arange(13), 12, ndtr(-0.1))
    two = stats.binom.pmf(np.arange(21), 20, ndtr(0.9))
    assert np.abs(got - np.convolve(one, two)).max() < 1e-13


def test_the_shift_is_shared_by_all_lots() -> None:
    offers = [
        LotOffer("a", 2018, hermite(0.5, 0.2), 30),
        LotOffer("b", 2022, hermite(1.3, 0.2), 30),
    ]
    got = combined_pmf(offers, [15, 25], Bed(ShiftLaw(0.8, 0.4)))
    shifts = np.linspace(-1.6, 3.2, 801)
    exact, total = np.zeros(41), 0.0
    for shift in shifts:
        parts = [
            offer.viability.weight
            @ stats.binom.pmf(
                np.arange(n + 1), n, ndtr(offer.viability.value - max(shift, 0.0))[:, None]
            )
            for offer, n in zip(offers, (15, 25), strict=True)
        ]
        weight = stats.norm.pdf(shift, 0.8, 0.4)
        exact += weight * np.convolve(*parts)
        total += weight
    assert np.abs(got - exact / total).max() < 1e-5
    apart = np.convolve(
        *[
            plants_pmf(emergence_nodes(offer.viability, ShiftLaw(0.8, 0.4)), n)
            for offer, n in zip(offers, (15, 25), strict=True)
        ]
    )
    count = np.arange(41)
    variance = [float(p @ (count - p @ count) ** 2) for p in (got, apart)]
    assert variance[0] > 1.2 * variance[1]


def test_the_oldest_usable_lot_is_sown_first_and_the_next_only_as_needed() -> None:
    offers = [
        LotOffer("young", 2023, hermite(1.5, 0.2), 200),
        LotOffer("old", 2016, hermite(0.6, 0.2), 40),
        LotOffer("dead", 2004, hermite(-1.5, 0.2), 90),
    ]
    choice = choose_lots(offers, 40, Bed(ShiftLaw(0.5, 0.2)))
    split = {share.code: share.seeds for share in choice.shares}
    assert split["old"] == 40
    assert split["dead"] == 0
    assert choice.attained
    ordered = [offers[1], offers[0]]
    fewer = combined_pmf(ordered, [40, split["young"] - 1], Bed(ShiftLaw(0.5, 0.2)))
    assert fewer[40:].sum() < 0.9 <= choice.reached


def test_a_rare_variety_keeps_its_reserve_in_the_youngest_seed() -> None:
    offers = [LotOffer("a", 2018, sure(0.5), 60), LotOffer("b", 2022, sure(1.2), 100)]
    choice = choose_lots(offers, 100, Bed(ShiftLaw(0.5, 0.1)), reserve=80)
    split = {share.code: share.seeds for share in choice.shares}
    assert split == {"a": 60, "b": 20}
    assert not choice.attained
    assert choice.kept_back == 80
    common = choose_lots(offers, 100, Bed(ShiftLaw(0.5, 0.1)))
    assert {share.code: share.seeds for share in common.shares} == {"a": 60, "b": 100}


def test_a_reserve_larger_than_the_stock_leaves_nothing_to_sow() -> None:
    choice = choose_lots([LotOffer("a", 2018, sure(0.5), 60)], 5, Bed(ShiftLaw(0.5, 0.1)), 0.9, 90)
    assert (choice.shares[0].seeds, choice.reached, choice.sure_plants) == (0, 0.0, 0)
    assert choice.shares[0].reason.code == "lot-kept-as-reserve"


def test_no_lots_and_negative_reserves_are_refused() -> None:
    with pytest.raises(ValueError, match="at least one lot"):
        choose_lots([], 5, Bed(ShiftLaw(0.5, 0.1)))
    with pytest.raises(ValueError, match="reserve"):
        choose_lots([LotOffer("a", 2018, sure(0.5), 60)], 5, Bed(ShiftLaw(0.5, 0.1)), reserve=-1)


@pytest.mark.parametrize("patches", [NO_PATCHES, Patches(0.06, 20), Patches(0.1)])
@pytest.mark.parametrize("seeds", [(2, 1), (15, 40), (250, 0), (330, 90)])
def test_a_grid_of_chances_gives_what_every_chance_by_itself_gives(
    seeds: tuple[int, int], patches: Patches
) -> None:
    # The same mixture, each node of viability carried through by itself.
    offers = [
        LotOffer("a", 2018, hermite(0.4, 0.5), 400),
        LotOffer("b", 2022, hermite(1.4, 0.15), 400, ready=0.8),
    ]
    bed = Bed(ShiftLaw(0.9, 0.6), BetaShare(2.0, 20.0), patches)
    got = combined_pmf(offers, seeds, bed)
    shift, pest = shift_nodes(0.9, 0.6, 16), share_nodes(bed.pest, 4)
    exact = np.zeros(sum(seeds) + 1)
    for here, often in zip(shift.value, shift.weight, strict=True):
        for eaten, share in zip(pest.value, pest.weight, strict=True):
            parts = []
            for offer, count in zip(offers, seeds, strict=True):
                risen = emergence_probability(offer.viability.value, here, offer.ready)
                known = WeightedNodes(risen * (1.0 - eaten), offer.viability.weight)
                parts.append(plants_pmf(known, count, patches))
            exact += often * share * np.convolve(*parts)
    assert np.abs(np.cumsum(got) - np.cumsum(exact)).max() < 3e-5


def test_the_fewest_seeds_of_the_last_lot_are_found_among_many() -> None:
    offers = [
        LotOffer("old", 2018, hermite(0.2, 0.4), 120),
        LotOffer("young", 2022, hermite(1.4, 0.15), 900),
    ]
    bed = Bed(ShiftLaw(0.9, 0.6), BetaShare(2.0, 20.0), Patches(0.06, 20))
    choice = choose_lots(offers, 90, bed)
    assert choice.attained
    last = choice.shares[1].seeds
    assert 0 < last < 900
    for more, enough in ((0, True), (-1, False)):
        reached = combined_pmf(offers, [120, last + more], bed)[90:].sum()
        assert bool(reached >= 0.9) is enough


def large(units: int) -> list[LotOffer]:
    old = LotOffer("old", 2018, WeightedNodes(np.array([0.2, 0.9]), np.array([0.5, 0.5])), units)
    return [old, replace(old, code="young", harvest_year=2024)]


@pytest.mark.parametrize(("wanted", "units"), [(900, 3000), (2500, 6000), (7000, 9000)])
def test_seed_counted_in_bundles_comes_to_nearly_the_same(
    wanted: int, units: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The bundles against every unit counted by itself, the method the other tests check.
    bed = Bed(ShiftLaw(0.5, 0.4), patches=Patches(0.05, 50))
    bundled = choose_lots(large(units), wanted, bed)
    for module in (lot_choice, shared_bed):
        monkeypatch.setattr(module, "MOST_EXACT", 10**9)
    exact = choose_lots(large(units), wanted, bed)
    assert bundled.reached == pytest.approx(exact.reached, abs=0.01)
    for one, whole in zip(bundled.shares, exact.shares, strict=True):
        assert one.seeds == pytest.approx(whole.seeds, rel=0.01, abs=10)


@pytest.mark.parametrize("wanted", [40, 4_000, 5_000_000])
def test_a_hoard_of_seed_takes_no_more_room_than_a_packet(wanted: int) -> None:
    tracemalloc.start()
    try:
        choice = choose_lots(
            large(10_000_000), wanted, Bed(ShiftLaw(0.5, 0.4), patches=Patches(0.05, 50))
        )
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert choice.attained
    assert choice.reached >= choice.confidence
    # Where millions are wanted the probabilities of so many plants are the answer itself.
    sown = sum(share.seeds for share in choice.shares)
    assert peak < 150e6 + 2 * 8 * sown
