import numpy as np
import pytest

from seedbank.science.quantities import grams_from_seeds, seeds_from_grams


def test_ten_grams_at_four_grams_a_thousand_are_2500_seeds() -> None:
    seeds, se = seeds_from_grams(10.0, 4.0, 0.2)
    assert seeds == pytest.approx(2500.0)
    assert se == pytest.approx(125.0)  # 0.2/4 = 5 % of 2500


def test_the_error_agrees_with_repeated_draws_of_the_thousand_seed_weight() -> None:
    rng = np.random.default_rng(1)
    drawn = 1000.0 * 10.0 / rng.normal(4.0, 0.2, 400_000)
    _, se = seeds_from_grams(10.0, 4.0, 0.2)
    # The first-order error is low by about 4 (0.05)^2 = 1 % here; the draws add 0.1 %.
    assert np.std(drawn) == pytest.approx(float(se), rel=0.02)


def test_arrays_of_lots_broadcast() -> None:
    seeds, se = seeds_from_grams([1.0, 2.0], [1.0, 4.0], 0.1)
    np.testing.assert_allclose(seeds, [1000.0, 500.0])
    np.testing.assert_allclose(se, [100.0, 12.5])


def test_no_weight_is_no_seeds_without_error() -> None:
    assert seeds_from_grams(0.0, 4.0, 1.0) == (0.0, 0.0)


def test_grams_and_seeds_convert_there_and_back() -> None:
    seeds, _ = seeds_from_grams([0.3, 7.0], 2.9)
    np.testing.assert_allclose(grams_from_seeds(seeds, 2.9), [0.3, 7.0])


@pytest.mark.parametrize(
    ("grams", "tsw_g", "tsw_se_g"),
    [(-1, 4, 0), (1, 0, 0), (1, -4, 0), (1, 4, -1), (np.nan, 4, 0), (1, np.inf, 0), (1, 4, np.nan)],
)
def test_impossible_weights_are_refused(grams: float, tsw_g: float, tsw_se_g: float) -> None:
    with pytest.raises(ValueError, match="must be"):
        seeds_from_grams(grams, tsw_g, tsw_se_g)
