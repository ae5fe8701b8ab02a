"""Posterior of viability against outside integrals, and its coverage in simulation."""

import math

import mpmath
import numpy as np
import pytest
from scipy.integrate import dblquad
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri
from scipy.stats import betabinom, binom, norm

from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Posterior, Priors, fit_posterior

CASES = [
    # ki_mean, ki_sd, log_sigma_sd, [(dose, viable, seeds, rho)], dose asked
    pytest.param(1.5, 0.5, 0.6, [], 0.8, id="no tests"),
    pytest.param(1.5, 0.5, 0.6, [(0.4, 18, 20, 0.0)], 0.7, id="one good test"),
    pytest.param(1.5, 0.5, 0.6, [(1.0, 0, 20, 0.0)], 1.2, id="nothing germinated"),
    pytest.param(1.2, 0.8, 0.8, [(0.1, 50, 50, 0.0)], 2.5, id="all germinated, asked far ahead"),
    pytest.param(
        1.5, 0.5, 0.7, [(0.2, 92, 100, 0.0), (1.1, 55, 100, 0.0), (1.3, 21, 50, 0.0)], 1.6,
        id="a series of tests",
    ),
    pytest.param(
        1.5, 0.5, 0.6, [(0.5, 9, 10, 0.2), (0.5, 3, 10, 0.2), (0.1, 19, 20, 0.0)], 0.9,
        id="replicates that disagree",
    ),
    pytest.param(0.8, 0.6, 0.7, [(0.09, 10, 20, 0.0), (2.9, 0, 20, 0.0)], 3.2, id="all but dead"),
]  # fmt: skip


def _fit(
    mean: float, sd: float, log_sd: float, tests: list[tuple[float, float, float, float]]
) -> Posterior:
    priors = Priors(np.array([mean]), np.array([sd]), np.array([log_sd]))
    table = np.array(tests, dtype=np.float64).reshape(1, -1, 4)
    return fit_posterior(
        priors, Observations.of_tests(table[..., 0], table[..., 1], table[..., 2], table[..., 3])
    )


def _log_likelihood(v: float, viable: float, seeds: float, rho: float) -> float:
    p = float(ndtr(v))
    if rho == 0.0:
        return float(binom.logpmf(viable, seeds, p))
    shape = (1.0 - rho) / rho
    return float(betabinom.logpmf(viable, seeds, p * shape, (1.0 - p) * shape))


def _outside(
    mean: float,
    sd: float,
    log_sd: float,
    tests: list[tuple[float, float, float, float]],
    dose: float,
) -> "tuple[np.ndarray, np.ndarray]":
    """Probit viability's distribution function, from scipy.stats densities on 1,501 x 1,201 points.

    The grid is in (v, lam), so that v needs no interpolation.
    """
    # Fast-ageing lots trail off exponentially far down: points spread out as sinh.
    top, scale = mean + 7 * sd, 0.5
    depth = 14 * sd + np.exp(6 * log_sd) * dose
    deep, shallow = np.arcsinh(depth / scale), 0.0
    for _ in range(2):
        t = np.linspace(deep, shallow, 1501)
        v = top - scale * np.sinh(t)
        density = _marginal_density(mean, sd, log_sd, tests, dose, v)
        below = np.cumsum(0.5 * (density[1:] + density[:-1]) * np.diff(v))
        below = np.concatenate([[0.0], below]) / below[-1]
        heavy = np.flatnonzero((below > 1e-8) & (below < 1 - 1e-8))
        deep, shallow = t[max(heavy[0] - 1, 0)], t[min(heavy[-1] + 1, t.size - 1)]
    return v, below


def _marginal_density(
    mean: float,
    sd: float,
    log_sd: float,
    tests: list[tuple[float, float, float, float]],
    dose: float,
    v: np.ndarray,
) -> np.ndarray:
    lam = np.linspace(-6, 6, 1201) * log_sd
    wear = np.exp(-lam)[None, :]
    k = v[:, None] + wear * dose
    log_p = norm.logpdf(k, mean, sd) + norm.logpdf(lam[None, :], 0.0, log_sd)
    for at, viable, seeds, rho in tests:
        p = np.clip(ndtr(k - wear * at), 1e-300, 1 - 1e-16)
        if rho == 0.0:
            log_p = log_p + binom.logpmf(viable, seeds, p)
        else:
            shape = (1.0 - rho) / rho
            p = np.clip(p, 1e-12, 1 - 1e-12)
            log_p = log_p + betabinom.logpmf(viable, seeds, p * shape, (1 - p) * shape)
    return np.exp(log_p - log_p.max()).sum(axis=1)


@pytest.mark.parametrize(("mean", "sd", "log_sd", "tests", "dose"), CASES)
def test_band_and_threshold_agree_with_a_fine_grid(
    mean: float,
    sd: float,
    log_sd: float,
    tests: list[tuple[float, float, float, float]],
    dose: float,
) -> None:
    posterior = _fit(mean, sd, log_sd, tests)
    v, below = _outside(mean, sd, log_sd, tests, dose)
    asked = np.array([dose])
    for threshold in (0.1, 0.5, 0.8):
        got = float(posterior.probability_at_least(threshold, asked)[0])
        assert got == pytest.approx(1.0 - np.interp(ndtri(threshold), v, below), abs=1e-4)
    got_q = posterior.quantile((0.05, 0.25, 0.5, 0.75, 0.95), asked)[0]
    keep = np.concatenate([[True], np.diff(below) > 1e-12])
    expected = ndtr(np.interp((0.05, 0.25, 0.5, 0.75, 0.95), below[keep], v[keep]))
    assert got_q == pytest.approx(expected, abs=5e-5)


def test_threshold_probability_agrees_with_dblquad() -> None:
    tests = [(0.4, 15, 20, 0.0), (0.9, 22, 40, 0.0)]

    def density(k: float, lam: float) -> float:
        # Up to a factor, which cancels: normal priors, and the chance of each test.
        value = math.exp(-0.5 * ((k - 1.5) / 0.5) ** 2 - 0.5 * (lam / 0.6) ** 2)
        for dose, viable, seeds, _ in tests:
            alive = float(ndtr(k - math.exp(-lam) * dose))
            value *= math.comb(seeds, viable) * alive**viable * (1.0 - alive) ** (seeds - viable)
        return value

    whole, _ = dblquad(density, -3.5, 3.5, -2.5, 5.0, epsabs=1e-12, epsrel=1e-8)
    above, _ = dblquad(
        density, -3.5, 3.5, lambda lam: float(ndtri(0.5) + np.exp(-lam) * 1.3), 5.0,
        epsabs=1e-12, epsrel=1e-8,
    )  # fmt: skip
    got = _fit(1.5, 0.5, 0.6, tests).probability_at_least(0.5, np.array([1.3]))[0]
    assert got == pytest.approx(above / whole, abs=2e-5)


def test_an_untested_lot_agrees_with_mpmath() -> None:
    # Without tests P(v >= q) = E over lam of Phi((mean - exp(-lam) D - q) / sd).
    mpmath.mp.dps = 30
    exact = mpmath.quad(
        lambda x: (
            mpmath.npdf(x)
            * mpmath.ncdf((mpmath.mpf("1.4") - mpmath.exp(-x * mpmath.mpf("0.7")) * 2) / 0.5)
        ),
        mpmath.linspace(-9, 9, 19),
    )
    got = _fit(1.4, 0.5, 0.7, []).probability_at_least(0.5, np.array([2.0]))[0]
    assert got == pytest.approx(float(exact), abs=2e-5)


def test_the_crossing_dose_is_where_the_threshold_probability_says() -> None:
    posterior = _fit(1.5, 0.5, 0.6, [(0.4, 17, 20, 0.0)])
    crossing = posterior.crossing_dose(0.6, (0.05, 0.5, 0.95))[0]
    for probability, dose in zip((0.05, 0.5, 0.95), crossing, strict=True):
        above = posterior.probability_at_least(0.6, np.array([dose]))[0]
        assert 1.0 - above == pytest.approx(probability, abs=1e-4)
    independent = brentq(
        lambda d: posterior.probability_at_least(0.6, np.array([d]))[0] - 0.5, 0.0, 20.0
    )
    assert crossing[1] == pytest.approx(independent, rel=1e-3)


def test_a_lot_already_below_crosses_at_once() -> None:
    posterior = _fit(0.0, 0.3, 0.5, [])
    assert posterior.crossing_dose(0.9, (0.5,))[0, 0] == 0.0


def test_nothing_is_ever_less_than_dead_or_was_more_than_all_alive() -> None:
    posterior = _fit(1.5, 0.5, 0.6, [(0.4, 17, 20, 0.0)])
    assert posterior.crossing_dose(0.0, (0.05, 0.95))[0].tolist() == [np.inf, np.inf]
    assert posterior.crossing_dose(1.0, (0.05, 0.95))[0].tolist() == [0.0, 0.0]
    least, most = 5e-324, 1.0 - 1e-16
    assert np.all(posterior.crossing_dose(least, (0.5,)) > 1.0)
    assert np.all(posterior.crossing_dose(most, (0.5,)) == 0.0)


def test_nodes_carry_the_whole_distribution() -> None:
    posterior = _fit(1.5, 0.5, 0.6, [(0.4, 15, 20, 0.0)])
    dose = np.array([0.8])
    nodes = posterior.nodes(dose)
    assert nodes.weight.sum() == pytest.approx(1.0)
    direct = _outside(1.5, 0.5, 0.6, [(0.4, 15, 20, 0.0)], 0.8)
    middle, mass = 0.5 * (direct[0][1:] + direct[0][:-1]), np.diff(direct[1])
    for power in (1, 2):
        got = float(np.sum(nodes.weight * ndtr(nodes.probit) ** power))
        assert got == pytest.approx(float(mass @ ndtr(middle) ** power), abs=2e-5)


def test_the_mean_probit_is_that_of_the_nodes() -> None:
    posterior = _fit(1.5, 0.5, 0.6, [(0.4, 15, 20, 0.0), (0.9, 22, 40, 0.0)])
    for dose in (0.0, 0.8):
        asked = np.array([dose])
        nodes = posterior.nodes(asked)
        direct = float(np.sum(nodes.weight * nodes.probit))
        assert posterior.probit_mean(asked)[0] == pytest.approx(direct, abs=2e-4)


def test_nodes_of_a_dead_lot_keep_what_is_dead() -> None:
    # Ten onions failed and the store is damp: most of the mass lies where no double can tell.
    posterior = _fit(1.2, 0.6, 0.6, [(1.5, 0, 10, 0.0)])
    for dose in (3.0, 8.0, 300.0):
        asked = np.array([dose])
        nodes = posterior.nodes(asked)
        assert nodes.weight.sum() == pytest.approx(1.0)
        alive = float(np.sum(nodes.weight[0] * (nodes.probit[0] >= -5.0)))
        expected = posterior.probability_at_least(float(ndtr(-5.0)), asked)[0]
        assert alive == pytest.approx(expected, abs=0.02)


def test_lots_do_not_touch_one_another() -> None:
    rng = np.random.default_rng(7)
    lots, tests = 200, 3
    seeds = rng.choice([0.0, 10.0, 25.0, 100.0], size=(lots, tests))
    viable = np.floor(seeds * rng.uniform(size=(lots, tests)))
    dose = rng.uniform(0, 1.5, size=(lots, tests))
    rho = np.where(rng.uniform(size=(lots, tests)) < 0.1, 0.1, 0.0)
    priors = Priors(
        rng.uniform(0.5, 2, lots), rng.uniform(0.3, 0.9, lots), rng.uniform(0.4, 0.9, lots)
    )
    together = fit_posterior(priors, Observations.of_tests(dose, viable, seeds, rho))
    asked = dose.max(axis=1) + 0.2
    whole = together.quantile((0.05, 0.5, 0.95), asked)
    for lot in (0, 57, 133, 199):
        at = np.array([lot])
        alone = fit_posterior(
            priors.take(at), Observations.of_tests(dose[at], viable[at], seeds[at], rho[at])
        )
        assert alone.quantile((0.05, 0.5, 0.95), asked[at])[0] == pytest.approx(
            whole[lot], abs=3e-5
        )


def test_the_same_question_twice_gives_the_same_bits() -> None:
    posterior = _fit(1.5, 0.5, 0.6, [(0.4, 15, 20, 0.0)])
    first = posterior.quantile((0.05, 0.5, 0.95), np.array([0.9]))
    assert np.array_equal(first, posterior.quantile((0.05, 0.5, 0.95), np.array([0.9])))


def test_the_90_percent_band_covers_the_truth_in_simulated_lots() -> None:
    # Truths drawn from the prior, tests from the truths (fixed seed): coverage must be 85-95 %.
    rng = np.random.default_rng(20270220)
    lots, tests = 2000, 2
    priors = Priors(
        rng.uniform(0.8, 1.8, lots), rng.uniform(0.3, 0.8, lots), rng.uniform(0.4, 0.9, lots)
    )
    k = rng.normal(priors.ki_mean, priors.ki_sd)
    lam = rng.normal(0.0, priors.log_sigma_sd)
    dose = np.sort(rng.uniform(0.0, 1.5, (lots, tests)), axis=1)
    seeds = rng.choice([0, 10, 20, 50], (lots, tests))
    viable = rng.binomial(seeds, ndtr(k[:, None] - np.exp(-lam)[:, None] * dose))
    posterior = fit_posterior(
        priors,
        Observations.of_tests(
            dose, viable.astype(float), seeds.astype(float), np.zeros((lots, tests))
        ),
    )
    for ahead in (0.0, 0.3, 1.0):
        now = dose[:, -1] + ahead
        truth = ndtr(k - np.exp(-lam) * now)
        band = posterior.band(now)
        covered = np.mean((band.low_90 <= truth) & (truth <= band.high_90))
        half = np.mean((band.low_50 <= truth) & (truth <= band.high_50))
        assert 0.85 <= covered <= 0.95
        assert 0.46 <= half <= 0.54


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"viable": 21.0}, "between 0 and seeds"),
        ({"viable": -1.0}, "between 0 and seeds"),
        ({"dose": -0.1}, "dose"),
        ({"dose": np.inf}, "dose"),
        ({"overdispersion": 1.0}, "overdispersion"),
    ],
)
def test_impossible_observations_are_refused(change: dict[str, float], says: str) -> None:
    given = {"dose": 0.4, "viable": 15.0, "seeds": 20.0, "overdispersion": 0.0} | change
    priors = Priors(np.array([1.5]), np.array([0.5]), np.array([0.6]))
    with pytest.raises(ValueError, match=says):
        fit_posterior(
            priors, Observations.of_tests(**{name: np.array([[x]]) for name, x in given.items()})
        )


def test_a_prior_without_spread_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        _fit(1.5, 0.0, 0.6, [])


def test_a_posterior_fitted_anew_for_each_question_answers_as_one_that_is_kept() -> None:
    rng = np.random.default_rng(7)
    lots, tests = 600, 3
    priors = Priors(rng.normal(1.5, 0.2, lots), np.full(lots, 0.5), np.full(lots, 0.6))
    seeds = rng.choice([0.0, 20.0, 50.0], (lots, tests))
    rho = np.where(rng.uniform(size=(lots, 1)) < 0.1, 0.1, 0.0) * np.ones(tests)
    given = Observations.of_tests(
        rng.uniform(0, 2, (lots, tests)),
        np.floor(seeds * rng.uniform(size=seeds.shape)),
        seeds,
        rho,
    )
    dose, needed = rng.uniform(0, 4, lots), rng.uniform(0.2, 0.9, lots)
    kept = fit_posterior(priors, given, dose)
    anew = fit_posterior(priors, given, dose, kept=False)
    for posterior in (kept, anew):
        parts = np.full((lots, 4), np.nan)
        for at, part in posterior.in_parts():
            parts[at, 0] = part.probability_at_least(needed[at], dose[at])
            parts[at, 1] = part.probit_mean(dose[at])
            parts[at, 2] = part.quantile((0.5,), dose[at])[:, 0]
            parts[at, 3] = part.crossing_dose(needed[at], (0.5,))[:, 0]
        np.testing.assert_array_equal(parts[:, 0], kept.probability_at_least(needed, dose))
        np.testing.assert_array_equal(parts[:, 1], kept.probit_mean(dose))
        np.testing.assert_array_equal(parts[:, 2], kept.quantile((0.5,), dose)[:, 0])
        np.testing.assert_array_equal(parts[:, 3], kept.crossing_dose(needed, (0.5,))[:, 0])
    np.testing.assert_array_equal(
        anew.probability_at_least(needed, dose), kept.probability_at_least(needed, dose)
    )
    assert len(list(anew.in_parts())) > 1
