"""Seed of which none or few sprouted: bands and chances in the far tails, and as it ages on.

Chances are held against the direct formula, integrated here by another rule: trapezoid in lam,
Gauss-Legendre in K on either side of the threshold; five of them by mpmath.
"""

import re
from pathlib import Path

import mpmath
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import log_ndtr, ndtr, ndtri

from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Posterior, Priors, fit_posterior
from tests.sizes import sized

Floats = NDArray[np.float64]
CHANCES = (0.05, 0.25, 0.5, 0.75, 0.95)
THRESHOLDS = (0.01, 0.05, 0.2, 0.5, 0.8)
PAGE = (Path(__file__).parents[3] / "api_docs/methods.md").read_text("utf-8")
Told = list[tuple[float, float, float, float]]  # dose, viable, seeds, rho


def dead_lots(lots: int, seed: int) -> tuple[Priors, Floats, Floats]:
    """Lots with 0-3 of 10-100 alive at dose 0-6, half beta-binomial; asked then or later."""
    rng = np.random.default_rng(seed)
    priors = Priors(
        rng.uniform(0.5, 2.2, lots), rng.uniform(0.3, 0.9, lots), rng.uniform(0.45, 0.9, lots)
    )
    seeds = rng.integers(10, 101, (lots, 1)).astype(np.float64)
    viable = rng.integers(0, 4, (lots, 1)).astype(np.float64)
    dose = rng.uniform(0.0, 6.0, (lots, 1))
    rho = np.where(rng.uniform(size=(lots, 1)) < 0.5, 0.01, 0.0)
    later = np.where(rng.uniform(size=lots) < 0.3, 0.0, rng.uniform(0.0, 2.0, lots))
    return priors, np.stack([dose, viable, seeds, rho]), dose[:, 0] + later


def one_lot(mean: float, sd: float, log_sd: float, told: Told) -> Posterior:
    table = np.array(told, dtype=np.float64).reshape(1, -1, 4)
    return fit_posterior(
        Priors(np.array([mean]), np.array([sd]), np.array([log_sd])),
        Observations.of_tests(*(table[..., column] for column in range(4))),
    )


def log_likelihood(v: Floats, viable: float, seeds: float, rho: float) -> Floats:
    """Binomial or beta-binomial, the latter as its product of single seeds; constants dropped."""
    if rho == 0.0:
        return np.asarray(viable * log_ndtr(v) + (seeds - viable) * log_ndtr(-v))
    worth, total = (1.0 - rho) / rho, np.zeros_like(v)
    for p, count in ((ndtr(v), viable), (ndtr(-v), seeds - viable)):
        for first in range(0, int(count), 8):  # of eight the product is still a number
            seeds_left = range(first, min(first + 8, int(count)))
            product = np.prod([p * worth + seed for seed in seeds_left], axis=0)
            total += np.log(np.maximum(product, 1e-300))
    return total


def direct_chances(
    mean: float, sd: float, log_sd: float, told: Told, dose: float, rows: int = 401
) -> list[float]:
    """P(viability >= each threshold) from the formula alone."""
    lam = np.linspace(-9.0, 9.0, rows) * log_sd
    wear = np.exp(-lam)
    node, weight = np.polynomial.legendre.leggauss(16)
    panels = 12
    place = (np.arange(panels)[:, None] + 0.5 * (node + 1.0)).ravel() / panels
    share = np.tile(0.5 * weight, panels) / panels

    def integrate(low: Floats, high: Floats) -> Floats:
        k = low[:, None] + (high - low)[:, None] * place
        log_p = -0.5 * ((k - mean) / sd) ** 2 - 0.5 * (lam[:, None] / log_sd) ** 2
        for at, viable, seeds, rho in told:
            log_p += log_likelihood(k - wear[:, None] * at, viable, seeds, rho)
        top = log_p.max()
        return np.array([np.sum(np.exp(log_p - top) * share * (high - low)[:, None]), top])

    low, high = np.full(rows, mean - 10 * sd), np.full(rows, mean + 10 * sd)
    answers = []
    for threshold in THRESHOLDS:
        cut = np.clip(ndtri(threshold) + wear * dose, low, high)
        (dead, far), (alive, near) = integrate(low, cut), integrate(cut, high)
        answers.append(float(1.0 / (1.0 + dead / alive * np.exp(far - near))) if alive else 0.0)
    return answers


def test_the_band_of_thousands_of_dead_lots_is_where_their_chances_say() -> None:
    priors, tests, dose = dead_lots(sized(2_000, 20_000), 77)
    posterior = fit_posterior(priors, Observations.of_tests(*tests), dose)
    band = posterior.quantile(CHANCES, dose)
    assert np.all(np.diff(band, axis=1) >= 0.0)
    for chance, end in zip(CHANCES, band.T, strict=True):
        off = np.abs(posterior.probability_at_least(end, dose) - (1.0 - chance))
        assert np.max(off[end > 0.0]) <= 1e-5
        # 0 % stands for a probit under -9: that lot is dead with more than the chance asked for.
        under = 1.0 - posterior.probability_at_least(float(ndtr(-9.0)), dose)
        assert np.all(under[end == 0.0] >= chance - 1e-5)


def test_chances_of_60_dead_lots_are_those_of_the_direct_formula() -> None:
    priors, tests, dose = dead_lots(60, 5)
    posterior = fit_posterior(priors, Observations.of_tests(*tests), dose)
    got = np.column_stack([posterior.probability_at_least(x, dose) for x in THRESHOLDS])
    expected = [
        direct_chances(
            priors.ki_mean[lot], priors.ki_sd[lot], priors.log_sigma_sd[lot],
            [tuple(tests[:, lot, 0].tolist())],
            dose[lot],
        )
        for lot in range(60)
    ]  # fmt: skip
    worst = float(np.max(np.abs(got - np.array(expected))))
    assert worst <= 1e-4
    stated = re.search(
        r"60 lots with 0 to 3 alive: largest error (\S+) in a chance", " ".join(PAGE.split())
    )
    assert stated is not None
    assert worst <= float(stated[1]) <= 2.0 * worst


@pytest.mark.parametrize(
    ("mean", "sd", "log_sd", "told", "dose"),
    [
        (1.738, 0.353, 0.684, [(0.0243, 3, 97, 0.01)], 0.558),
        (1.266, 0.455, 0.769, [(0.1376, 3, 37, 0.0)], 0.1376),
        (0.328, 0.181, 0.195, [(3.634, 82, 98, 0.05), (3.357, 89, 100, 0.2)], 4.138),
        (2.494, 0.530, 0.270, [(3.587, 27, 29, 0.01), (0.202, 16, 47, 0.0)], 4.504),
        (0.846, 0.653, 0.734, [(3.735, 0, 15, 0.01)], 3.735),
    ],
)  # fmt: skip
def test_tests_that_contradict_the_prior_are_weighed_in_full(
    mean: float, sd: float, log_sd: float, told: Told, dose: float
) -> None:
    posterior = one_lot(mean, sd, log_sd, told)
    got = [posterior.probability_at_least(x, np.array([dose]))[0] for x in THRESHOLDS]
    assert got == pytest.approx(direct_chances(mean, sd, log_sd, told, dose), abs=1e-4)


@pytest.mark.parametrize(
    ("threshold", "mean", "sd", "log_sd", "test", "dose"),
    [
        (0.05, 1.89, 0.481, 0.706, (3.285, 0, 10), 4.011),
        (0.01, 0.646, 0.742, 0.846, (3.958, 0, 75), 3.958),
        (0.01, 1.983, 0.507, 0.643, (5.577, 0, 20), 5.577),
        (0.20, 1.2, 0.6, 0.6, (1.5, 1, 25), 1.8),
        (0.05, 1.675, 0.623, 0.869, (0.6, 2, 73), 0.9),
    ],
)
def test_chances_of_five_dead_lots_agree_with_mpmath(
    threshold: float, mean: float, sd: float, log_sd: float,
    test: tuple[float, int, int], dose: float,
) -> None:  # fmt: skip
    mpmath.mp.dps = 20
    at, viable, seeds = test
    count, cut = 60, mpmath.mpf(float(ndtri(threshold)))
    alive = whole = mpmath.mpf(0)
    for row in range(count + 1):
        lam = (mpmath.mpf(12 * row) / count - 6) * log_sd
        wear = mpmath.exp(-lam)

        def density(k, lam=lam, wear=wear):  # type: ignore[no-untyped-def]
            p = mpmath.ncdf(k - wear * at)
            prior = mpmath.npdf(k, mean, sd) * mpmath.npdf(lam, 0, log_sd)
            return prior * p**viable * mpmath.ncdf(wear * at - k) ** (seeds - viable)

        low, high = mpmath.mpf(mean - 7 * sd), mpmath.mpf(mean + 7 * sd)
        edge = min(max(cut + wear * dose, low), high)
        above = mpmath.quad(density, [edge, high], maxdegree=4, method="gauss-legendre")
        alive += above
        whole += above + mpmath.quad(density, [low, edge], maxdegree=4, method="gauss-legendre")
    posterior = one_lot(mean, sd, log_sd, [(at, viable, seeds, 0.0)])
    got = posterior.probability_at_least(threshold, np.array([dose]))[0]
    assert got == pytest.approx(float(alive / whole), abs=1e-4)


def test_ten_dead_seeds_leave_no_hope_of_half_alive() -> None:
    # Worked out by direct quadrature: 0 of 10 at dose 3.285, asked at 4.011.
    posterior, dose = one_lot(1.89, 0.481, 0.706, [(3.285, 0, 10, 0.0)]), np.array([4.011])
    assert posterior.quantile((0.95,), dose)[0, 0] == pytest.approx(0.0228, abs=1e-4)
    assert posterior.probability_at_least(0.05, dose)[0] == pytest.approx(0.0206, abs=1e-4)
    assert posterior.probability_at_least(0.20, dose)[0] == pytest.approx(0.00079, abs=1e-5)


def test_a_dead_lots_band_ends_where_brentq_finds_them() -> None:
    posterior, dose = one_lot(1.4, 0.5, 0.7, [(2.5, 0, 20, 0.01)]), np.array([2.8])
    for chance, end in zip(CHANCES[2:], posterior.quantile(CHANCES[2:], dose)[0], strict=True):
        theirs = brentq(
            lambda v, chance=chance: (
                posterior.probability_at_least(float(ndtr(v)), dose)[0] - (1.0 - chance)
            ),
            -8.9, 3.0, xtol=1e-10,
        )  # fmt: skip
        assert end == pytest.approx(float(ndtr(theirs)), abs=2e-5)


@pytest.mark.parametrize(
    ("mean", "sd", "log_sd", "test"),
    [
        (0.789, 0.685, 0.669, (3.501, 0, 61, 0.01)),
        (0.781, 0.807, 0.667, (3.981, 0, 10, 0.0)),
        (1.647, 0.675, 0.738, (3.363, 0, 42, 0.01)),
        (0.769, 0.751, 0.818, (0.106, 0, 34, 0.01)),
    ],
)
def test_a_dead_lots_upper_end_falls_as_it_lies_on(
    mean: float, sd: float, log_sd: float, test: tuple[float, float, float, float]
) -> None:
    # Nothing sprouted, and the seed lies on for years: the band may only sink.
    posterior = one_lot(mean, sd, log_sd, [test])
    days = test[0] + np.linspace(0.0, 4.0, 81)
    bands = np.array([posterior.quantile(CHANCES, np.array([day]))[0] for day in days])
    assert np.all(np.diff(bands, axis=0) <= 1e-6)
    assert bands[0, -1] < 0.15


priors = st.tuples(st.floats(0.5, 2.5), st.floats(0.2, 0.9), st.floats(0.3, 0.9))
few_alive = st.integers(10, 100).flatmap(lambda n: st.tuples(st.integers(0, 3), st.just(n)))


@settings(max_examples=sized(25, 60), deadline=None)
@given(priors, st.floats(0.0, 6.0), few_alive, st.sampled_from([0.0, 0.01, 0.1]),
       st.lists(st.floats(0.0, 3.0), min_size=2, max_size=6))  # fmt: skip
def test_the_band_of_a_lot_never_rises_from_one_day_to_a_later_one(prior, dose, count, rho, later):
    posterior = one_lot(*prior, [(dose, *count, rho)])
    days = np.sort(dose + np.array(later))
    bands = np.array([posterior.quantile(CHANCES, np.array([day]))[0] for day in days])
    assert np.all(np.diff(bands, axis=0) <= 5e-5)


def test_dead_lots_cross_a_threshold_on_the_day_their_chances_say() -> None:
    fitted_priors, tests, _ = dead_lots(sized(400, 1000), 9)
    posterior = fit_posterior(fitted_priors, Observations.of_tests(*tests))
    for line in (0.01, 0.2, 0.6):
        crossed = posterior.crossing_dose(line, CHANCES)
        assert np.all(np.diff(crossed, axis=1) >= 0.0)
        for chance, dose in zip(CHANCES, crossed.T, strict=True):
            below = 1.0 - posterior.probability_at_least(line, dose)
            ages = (dose > 0.0) & (dose < 1e6)  # a lot that may never age has no end to its axis
            assert np.max(np.abs(below - chance), where=ages, initial=0.0) <= 1e-4
            assert np.all(below[dose == 0.0] >= chance - 1e-4)
