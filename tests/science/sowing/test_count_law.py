"""Outside checks: scipy's binomial and negative binomial, and the same counts all listed."""

import tracemalloc
from time import process_time

import numpy as np
import pytest
from scipy import stats

from seedbank.science.sowing import plant_counts
from seedbank.science.sowing.emergence import ShiftLaw, WeightedNodes, emergence_nodes
from seedbank.science.sowing.patches import Patches
from seedbank.science.sowing.plant_counts import (
    EXACT_LIMIT,
    CountLaw,
    CountSummary,
    plants_law,
    plants_pmf,
    probability_enough,
    seedling_pmf,
    seedlings_law,
)
from seedbank.science.sowing.seed_need import seeds_to_sow, smallest_seeds

POINT, WEIGHT = np.polynomial.hermite_e.hermegauss(30)


def lot(probit: float, spread: float) -> WeightedNodes:
    viability = WeightedNodes(probit + spread * POINT, WEIGHT / WEIGHT.sum())
    return emergence_nodes(viability, ShiftLaw(0.6, 0.3))


def known(chance: float) -> WeightedNodes:
    return WeightedNodes(np.array([chance]), np.ones(1))


CHANCES = {
    "1 in 2000": known(0.0005),
    "1 in 100": known(0.01),
    "half": known(0.5),
    "nine in ten": known(0.9),
    "uncertain": lot(0.9, 0.5),
    "nearly dead": lot(-2.0, 0.8),
    "dead or alive": WeightedNodes(np.array([0.002, 0.8]), np.array([0.4, 0.6])),
}


def told(summary: CountSummary) -> np.ndarray:
    likely, whole = summary.likely, summary.range
    return np.array([summary.mean, summary.median, likely.low, likely.high, whole.low, whole.high])


@pytest.mark.parametrize("patches", [Patches(), Patches(0.06, 20), Patches(0.6, 20)])
@pytest.mark.parametrize(
    ("seeds", "several"), [(1001, 1.0), (1001, 2.5), (1001, 8.0), (2500, 1.0), (2500, 2.5)]
)
def test_many_units_are_told_as_if_every_count_were_listed(
    several: float, patches: Patches, seeds: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, chances in CHANCES.items():
        law = plants_law(chances, seeds, patches, several)
        with monkeypatch.context() as listed:
            listed.setattr(plant_counts, "EXACT_LIMIT", 10**9)
            every = plants_law(chances, seeds, patches, several)
        count = np.arange(every.knot.size)
        assert law.at_least(count) == pytest.approx(every.at_least(count), abs=0.006), name
        assert told(law.summary()) == pytest.approx(told(every.summary()), rel=0.01, abs=1), name
        for share in (0.3, 1.0):
            wanted = round(share * every.mean)
            left = every.excess(wanted)
            assert law.excess(wanted) == pytest.approx(left, rel=0.015, abs=0.01), name


@pytest.mark.parametrize("wanted", [1, 3, 40, 700])
@pytest.mark.parametrize("patches", [Patches(0.06, 20), Patches(0.6, 20)])
def test_the_seeds_found_among_many_are_enough_when_every_count_is_listed(
    wanted: int, patches: Patches, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("1 in 2000", "1 in 100", "half", "uncertain", "nearly dead", "dead or alive"):
        chances = CHANCES[name]
        confidence = 0.55 if name == "dead or alive" else 0.9
        found = smallest_seeds(chances, wanted, confidence, patches)
        if found is None or not EXACT_LIMIT < found < 8000:
            continue
        monkeypatch.setattr(plant_counts, "EXACT_LIMIT", 10**9)
        exact = probability_enough(
            chances, [int(0.99 * found) - 1, found, int(1.01 * found) + 1], wanted, patches
        )
        monkeypatch.undo()
        assert exact[0] < confidence < exact[2], name
        assert exact[1] == pytest.approx(confidence, abs=0.006), name


@pytest.mark.parametrize(("seeds", "chance"), [(40_000, 0.3), (10_000_000, 0.0002)])
def test_without_patches_any_number_is_scipys_binomial(seeds: int, chance: float) -> None:
    law, exact = plants_law(known(chance), seeds), stats.binom(seeds, chance)
    count = exact.ppf([0.001, 0.05, 0.5, 0.95, 0.999])
    assert law.at_least(count) == pytest.approx(exact.sf(count - 1), abs=1e-9)
    assert law.quantiles([0.05, 0.5, 0.95]).tolist() == exact.ppf([0.05, 0.5, 0.95]).tolist()
    assert law.mean == pytest.approx(exact.mean())
    beyond = int(count[2])
    assert law.excess(beyond) == pytest.approx(
        exact.sf(np.arange(beyond, int(count[4]) + 2000)).sum(), rel=1e-3
    )


def test_clusters_of_very_rare_plants_are_poissons_sum_of_poissons() -> None:
    # Neyman's type A shifted: plants Poisson(m), seedlings 1 + Poisson(s - 1) of each; P(0) is
    # that of no plant, P(1) that of one plant without more.
    law = plants_law(known(3e-7), 10_000_000, Patches(), 2.5)
    none = float(stats.poisson.pmf(0, 3.0))
    assert 1.0 - law.at_least(1) == pytest.approx(none, rel=1e-5)
    one = float(stats.poisson.pmf(1, 3.0) * stats.poisson.pmf(0, 1.5))
    assert law.at_least(1) - law.at_least(2) == pytest.approx(one, rel=1e-5)


def test_a_listed_law_is_its_list() -> None:
    exact = stats.nbinom(6, 0.1)
    law = CountLaw.listed(exact.pmf(np.arange(2000)))
    assert law.at_least([0, 1, 30, 1999, 5000]) == pytest.approx(
        [1.0, exact.sf(0), exact.sf(29), exact.sf(1998), 0.0], abs=1e-12
    )
    assert law.mean == pytest.approx(exact.mean())
    assert law.excess(60) == pytest.approx(exact.sf(np.arange(60, 2000)).sum())
    assert law.surely(0.9) == exact.ppf(0.1)


def test_seedlings_of_a_listed_law_are_those_of_its_list() -> None:
    few = plants_pmf(lot(0.9, 0.5), 300)
    law = seedlings_law(CountLaw.listed(few), 2.5)
    each = seedling_pmf(few, 2.5)
    assert law.at_least(400) == pytest.approx(each[400:].sum())
    many = CountLaw.listed(plants_pmf(lot(0.9, 0.5), 4000))
    stretched = told(seedlings_law(many, 2.5).summary())
    exact = told(plants_law(lot(0.9, 0.5), 4000, seedlings_per_unit=2.5).summary())
    assert stretched == pytest.approx(exact, rel=0.01)


@pytest.mark.parametrize("name", ["uncertain", "nearly dead", "dead or alive"])
def test_more_plants_or_more_surety_never_take_fewer_of_many_seeds(name: str) -> None:
    chances, patches = CHANCES[name], Patches(0.06, 20)
    for at, following in ((12, 13), (42, 43), (43, 44), (700, 701), (9_999, 10_000)):
        for low, high in ((0.5, 0.51), (0.59, 0.595)):
            fewest = smallest_seeds(chances, at, low, patches)
            more = smallest_seeds(chances, following, low, patches)
            surer = smallest_seeds(chances, at, high, patches)
            assert fewest is not None
            assert more is not None
            assert surer is not None
            assert fewest < more
            assert fewest <= surer


@pytest.mark.parametrize("available", [30_000, 2_000_000_000])
@pytest.mark.parametrize("wanted", [500, 10_000_000])
@pytest.mark.parametrize("several", [1.0, 20.0])
def test_millions_take_no_more_time_or_room_than_a_packet(
    available: int, wanted: int, several: float
) -> None:
    def need(chances: WeightedNodes) -> None:
        seeds_to_sow(chances, wanted, 0.99, available, Patches(0.06, 20), several)

    for chances in (lot(0.9, 0.5), lot(-2.0, 0.8), lot(-5.0, 1.0)):
        seconds = []
        for _ in range(2):
            start = process_time()
            need(chances)
            seconds.append(process_time() - start)
        assert min(seconds) < 0.5
        tracemalloc.start()
        try:
            need(chances)
            assert tracemalloc.get_traced_memory()[1] < 50e6
        finally:
            tracemalloc.stop()
