"""Which way a lot's own band may move: down with time, up with each seed more alive.

Random lots, the law of lam from other lots held fixed; 20,000 of them in full. What holds of any
lot is the day of the test itself, and of the latest test every later day too. An earlier test
that came out better means a steeper fall where a later one stays as it is, so that days after
both may well go down: that is the right answer, and shown below (of 20,000 lots by 8.7 points at
most). So may days before a test: of 20,000 lots with one test, asked at any dose, 17 of 100,000
ends were lowered, the most by 1.8 points, of lots that fell so far that only a very short life
explains it, or a poor start.
"""

import numpy as np
from numpy.typing import NDArray

from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors, fit_posterior
from tests.sizes import sized

Floats = NDArray[np.float64]
LOTS = sized(600, 20_000)
ENDS = (0.05, 0.25, 0.5, 0.75, 0.95)
EXACT = 2e-5  # of viability: how closely an end is found


def random_lots(seed: int, tests: int) -> tuple[Priors, Floats, Floats, Floats, Floats]:
    """Priors, and doses, viable, seeds and correlation of up to ``tests`` tests, (L, J)."""
    rng = np.random.default_rng(seed)
    priors = Priors(
        rng.uniform(0.8, 2.2, LOTS), rng.uniform(0.3, 0.9, LOTS),
        rng.uniform(0.3, 1.2, LOTS), rng.normal(0.0, 0.5, LOTS),
    )  # fmt: skip
    dose = np.sort(rng.uniform(0.0, 3.0, (LOTS, tests)), axis=1)
    number = rng.integers(1, tests + 1, LOTS)
    seeds = rng.choice([5, 10, 20, 25, 50, 100, 400], (LOTS, tests)).astype(np.float64)
    seeds *= np.arange(tests) < number[:, None]
    viable = np.floor(rng.uniform(size=(LOTS, tests)) ** 0.6 * (seeds + 1)).clip(0, seeds)
    rho = rng.choice([0.003, 0.012, 0.05, 0.2], (LOTS, 1)) * np.ones(tests)
    return priors, dose, viable, seeds, rho


def one_more_alive(viable: Floats, seeds: Floats) -> tuple[Floats, NDArray[np.int64]]:
    """The counts with one seed more alive in one test of each lot, and which test that is."""
    rng = np.random.default_rng(77)
    place = rng.integers(0, np.count_nonzero(seeds, axis=1))
    more = viable.copy()
    lots = np.arange(viable.shape[0])
    more[lots, place] = np.minimum(more[lots, place] + 1, seeds[lots, place])
    return more, place


def ends(priors: Priors, tests: tuple[Floats, Floats, Floats, Floats], dose: Floats) -> Floats:
    seen = fit_posterior(priors, Observations.of_tests(*tests), dose, kept=False)
    return seen.quantile(ENDS, dose)


def test_a_band_never_rises_from_a_day_to_a_later_one() -> None:
    priors, dose, viable, seeds, rho = random_lots(1, 3)
    rng = np.random.default_rng(2)
    early = rng.uniform(0.0, 3.0, LOTS)
    late = early + rng.choice([1e-4, 0.01, 0.1, 1.0, 4.0], LOTS)
    tests = dose, viable, seeds, rho
    rise = ends(priors, tests, late) - ends(priors, tests, early)
    assert rise.max() <= EXACT


def test_a_seed_more_alive_never_lowers_the_band_on_the_day_of_its_test() -> None:
    priors, dose, viable, seeds, rho = random_lots(3, 3)
    more, place = one_more_alive(viable, seeds)
    that_day = dose[np.arange(LOTS), place]
    before, after = (ends(priors, (dose, each, seeds, rho), that_day) for each in (viable, more))
    assert (before - after).max() <= EXACT


def test_a_seed_more_alive_in_the_only_test_lowers_no_later_day() -> None:
    priors, dose, viable, seeds, rho = random_lots(5, 1)
    more, _ = one_more_alive(viable, seeds)
    asked = dose[:, 0] + np.random.default_rng(6).uniform(0.0, 3.0, LOTS)
    before, after = (ends(priors, (dose, each, seeds, rho), asked) for each in (viable, more))
    assert (before - after).max() <= EXACT


def test_an_earlier_test_that_came_out_better_means_a_steeper_fall() -> None:
    # 25 of 50 at dose 1 either way: from 49 of 50 at dose 0.1 it fell there faster than from 30.
    one = np.ones(1)
    priors = Priors(1.5 * one, 0.8 * one, 1.0 * one, 0.0 * one)
    seeds, rho = np.array([[50.0, 50.0]]), np.full((1, 2), 0.012)
    dose, asked = np.array([[0.1, 1.0]]), np.array([2.0])
    worse, better = (
        ends(priors, (dose, np.array([[first, 25.0]]), seeds, rho), asked) for first in (30.0, 49.0)
    )
    assert np.all(better < worse)


def test_the_last_test_lowers_no_later_day_and_an_earlier_one_few() -> None:
    priors, dose, viable, seeds, rho = random_lots(3, 3)
    more, place = one_more_alive(viable, seeds)
    last = np.count_nonzero(seeds, axis=1) - 1
    asked = dose[np.arange(LOTS), last] + 0.2
    before, after = (ends(priors, (dose, each, seeds, rho), asked) for each in (viable, more))
    fall = (before - after).max(axis=1)
    earlier = place < last
    assert fall[~earlier].max() <= EXACT
    assert np.mean(fall > EXACT) <= 0.06
