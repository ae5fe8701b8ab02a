"""Effects shared by many records, learned from all of them at once.

A record's own number u_i (how long a lot keeps, what a seedbed costs) is a sum of effects and of
what is its own: u_i = x_i b + own_i, b ~ N(0, diag(variance)), own_i ~ N(0, own_sd_i^2). The
effects (garden, kind, season ...) are shared, so that one record speaks for its neighbours.

Expectation propagation (T.P. Minka, UAI 17:362-369, 2001, from memory) on one number a record: what
its evidence says of x_i b is held as a normal factor, refreshed against all other records' factors.
A factor's precision may be negative: a record whose evidence is ambiguous widens its neighbours'
doubt. All factors are refreshed at once until they settle: the answer depends on the data alone,
never on the order they came in. Effects given the factors: one Cholesky factorisation of their
number (C.R. Henderson, Biometrics 31:423-447, 1975). Outside checks: sums over dense grids, MCMC
over all unknowns (``tests/benchmarks``), and simulated gardens of known truth.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp

from seedbank.science.quantities import FloatArray, IntArray, NormalFactors

MET = 1e-6  # no factor changes by more in a last sweep
_SETTLED = 1e-3
_FULL_SWEEPS = 8  # half steps from there on
_MOST_SWEEPS = 40
_MOST_AMBIGUOUS = 0.3
REACH_SD = 6.5
"""A grid ends so many prior standard deviations out: long-dead lots live far from the middle."""
PLACES = np.linspace(-1.0, 1.0, 97)
"""Where evidence is tabulated, as shares of its reach."""
_POWERS = np.stack([np.ones_like(PLACES), PLACES, PLACES**2])


@dataclass(frozen=True, slots=True)
class SharedEffects:
    """Which effects act on each of L records, up to W each, and how widely the Q effects spread.

    ``effect`` (L, W) indexes the effects; ``share`` (L, W) is how much of each acts, 0 where none
    does; ``variance`` (Q,) is each effect's; ``own_sd`` (L,) the spread that is the record's own.
    """

    effect: IntArray
    share: FloatArray
    variance: FloatArray
    own_sd: FloatArray

    def take(self, at: IntArray) -> "SharedEffects":
        return SharedEffects(self.effect[at], self.share[at], self.variance, self.own_sd[at])

    @property
    def prior_variance(self) -> FloatArray:
        """Variance (L,) of each record's number before any evidence."""
        return np.asarray(
            np.sum(self.share**2 * self.variance[self.effect], axis=1) + self.own_sd**2
        )

    def centre(self, mean: FloatArray) -> FloatArray:
        """x b (L,) at these effects (Q,)."""
        return np.asarray(np.sum(self.share * mean[self.effect], axis=1))

    def spread(self, covariance: FloatArray) -> FloatArray:
        """Variance (L,) of x b where the effects have this covariance (Q, Q)."""
        pair = covariance[self.effect[:, :, None], self.effect[:, None, :]]
        return np.asarray(np.einsum("li,lij,lj->l", self.share, pair, self.share))


@dataclass(frozen=True, slots=True)
class EffectEvidence:
    """What each record says of its own number: log likelihood (T, 97) at even steps of it.

    The steps go from ``-reach`` to ``reach`` (T,). A constant added to a record's values means
    nothing.
    """

    reach: FloatArray
    log_likelihood: FloatArray

    def log_chance(self, sd: FloatArray) -> FloatArray:
        """log chance (T,) of each record where its number ~ N(0, ``sd``^2), up to a constant."""
        step = self.reach * (PLACES[1] - PLACES[0])
        prior = -0.5 * (self.reach[:, None] * PLACES / sd[:, None]) ** 2
        return np.asarray(logsumexp(self.log_likelihood + prior, axis=1) + np.log(step / sd))


@dataclass(frozen=True, slots=True)
class LearnedEffects:
    """The effects as the records have taught them.

    ``mean`` (Q,) and ``covariance`` (Q, Q) of the effects; ``factors`` of the records that taught;
    ``moved`` the most that the last sweep changed a factor by, ``settled`` whether that is little.
    """

    mean: FloatArray
    covariance: FloatArray
    factors: NormalFactors
    moved: float

    @property
    def settled(self) -> bool:
        return self.moved <= _SETTLED

    def untested(self, effects: SharedEffects) -> tuple[FloatArray, FloatArray]:
        """Mean and sd (L,) of the number of records that have taught nothing."""
        variance = effects.spread(self.covariance) + effects.own_sd**2
        return effects.centre(self.mean), np.sqrt(variance)

    def without_own(self, effects: SharedEffects) -> tuple[FloatArray, FloatArray]:
        """Mean and sd (T,) of the number of each record that taught, from all the others alone."""
        mean, variance = self.cavity(effects)
        return mean, np.sqrt(variance + effects.own_sd**2)

    def cavity(self, effects: SharedEffects) -> tuple[FloatArray, FloatArray]:
        """Mean and variance (T,) of x b for each record that taught, without its own factor."""
        spread = effects.spread(self.covariance)
        variance = 1.0 / (1.0 / spread - self.factors.precision)
        mean = variance * (effects.centre(self.mean) / spread - self.factors.weighted_mean)
        return mean, variance


def learn_effects(
    effects: SharedEffects, evidence: EffectEvidence, start: NormalFactors | None = None
) -> LearnedEffects:
    """Effects learned from T records, ``effects`` and ``evidence`` of those alone.

    Sweeps go on, from the ninth by half steps, until none changes a factor by over 1e-6 or forty
    were made. ``start``, the factors of an earlier fit, saves sweeps and changes no answer by more
    than that. With T = 0 the effects are as before.
    """
    factors = NormalFactors.none(evidence.reach.size) if start is None else start
    pairs = _Pairs.of(effects)
    learned = _condition(effects, pairs, factors, np.inf)
    for sweep in range(_MOST_SWEEPS):
        factors, moved = _refreshed(
            effects, evidence, learned, 1.0 if sweep < _FULL_SWEEPS else 0.5
        )
        learned = _condition(effects, pairs, factors, moved)
        if moved <= MET:
            break
    return learned


@dataclass(frozen=True, slots=True)
class _Pairs:
    """Which two effects (T, W, W) act on a record together: their place in Q x Q, and how much."""

    place: IntArray
    share: FloatArray

    @classmethod
    def of(cls, effects: SharedEffects) -> "_Pairs":
        size = effects.variance.size
        place = effects.effect[:, :, None] * size + effects.effect[:, None, :]
        return cls(place, effects.share[:, :, None] * effects.share[:, None, :])

    def weighed(self, weight: FloatArray, size: int) -> FloatArray:
        """X' W X (Q, Q) of the records' design X, for weights W (T,)."""
        each = self.share * weight[:, None, None]
        total = np.bincount(self.place.ravel(), each.ravel(), size**2)
        return np.asarray(total.reshape(size, size), dtype=np.float64)


def _condition(
    effects: SharedEffects, pairs: _Pairs, factors: NormalFactors, moved: float
) -> LearnedEffects:
    """Posterior of the effects given the factors, by one Cholesky factorisation of their number."""
    size = effects.variance.size
    told = effects.share * factors.weighted_mean[:, None]
    weighted_mean = np.bincount(effects.effect.ravel(), told.ravel(), size)

    def solved(precision: FloatArray) -> tuple[FloatArray, FloatArray]:
        total = pairs.weighed(precision, size) + np.diag(1.0 / effects.variance)
        root = np.linalg.inv(np.linalg.cholesky(total))
        covariance = root.T @ root
        return covariance @ weighted_mean, covariance

    try:
        mean, covariance = solved(factors.precision)
    except np.linalg.LinAlgError:  # too many ambiguous ones to leave any law: they say nothing
        mean, covariance = solved(np.maximum(factors.precision, 0.0))
    return LearnedEffects(mean, covariance, factors, moved)


def _refreshed(
    effects: SharedEffects, evidence: EffectEvidence, learned: LearnedEffects, step: float
) -> tuple[NormalFactors, float]:
    """Every factor anew against all the others, and the most that one of them changed by."""
    old = learned.factors
    centre, variance = learned.cavity(effects)
    whole = variance + effects.own_sd**2
    mean, own = _moments(evidence, centre, whole)
    share = variance / whole
    mean_b = centre + share * (mean - centre)
    variance_b = variance - share * variance + share**2 * own
    precision = np.maximum(1.0 / variance_b - 1.0 / variance, -_MOST_AMBIGUOUS / variance)
    weighted = mean_b * (precision + 1.0 / variance) - centre / variance
    new = NormalFactors(
        old.precision + step * (precision - old.precision),
        old.weighted_mean + step * (weighted - old.weighted_mean),
    )
    moved = np.abs(new.precision - old.precision), np.abs(new.weighted_mean - old.weighted_mean)
    return new, float(max(part.max(initial=0.0) for part in moved))


def _moments(
    evidence: EffectEvidence, mean: FloatArray, variance: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mean and variance of each number under N(mean, variance) times the evidence, (T,) each."""
    reach = evidence.reach
    prior = np.stack([np.zeros_like(mean), reach * mean / variance, -0.5 * reach**2 / variance])
    weight = prior.T @ _POWERS
    weight += evidence.log_likelihood
    weight -= weight.max(axis=1, keepdims=True)
    np.exp(weight, out=weight)
    whole, first, second = (weight @ _POWERS.T).T
    centre = first / whole
    return reach * centre, reach**2 * (second / whole - centre**2)
