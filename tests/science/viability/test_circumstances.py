"""Lots that may be in several circumstances, against sums over a dense grid of all unknowns."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import log_ndtr, ndtri

from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Posterior, Priors, fit_posterior

Floats = NDArray[np.float64]
MEAN, SD, LOG_SD = 1.4, 0.5, 0.6
DOSES = np.array([[0.2, 0.9], [0.7, 1.4], [0.1, 3.0]])  # two tests in each of three circumstances
WEIGHT = np.array([0.6, 0.3, 0.1])
VIABLE, SEEDS = np.array([18.0, 9.0]), np.array([20.0, 20.0])
NOW = np.array([1.1, 1.7, 4.0])
FEW = (0.02, 0.3, 0.6, 0.9)


def posterior(weight: Floats, viable: Floats = VIABLE, seeds: Floats = SEEDS) -> Posterior:
    """One lot in three circumstances, beside one in a single."""
    dose = np.stack([DOSES.T, DOSES.T])
    counts = (np.stack([part, part]) for part in (viable, seeds, np.zeros(2)))
    tests = Observations.of_tests(dose, *counts)
    priors = Priors(*(np.full(2, value) for value in (MEAN, SD, LOG_SD)))
    return fit_posterior(priors, tests.weighed(np.stack([weight, [1.0, 0.0, 0.0]])))


def asked(doses: Floats) -> Floats:
    return np.stack([doses, doses])


def chances_on_grid(weight: Floats, tested: bool = True) -> Floats:
    """P(viability >= each of ``FEW``) by a plain sum over circumstance, lam and K."""
    lam = np.linspace(-7.0, 7.0, 1401) * LOG_SD
    k = MEAN + SD * np.linspace(-8.0, 8.0, 3201)
    over, whole = np.zeros(len(FEW)), 0.0
    for chance, doses, now in zip(weight, DOSES, NOW, strict=True):
        value = -0.5 * ((k - MEAN) / SD) ** 2 - 0.5 * (lam[:, None] / LOG_SD) ** 2
        for dose, viable, seeds in zip(doses, VIABLE, SEEDS, strict=True):
            v = k - np.exp(-lam)[:, None] * dose
            if tested:
                value = value + viable * log_ndtr(v) + (seeds - viable) * log_ndtr(-v)
        mass = chance * np.exp(value)
        whole += mass.sum()
        v = k - np.exp(-lam)[:, None] * now
        # A cell of K across a threshold counts by the part of it that lies beyond.
        step = k[1] - k[0]
        for at, limit in enumerate(ndtri(FEW)):
            over[at] += np.sum(mass * np.clip(0.5 + (v - limit) / step, 0.0, 1.0))
    return over / whole


@pytest.mark.parametrize("weight", [WEIGHT, np.array([0.02, 0.0, 0.98])])
def test_chances_are_those_of_a_dense_sum_over_circumstances(weight: Floats) -> None:
    seen = posterior(weight)
    found = [seen.probability_at_least(share, asked(NOW))[0] for share in FEW]
    assert found == pytest.approx(chances_on_grid(weight), abs=1e-4)


def test_so_are_those_of_a_lot_without_tests() -> None:
    seen = posterior(WEIGHT, np.zeros(2), np.zeros(2))
    found = [seen.probability_at_least(share, asked(NOW))[0] for share in FEW]
    assert found == pytest.approx(chances_on_grid(WEIGHT, tested=False), abs=1e-4)


def test_quantiles_nodes_and_crossings_are_of_the_same_mixture() -> None:
    seen = posterior(WEIGHT)
    levels = (0.05, 0.5, 0.95)
    for level, end in zip(levels, seen.quantile(levels, asked(NOW))[0], strict=True):
        assert 1.0 - seen.probability_at_least(end, asked(NOW))[0] == pytest.approx(level, abs=1e-5)
    nodes = seen.nodes(asked(NOW))
    assert nodes.weight[0] @ nodes.probit[0] == pytest.approx(
        seen.probit_mean(asked(NOW))[0], abs=1e-3
    )

    def others(_: NDArray[np.int64], dose: Floats) -> Floats:
        return np.stack([dose, 0.5 + dose, 2.0 * dose + 0.1], axis=1)

    crossed = seen.crossing_dose(0.5, levels, others)[0]
    for level, dose in zip(levels, crossed, strict=True):
        then = others(np.zeros(1, dtype=np.int64), np.array([[dose]]))[:, :, 0]
        below = 1.0 - seen.probability_at_least(0.5, asked(then[0]))[0]
        assert below == pytest.approx(level, abs=1e-5)
    with pytest.raises(ValueError, match="circumstances"):
        seen.crossing_dose(0.5, levels)


def test_a_lot_in_one_circumstance_is_answered_as_if_there_were_no_others() -> None:
    beside = posterior(WEIGHT).quantile((0.05, 0.5, 0.95), asked(NOW))[1]
    tests = Observations.of_tests(DOSES[:1], VIABLE[None], SEEDS[None], np.zeros((1, 2)))
    priors = Priors(np.array([MEAN]), np.array([SD]), np.array([LOG_SD]))
    alone = fit_posterior(priors, tests).quantile((0.05, 0.5, 0.95), NOW[:1])[0]
    assert beside == pytest.approx(alone, abs=1e-6)


def test_circumstances_all_alike_are_one() -> None:
    dose = np.repeat(DOSES[:1].T[None], 3, axis=2)
    tests = Observations.of_tests(dose, VIABLE[None], SEEDS[None], np.zeros((1, 2)))
    priors = Priors(np.array([MEAN]), np.array([SD]), np.array([LOG_SD]))
    levels = (0.05, 0.5, 0.95)
    mixed = fit_posterior(priors, tests.weighed(WEIGHT[None]))
    alone = posterior(np.array([1.0, 0.0, 0.0]))
    same = np.full((1, 3), NOW[0])
    found = mixed.quantile(levels, same)[0]
    assert found == pytest.approx(alone.quantile(levels, asked(NOW))[0], abs=2e-5)


def test_answers_follow_the_weights_without_a_step() -> None:
    def ends(weight: float) -> Floats:
        mixture = posterior(np.array([1.0 - weight, 0.0, weight]))
        return mixture.quantile((0.05, 0.5, 0.95), asked(NOW))[0]

    for weight in (0.0, 1e-6, 0.01, 0.5, 0.999):
        assert ends(weight + 1e-7) == pytest.approx(ends(weight), abs=1e-4)


def test_a_dose_a_lot_is_refused_where_circumstances_differ() -> None:
    seen = posterior(WEIGHT)
    with pytest.raises(ValueError, match="several circumstances"):
        seen.quantile((0.5,), np.ones(2))
    assert seen.quantile((0.5,), np.zeros(2)).shape == (2, 1)
