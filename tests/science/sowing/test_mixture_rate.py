"""How much of a mixture to sow, against binomials put together by hand."""

import numpy as np
import pytest
from scipy.special import ndtr, ndtri
from scipy.stats import binom

from seedbank.science.sowing.emergence import ShiftLaw, WeightedNodes
from seedbank.science.sowing.mixture_rate import mixed_viability, mixture_rate, seeds_of_parts
from seedbank.science.sowing.shared_bed import Bed, LotOffer

STILL = Bed(ShiftLaw(0.0, 1e-9, 0.0))


def offer(alive: float) -> LotOffer:
    return LotOffer("", 0, WeightedNodes(np.array([ndtri(alive)]), np.ones(1)), 10_000)


def by_hand(alive: tuple[float, ...], seeds: tuple[int, ...], wanted: int) -> float:
    law = np.ones(1)
    for p, n in zip(alive, seeds, strict=True):
        law = np.convolve(law, binom.pmf(np.arange(n + 1), n, p))
    return float(law[wanted:].sum())


@pytest.mark.parametrize("seeds", [1, 7, 100, 999])
def test_parts_come_to_all_known_seeds_and_to_their_shares(seeds: int) -> None:
    thirds, most = seeds_of_parts([1 / 3] * 3, seeds), seeds_of_parts([0.5, 0.3], seeds)
    assert sum(thirds) == seeds
    assert max(thirds) - min(thirds) <= 1
    assert sum(most) == round(0.8 * seeds)
    assert abs(most[0] - 0.5 * seeds) < 1.0


def test_the_fewest_seeds_that_are_sure_enough_by_binomials_of_all_parts() -> None:
    alive, shares = (0.9, 0.4), (0.25, 0.75)
    found = mixture_rate([offer(p) for p in alive], shares, STILL, 30, 0.9, 1000)
    assert found.reached == pytest.approx(by_hand(alive, found.of_parts, 30), abs=1e-6)
    assert found.reached >= 0.9
    fewer = by_hand(alive, seeds_of_parts(shares, found.seeds - 1), 30)
    assert fewer < 0.9
    assert sum(found.of_parts) == found.seeds


def test_what_is_not_known_gives_no_plant() -> None:
    known = mixture_rate([offer(0.8)], [1.0], STILL, 40, 0.9, 1000)
    half = mixture_rate([offer(0.8)], [0.5], STILL, 40, 0.9, 1000)
    assert half.seeds == pytest.approx(2 * known.seeds, abs=2)


def test_where_all_there_is_will_not_do_all_is_sown() -> None:
    found = mixture_rate([offer(0.5)], [1.0], STILL, 40, 0.9, 50)
    assert (found.seeds, found.enough) == (50, False)
    assert 0.0 < found.reached < 0.9


def test_more_seed_in_the_packet_is_never_worse() -> None:
    bed = Bed(ShiftLaw(-0.4, 0.5, 0.0))
    offers = [offer(0.9), offer(0.3)]
    found = [mixture_rate(offers, [0.6, 0.4], bed, 20, 0.9, most) for most in range(5, 160, 9)]
    reached = [min(one.reached, 0.9) for one in found]
    assert np.all(np.diff(reached) > -5e-3)  # a part is there by whole seeds
    enough = [one.seeds for one in found if one.enough]
    assert enough
    assert max(enough) - min(enough) <= 1


def test_a_mixture_is_as_alive_as_its_parts_by_their_shares() -> None:
    point, weight = np.polynomial.hermite_e.hermegauss(31)
    weight = weight / weight.sum()
    parts = [WeightedNodes(mean + 0.4 * point, weight) for mean in (1.2, -0.3, 0.5)]
    shares = (0.5, 0.3, 0.1)  # a tenth of it nobody knows
    mixed = mixed_viability(parts, shares)
    alive = ndtr(mixed.value)
    means = [float(part.weight @ ndtr(part.value)) for part in parts]
    squares = [float(part.weight @ ndtr(part.value) ** 2) for part in parts]
    mean = sum(share * m for share, m in zip(shares, means, strict=True))
    variance = sum(
        share**2 * (square - m**2) for share, square, m in zip(shares, squares, means, strict=True)
    )
    assert float(mixed.weight @ alive) == pytest.approx(mean, abs=1e-4)
    assert float(mixed.weight @ alive**2) - mean**2 == pytest.approx(variance, abs=1e-4)


def test_living_seed_mixed_with_dead_loses_no_more_to_a_bed_than_living_seed() -> None:
    sure = np.ones(1)
    parts = [WeightedNodes(np.array([2.0]), sure), WeightedNodes(np.array([-6.0]), sure)]
    found = mixed_viability(parts, (0.75, 0.25), 0.9)
    comes_up = float(found.weight @ ndtr(found.value - 0.9))
    assert comes_up == pytest.approx(0.75 * ndtr(2.0 - 0.9), abs=1e-4)
    weak = ndtr(ndtri(0.75 * ndtr(2.0)) - 0.9)  # of a lot as much alive
    assert comes_up > 1.2 * weak
