"""Posterior per lot, side by side in one run with what a statistician would reach for.

Run with ``pytest tests/benchmarks -m benchmark -s``. Single thread against single thread.
"""

from dataclasses import dataclass

import emcee
import numpy as np
import pytest
import statsmodels.api as sm
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.special import log_ndtr, ndtr, ndtri

from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors, fit_posterior
from tests.by_turns import by_turns

pytestmark = pytest.mark.benchmark
Floats = NDArray[np.float64]
LOTS, TESTS = 3000, 3


@dataclass(frozen=True, slots=True)
class Counts:
    """Tests of each lot, (L, J)."""

    dose: Floats
    viable: Floats
    seeds: Floats

    def observations(self) -> Observations:
        return Observations.of_tests(self.dose, self.viable, self.seeds, np.zeros_like(self.dose))


def _lots() -> tuple[Priors, Counts, Floats]:
    """Lots as a garden has them: tests of 10 to 100 seeds, asked about some time later."""
    rng = np.random.default_rng(20270220)
    priors = Priors(
        rng.uniform(1.2, 1.7, LOTS), rng.uniform(0.4, 0.8, LOTS), rng.uniform(0.55, 0.75, LOTS)
    )
    dose = np.sort(rng.uniform(0.05, 1.8, (LOTS, TESTS)), axis=1)
    start = rng.normal(priors.ki_mean, priors.ki_sd)[:, None]
    pace = np.exp(-rng.normal(0.0, priors.log_sigma_sd))[:, None]
    seeds = rng.choice([10.0, 20.0, 25.0, 40.0, 50.0, 100.0], (LOTS, TESTS))
    viable = rng.binomial(seeds.astype(int), ndtr(start - pace * dose)).astype(float)
    return priors, Counts(dose, viable, seeds), dose[:, -1] + rng.uniform(0.0, 0.4, LOTS)


def _ours(priors: Priors, observations: Observations, now: Floats) -> None:
    posterior = fit_posterior(priors, observations, now)
    posterior.band(now)
    posterior.probability_at_least(0.65, now)


def _chain(priors: Priors, counts: Counts, lot: int) -> None:
    dose, k, n = counts.dose[lot], counts.viable[lot], counts.seeds[lot]
    mean, sd, spread = priors.ki_mean[lot], priors.ki_sd[lot], priors.log_sigma_sd[lot]

    def log_posterior(at: Floats) -> float:
        v = at[0] - np.exp(-at[1]) * dose
        likelihood = np.sum(k * log_ndtr(v) + (n - k) * log_ndtr(-v))
        return float(likelihood - 0.5 * (((at[0] - mean) / sd) ** 2 + (at[1] / spread) ** 2))

    rng = np.random.default_rng(lot)
    sampler = emcee.EnsembleSampler(16, 2, log_posterior)
    sampler.run_mcmc(rng.normal(size=(16, 2)) * 0.1 + [mean, 0.0], 1500)


def _point_fit(counts: Counts, lot: int) -> None:
    k, n = counts.viable[lot], counts.seeds[lot]
    family = sm.families.Binomial(link=sm.families.links.Probit())
    design = sm.add_constant(-counts.dose[lot])
    with np.errstate(all="ignore"):
        sm.GLM(np.column_stack([k, n - k]), design, family=family).fit()


@pytest.mark.filterwarnings("ignore")
def test_a_posterior_costs_a_sliver_of_a_chain_and_less_than_a_point_fit() -> None:
    priors, counts, now = _lots()
    all_lots, three, sixty = by_turns(
        3,
        lambda: _ours(priors, counts.observations(), now),
        lambda: [_chain(priors, counts, lot) for lot in range(3)],
        lambda: [_point_fit(counts, lot) for lot in range(60)],
    )
    ours, chain, point = all_lots.seconds / LOTS, three.seconds / 3, sixty.seconds / 60
    print(
        f"\nposterior with band and threshold: {1e6 * ours:.0f} us a lot"
        f"\n  emcee, 16 walkers x 1,500 steps: {1e6 * chain:.0f} us a lot, {chain / ours:.0f} x"
        f"\n  statsmodels probit GLM, a point: {1e6 * point:.0f} us a lot, {point / ours:.1f} x"
    )
    assert chain / ours >= 2000
    assert point / ours >= 10


def _grid(priors: Priors, counts: Counts, lot: int, now: float, span: Floats) -> Floats:
    """Median, 5 % and 95 % points and P(viability >= 65 %) from 256 x 256 points in (K, lam)."""
    lam = np.linspace(-5.2, 5.2, 256) * priors.log_sigma_sd[lot]
    k = priors.ki_mean[lot] + np.linspace(-6.0, 6.0, 256)[:, None] * priors.ki_sd[lot]
    wear = np.exp(-lam)
    log_p = -0.5 * ((k - priors.ki_mean[lot]) / priors.ki_sd[lot]) ** 2
    log_p = log_p - 0.5 * (lam / priors.log_sigma_sd[lot]) ** 2
    for j in range(TESTS):
        at = k - wear * counts.dose[lot, j]
        good, size = counts.viable[lot, j], counts.seeds[lot, j]
        log_p = log_p + good * log_ndtr(at) + (size - good) * log_ndtr(-at)
    density = np.exp(log_p - log_p.max())
    v = np.append(np.linspace(span[0], span[1], 4001), ndtri(0.65))
    below = np.zeros(v.size)
    whole = 0.0
    for row in range(256):
        mass = CubicSpline(k[:, 0], density[:, row]).antiderivative()
        below += mass(np.clip(v + wear[row] * now, k[0, 0], k[-1, 0]))
        whole += float(mass(k[-1, 0]))
    share = np.maximum.accumulate(below[:-1] / whole)
    points = [float(np.interp(level, share, v[:-1])) for level in (0.5, 0.05, 0.95)]
    return np.append(ndtr(points), 1.0 - below[-1] / whole)


def test_a_posterior_is_within_1e_4_of_a_256_by_256_grid() -> None:
    priors, counts, now = _lots()
    posterior = fit_posterior(priors, counts.observations(), now)
    band = posterior.band(now)
    above = posterior.probability_at_least(0.65, now)
    span = posterior.probit_quantile((0.02, 0.98), now)
    worst = np.zeros(4)
    for lot in range(0, LOTS, 15):
        if counts.seeds[lot].min() == 0:
            continue
        expected = _grid(priors, counts, lot, now[lot], span[lot])
        got = np.array([band.median[lot], band.low_90[lot], band.high_90[lot], above[lot]])
        worst = np.maximum(worst, np.abs(got - expected))
    print(f"\nworst error in median, 5 %, 95 %, P(>= 65 %) over 200 lots: {worst}")
    assert worst.max() <= 1e-4
