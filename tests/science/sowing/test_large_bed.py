"""Outside checks: every count listed (``shared_bed``), and scipy's normal for known chances."""

import tracemalloc
from collections.abc import Callable
from time import process_time

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr

from seedbank.science.sowing.emergence import BetaShare, ShiftLaw, WeightedNodes
from seedbank.science.sowing.large_bed import combined_law
from seedbank.science.sowing.lot_choice import choose_lots
from seedbank.science.sowing.patches import Patches
from seedbank.science.sowing.plant_counts import CountLaw, seedlings_law
from seedbank.science.sowing.shared_bed import Bed, LotOffer, combined_pmf

POINT, WEIGHT = np.polynomial.hermite_e.hermegauss(65)
PATCHES = Patches(0.06, 20)


def offer(code: str, probit: float, spread: float, held: int = 10_000_000) -> LotOffer:
    viability = WeightedNodes(probit + spread * POINT, WEIGHT / WEIGHT.sum())
    return LotOffer(code, 2010 + ord(code) - ord("a"), viability, held)


def seconds_of(work: Callable[[], None]) -> float:
    start = process_time()
    work()
    return process_time() - start


@pytest.mark.parametrize(
    "shift", [Bed(ShiftLaw(0.5, 0.0)), Bed(ShiftLaw(0.5, 0.4)), Bed(ShiftLaw(2.5, 0.4))]
)
@pytest.mark.parametrize("seeds", [(900, 900), (3000, 2500), (300, 6000)])
@pytest.mark.parametrize("first", [offer("a", 1.2, 0.1), offer("a", 0.4, 2.0)])
def test_many_seeds_of_two_lots_are_told_as_if_every_count_were_listed(
    first: LotOffer, seeds: tuple[int, int], shift: Bed
) -> None:
    bed = Bed(shift.shift, BetaShare(2.0, 20.0), PATCHES)
    offers = [first, offer("b", 1.4, 0.15)]
    law, every = (
        combined_law(offers, seeds, bed, 800),
        CountLaw.listed(combined_pmf(offers, seeds, bed)),
    )
    assert law.at_least(np.arange(sum(seeds) + 2)) == pytest.approx(
        every.at_least(np.arange(sum(seeds) + 2)), abs=0.007
    )
    levels = [0.05, 0.25, 0.5, 0.75, 0.95]
    assert law.quantiles(levels) == pytest.approx(every.quantiles(levels), rel=0.01, abs=1)
    assert law.mean == pytest.approx(every.mean, rel=0.005)
    assert law.excess(800) == pytest.approx(every.excess(800), rel=0.01, abs=0.1)


def test_known_chances_of_millions_are_normal() -> None:
    offers = [LotOffer(code, 2020, WeightedNodes(np.array([at]), np.ones(1)), 9) for code, at in
              (("a", 0.5), ("b", 1.5))]  # fmt: skip
    law = combined_law(offers, [6_000_000, 4_000_000], Bed(ShiftLaw(0.3, 0.0)), 7_000_000)
    p, n = ndtr([0.2, 1.2]), np.array([6e6, 4e6])
    exact = stats.norm(float(p @ n), float(np.sqrt((p * (1.0 - p)) @ n)))
    # Cells are wider than so sure a count spreads, and told within a hundredth all the same.
    assert law.mean == pytest.approx(exact.mean(), rel=0.01)
    assert law.quantiles([0.05, 0.95]) == pytest.approx(exact.ppf([0.05, 0.95]), rel=0.01)


@pytest.mark.parametrize("wanted", [40, 450, 900, 20_000])
@pytest.mark.parametrize("shift", [0.5, 3.0])
def test_the_fewest_of_many_seeds_are_enough_and_no_fewer_are(wanted: int, shift: float) -> None:
    bed = Bed(ShiftLaw(shift, 0.3), BetaShare(2.0, 20.0), PATCHES)
    offers = [offer("a", 0.6, 0.6, 1700), offer("b", 1.4, 0.15)]
    fewest, more, surer = (
        choose_lots(offers, plants, bed, sure)
        for plants, sure in ((wanted, 0.9), (wanted + 1, 0.9), (wanted, 0.905))
    )
    assert fewest.attained
    assert 0.9 <= fewest.reached == pytest.approx(0.9, abs=0.002)
    assert fewest.plants.at_least(wanted) == pytest.approx(fewest.reached, abs=1e-6)
    assert fewest.sure_plants >= wanted
    sown = [sum(share.seeds for share in one.shares) for one in (fewest, more, surer)]
    assert sown[0] < sown[1]
    assert sown[0] < sown[2]
    if sown[0] < 6000:
        pmf = combined_pmf(offers, [share.seeds for share in fewest.shares], bed)
        assert pmf[wanted:].sum() == pytest.approx(0.9, abs=0.003)


@pytest.mark.parametrize("lots", [8])
@pytest.mark.parametrize("wanted", [400, 10_000_000])
def test_a_choice_among_hoards_takes_no_more_time_or_room_than_among_packets(
    lots: int, wanted: int
) -> None:
    for shift, rare in ((0.5, True), (3.0, False), (6.0, False)):
        bed = Bed(ShiftLaw(shift, 0.4), BetaShare(2.0, 20.0), PATCHES)
        offers = [offer(chr(ord("a") + at), 1.0, 0.5 + 0.1 * at) for at in range(lots)]

        def choose(bed: Bed = bed, rare: bool = rare, offers: list[LotOffer] = offers) -> None:
            plants = choose_lots(offers, wanted, bed, 0.9, 5_000_000 if rare else 0).plants
            seedlings_law(plants, 20.0).summary()

        assert seconds_of(choose) < 1.0 or seconds_of(choose) < 1.0  # the better of two
        tracemalloc.start()
        try:
            choose()
            assert tracemalloc.get_traced_memory()[1] < 100e6
        finally:
            tracemalloc.stop()
