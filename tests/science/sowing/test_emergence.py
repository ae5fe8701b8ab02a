"""Outside checks: closed normal-normal mixture, mpmath, Ellis & Roberts' probit shift."""

import mpmath
import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from seedbank.science.sowing.emergence import (
    BetaShare,
    ShiftLaw,
    WeightedNodes,
    compress,
    emergence_nodes,
    emergence_probability,
    share_nodes,
    shift_nodes,
    shift_of_factor,
)


def normal_viability(mean: float, sd: float, count: int = 40) -> WeightedNodes:
    point, weight = np.polynomial.hermite_e.hermegauss(count)
    return WeightedNodes(mean + sd * point, weight / weight.sum())


def test_a_published_factor_comes_back_from_its_shift() -> None:
    # Bralewski & Holubowicz 2008: radish 0.823, carrot 0.446 of laboratory germination.
    for factor in (0.823, 0.446, 0.671, 0.958):
        shift = shift_of_factor(factor)
        assert float(ndtr(ndtri(0.9) - shift)) == pytest.approx(0.9 * factor, abs=1e-12)


def test_no_shift_is_no_loss_and_a_negative_shift_raises_no_dead_seed() -> None:
    assert float(emergence_probability(1.0, -0.7)) == pytest.approx(float(ndtr(1.0)), abs=1e-15)


def test_mean_emergence_agrees_with_the_closed_form_of_two_normals() -> None:
    # E Phi(V - S) = Phi((mv - ms) / sqrt(1 + sv^2 + ss^2)); the shift is 6 sd above its bend.
    nodes = emergence_nodes(normal_viability(1.1, 0.4), ShiftLaw(1.2, 0.2))
    closed = float(ndtr((1.1 - 1.2) / np.sqrt(1 + 0.4**2 + 0.2**2)))
    assert nodes.mean == pytest.approx(closed, abs=2e-9)


def test_mean_emergence_with_a_bent_shift_pests_and_dormancy_agrees_with_mpmath() -> None:
    def inner(s: mpmath.mpf) -> mpmath.mpf:
        return mpmath.ncdf((0.9 - max(s, 0)) / mpmath.sqrt(1 + 0.3**2)) * mpmath.npdf(s, 0.3, 0.4)

    rise = mpmath.quad(inner, [-4, -1, 0, 0.5, 1.5, 4])
    expected = float(rise) * 0.8 * (1 - 0.08)
    nodes = emergence_nodes(
        normal_viability(0.9, 0.3), ShiftLaw(0.3, 0.4), BetaShare(0.8, 9.2), 0.8
    )
    assert nodes.mean == pytest.approx(expected, abs=1e-8)


def test_share_nodes_keep_the_beta_moments() -> None:
    nodes = share_nodes(BetaShare(0.48, 5.52))
    for power in (1, 2, 5):
        exact = float(mpmath.beta(0.48 + power, 5.52) / mpmath.beta(0.48, 5.52))
        assert float(nodes.weight @ nodes.value**power) == pytest.approx(exact, rel=1e-10)


def test_compressing_keeps_mean_variance_and_skew() -> None:
    rng = np.random.default_rng(3)
    value, weight = rng.beta(2, 3, 4000), rng.random(4000)
    weight /= weight.sum()
    short = compress(value, weight)
    assert short.value.size <= 192
    for power in (1, 2, 3):
        exact = float(weight @ value**power)
        assert float(short.weight @ short.value**power) == pytest.approx(exact, rel=1e-12)


def test_a_shift_far_below_zero_is_no_shift() -> None:
    nodes = shift_nodes(-9.0, 0.1)
    assert nodes.value.tolist() == [0.0]
    assert nodes.weight.tolist() == [1.0]


@pytest.mark.parametrize("factor", [0.0, -0.2, 1.01, float("nan")])
def test_factors_that_are_no_ratio_are_refused(factor: float) -> None:
    with pytest.raises(ValueError, match="field factor"):
        shift_of_factor(factor)
