"""Gardens whose truth is known: lots in a few stores, of many kinds, from a few people."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr, ndtr

from seedbank.science.shared_effects import (
    EffectEvidence,
    LearnedEffects,
    SharedEffects,
    learn_effects,
)
from seedbank.science.viability.between_tests import learn_rho, rho_evidence
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Posterior, Priors, fit_posterior
from seedbank.science.viability.shared_keeping import pace_evidence
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO as USUAL_RHO

Floats = NDArray[np.float64]
STORES_SD = (0.30, 0.30, 0.60, 0.60)
GARDEN_SD, KIND_SD, SAVER_SD, LOT_SD = 0.31, 0.32, 0.20, 0.30
KINDS, SAVERS, TESTS = 30, 5, 3


@dataclass(frozen=True, slots=True)
class Truth:
    """How the world differs from the prior: all lots' keeping and start, and how tests go."""

    longer: float = 1.0
    at_harvest_probits: float = 0.0
    between_tests: float = 0.012
    failed_tests: float = 0.0
    heavy_tails: bool = False


@dataclass(frozen=True, slots=True)
class SimulatedGarden:
    """Lots (L,) as a gardener knows them, with ``truth``, the viability each really has now."""

    effects: SharedEffects
    priors: Priors
    dose: Floats
    viable: Floats
    seeds: Floats
    now: Floats
    truth: Floats

    @property
    def tested(self) -> NDArray[np.bool_]:
        return np.asarray(np.any(self.seeds > 0, axis=1), dtype=np.bool_)

    def tests(self, rho: float = USUAL_RHO) -> Observations:
        return Observations.of_tests(
            self.dose, self.viable, self.seeds, np.full(self.dose.shape, rho)
        )

    def log_density(self, lot: int, lam: Floats, away: Floats) -> Floats:
        """log density of a lot's K, ``away`` sd from its mean, at each lam; tests are binomial.

        From the formula itself, up to a constant a lot; (M, N).
        """
        k = self.priors.ki_mean[lot] + self.priors.ki_sd[lot] * away
        value = np.broadcast_to(-0.5 * away**2, (lam.size, away.size)).copy()
        for dose, viable, seeds in zip(
            self.dose[lot], self.viable[lot], self.seeds[lot], strict=True
        ):
            v = k - np.exp(-lam)[:, None] * dose
            value += viable * log_ndtr(v) + (seeds - viable) * log_ndtr(-v)
        return value

    def rho(self) -> float:
        """How much this gardener's tests are found to vary."""
        twice = np.flatnonzero(np.count_nonzero(self.seeds, axis=1) > 1)
        return learn_rho(
            rho_evidence(self.priors.take(twice), lambda rho: self.tests(rho).take(twice))
        )

    def learn(self, rho: float = USUAL_RHO) -> tuple[LearnedEffects, EffectEvidence, Priors]:
        """What the garden teaches, on what evidence, and every lot's prior from it."""
        at = np.flatnonzero(self.tested)
        evidence = pace_evidence(self.priors.take(at), self.tests(rho).take(at))
        own = self.effects.take(at)
        learned = learn_effects(own, evidence)
        mean, sd = learned.untested(self.effects)
        mean[at], sd[at] = learned.without_own(own)
        return learned, evidence, Priors(self.priors.ki_mean, self.priors.ki_sd, sd, mean)


def simulated_garden(
    seed: int | list[int], lots: int = 100, tested: float = 0.4, truth: Truth = Truth()
) -> SimulatedGarden:
    """A garden drawn from the prior, or from a world that differs from it as ``truth`` says."""
    rng = np.random.default_rng(seed)
    first_saver = 5 + KINDS
    effect = np.column_stack(
        [
            np.zeros(lots, dtype=np.int64),
            1 + rng.integers(0, 4, lots),
            5 + rng.integers(0, KINDS, lots),
            first_saver + rng.integers(0, SAVERS, lots),
        ]
    )
    sds = np.concatenate(
        [[GARDEN_SD], STORES_SD, np.full(KINDS, KIND_SD), np.full(SAVERS, SAVER_SD)]
    )
    effects = SharedEffects(effect, np.ones(effect.shape), sds**2, np.full(lots, LOT_SD))
    own = rng.standard_t(3, lots) / np.sqrt(3.0) if truth.heavy_tails else rng.normal(size=lots)
    lam = rng.normal(0.0, sds)[effect].sum(axis=1) + LOT_SD * own + np.log(truth.longer)
    priors = Priors(
        rng.uniform(1.2, 1.7, lots), rng.uniform(0.4, 0.6, lots), np.sqrt(effects.prior_variance)
    )
    start = rng.normal(priors.ki_mean, priors.ki_sd) + truth.at_harvest_probits
    now = rng.uniform(0.3, 2.5, lots)
    dose = rng.uniform(0.05, 1.0, (lots, TESTS)) * now[:, None]
    number = np.where(rng.uniform(size=lots) < tested, rng.integers(1, TESTS + 1, lots), 0)
    seeds = rng.choice([10, 20, 25, 40, 50], (lots, TESTS)) * (np.arange(TESTS) < number[:, None])
    alive = ndtr(start[:, None] - np.exp(-lam)[:, None] * dose)
    worth = (1.0 - truth.between_tests) / truth.between_tests
    p = rng.beta(np.maximum(alive * worth, 1e-9), np.maximum((1.0 - alive) * worth, 1e-9))
    failed = rng.uniform(size=p.shape) < truth.failed_tests
    viable = rng.binomial(seeds, np.where(failed, p * rng.uniform(size=p.shape), p))
    return SimulatedGarden(
        effects, priors, dose, viable.astype(np.float64), seeds.astype(np.float64), now,
        ndtr(start - np.exp(-lam) * now),
    )  # fmt: skip


def crps(posterior: Posterior, now: Floats, truth: Floats) -> Floats:
    """Continuous ranked probability score (L,) of viability, from forty quantiles."""
    levels = (np.arange(40) + 0.5) / 40
    ends = posterior.quantile(tuple(levels), now)
    loss = np.where(truth[:, None] < ends, 1.0 - levels, levels)
    return np.asarray(2.0 * np.mean(loss * np.abs(truth[:, None] - ends), axis=1))


@dataclass(frozen=True, slots=True)
class Score:
    """Means over lots: CRPS, share of 90 % bands that hold the truth, and width of the bands."""

    crps: float
    covered: float
    width: float


def score(garden: SimulatedGarden, priors: Priors, rho: float, lots: NDArray[np.bool_]) -> Score:
    at = np.flatnonzero(lots)
    posterior = fit_posterior(priors.take(at), garden.tests(rho).take(at))
    truth, now = garden.truth[at], garden.now[at]
    low, high = posterior.quantile((0.05, 0.95), now).T
    return Score(
        float(crps(posterior, now, truth).mean()),
        float(np.mean((low <= truth) & (truth <= high))),
        float(np.mean(high - low)),
    )
