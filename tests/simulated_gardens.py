"""Gardens whose truth is known: lots in a few stores, of many kinds, from a few people."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr, ndtr

from seedbank.science.shared_effects import (
    REACH_SD,
    EffectEvidence,
    LearnedEffects,
    SharedEffects,
    learn_effects,
)
from seedbank.science.viability.between_tests import learn_rho, rho_evidence
from seedbank.science.viability.circumstances import (
    OPEN_CHANCE,
    PossibleStorage,
    SealedPlaces,
    possible_storage,
)
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.lot_age import HarvestDays, long_before
from seedbank.science.viability.open_places import StateEvidence, learn_places
from seedbank.science.viability.posterior import Posterior, Priors, fit_posterior
from seedbank.science.viability.shared_keeping import evidence_by_state, pace_evidence
from seedbank.science.viability.storage_history import storage_history
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
    """Lots (L,) as a gardener knows them, with ``truth``, the viability each really has now.

    ``lam`` is how each really keeps.
    """

    effects: SharedEffects
    priors: Priors
    dose: Floats
    viable: Floats
    seeds: Floats
    now: Floats
    truth: Floats
    lam: Floats

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
        ndtr(start - np.exp(-lam) * now), lam,
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


@dataclass(frozen=True, slots=True)
class HiddenGarden:
    """A garden whose lots may be of unknown age, in stores that may not close."""

    garden: SimulatedGarden
    storage: PossibleStorage
    tests: Observations
    unknown_age: NDArray[np.bool_]

    def believed(self) -> tuple[Priors, Observations, Floats]:
        """What each lot is fitted to, and its doses now in each circumstance."""
        garden, at = self.garden, np.flatnonzero(self.garden.tested)
        known, mine = self.storage.take(at), self.tests.take(at)
        values = evidence_by_state(
            garden.priors.take(at),
            mine.weighed(known.age_weight[:, : mine.cases]),
            known.state,
            2 ** known.place.shape[1],
        )
        reach = REACH_SD * garden.priors.log_sigma_sd[at]
        own = garden.effects.take(at)
        places = learn_places(own, StateEvidence(reach, values, known.place))
        mean, sd = places.learned.untested(garden.effects)
        mean[at], sd[at] = places.learned.without_own(own)
        told = np.zeros(self.storage.place.shape)
        told[at] = places.told
        storage = replace(self.storage, open_chance=places.chance(self.storage.place, told))
        priors = Priors(garden.priors.ki_mean, garden.priors.ki_sd, sd, mean)
        days = DAYS_PER_YEAR * garden.now
        doses = storage.doses_at(np.arange(garden.now.size), days)
        return priors, self.tests.weighed(storage.weight), doses


def hidden_garden(
    seed: int | list[int], unknown_age: float = 0.3, open_chance: float = OPEN_CHANCE
) -> HiddenGarden:
    """A garden as ``simulated_garden`` draws it, some lots as old before they came as nobody knows.

    That is log-normal about half a unit of dose; each of its four stores is sealed, and if open
    ages seed three times as fast. A year counts for a unit of dose.
    """
    garden = simulated_garden(seed)
    rng = np.random.default_rng([*np.atleast_1d(seed).tolist(), 9])
    lots, faster = garden.now.size, 3.0
    unknown = rng.uniform(size=lots) < unknown_age
    before = np.where(unknown, 0.5 * np.exp(0.9 * rng.normal(size=lots)), 0.0)
    opens = rng.uniform(size=4) < open_chance
    store = garden.effects.effect[:, 1] - 1
    pace = np.where(opens[store], faster, 1.0)
    start = rng.normal(garden.priors.ki_mean, garden.priors.ki_sd)
    wear = np.exp(-garden.lam)
    alive = ndtr(start[:, None] - wear[:, None] * (before[:, None] + pace[:, None] * garden.dose))
    worth = (1.0 - 0.012) / 0.012
    p = rng.beta(np.maximum(alive * worth, 1e-9), np.maximum((1.0 - alive) * worth, 1e-9))
    viable = rng.binomial(garden.seeds.astype(np.int64), p).astype(np.float64)
    truth = ndtr(start - wear * (before + pace * garden.now))
    came = np.zeros(lots)
    harvests = HarvestDays.sure(came)
    at = np.flatnonzero(unknown)
    harvests.put(at, *long_before(came[at], 0.5 * DAYS_PER_YEAR, 0.9, came[at]))
    table = np.linspace([0.0, 0.0], [1.0, faster], 367, axis=1)
    lot = np.concatenate([at, np.arange(lots)])
    day = np.concatenate([harvests.middle[at], came])
    closed = np.zeros(lot.size, dtype=np.int64)
    opened = np.concatenate([closed[: at.size], closed[at.size :] + 1])
    sealed = SealedPlaces(store[:, None] + 1, (storage_history(lot, day, opened, table),))
    history = storage_history(lot, day, closed, table)
    storage, ki_sd = possible_storage(history, harvests, sealed, garden.priors.ki_sd)
    every = np.repeat(np.arange(lots), TESTS)
    doses = storage.doses_at(every, DAYS_PER_YEAR * garden.dose.ravel()).reshape(lots, TESTS, -1)
    rho = np.full(garden.seeds.shape, USUAL_RHO)
    tests = Observations.of_tests(doses, viable, garden.seeds, rho).weighed(storage.weight)
    priors = replace(garden.priors, ki_sd=ki_sd)
    known = replace(garden, viable=viable, truth=truth, priors=priors)
    return HiddenGarden(known, storage, tests, unknown)
