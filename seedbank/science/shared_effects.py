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

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import logsumexp

from seedbank.science.quantities import FloatArray, IntArray, joined, taken

MET = 1e-6  # no factor changes by more in a last sweep
_AS_BEFORE = 1e-6  # a factor stays while what others say moves by less: of its sd, of its variance
_SETTLED = 1e-3
_FULL_SWEEPS = 8  # half steps from there on
_MOST_SWEEPS = 40
_MOST_AMBIGUOUS = 0.3
REACH_SD = 6.5
"""A grid ends so many prior standard deviations out: long-dead lots live far from the middle."""
PLACES = np.linspace(-1.0, 1.0, 97)
"""Where evidence is tabulated, as shares of its reach."""
_POWERS = np.stack([np.ones_like(PLACES), PLACES, PLACES**2])
_CHUNK = 256  # records whose values stay in the second-level cache


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
        return _Pairs.of(self).spread(covariance)


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
class NormalFactors:
    """Normal likelihood factors in natural form, (R,): precision, and precision times mean.

    ``centre`` and ``variance`` are the law of x b each was made against; nan of those to be made
    anew whatever the others say.
    """

    precision: FloatArray
    weighted_mean: FloatArray
    centre: FloatArray
    variance: FloatArray

    @classmethod
    def none(cls, size: int) -> "NormalFactors":
        """Factors that say nothing."""
        return cls(*np.zeros((2, size)), *np.full((2, size), np.nan))

    def take(self, at: IntArray) -> "NormalFactors":
        """Some of them; -1 stands for one that says nothing."""
        return taken(joined([self, NormalFactors.none(1)]), at)

    def outdated(self, at: IntArray | slice = slice(None)) -> "NormalFactors":
        """The same, those ``at`` to be made anew."""
        centre = np.array(self.centre)
        centre[at] = np.nan
        return replace(self, centre=centre)


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
    than that; those of records whose evidence is another now must be ``outdated``, or none. With
    T = 0 the effects are as before.
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
    """Which two effects (W, W, T) act on a record together: their place in Q x Q, and how much."""

    place: IntArray
    share: FloatArray

    @classmethod
    def of(cls, effects: SharedEffects) -> "_Pairs":
        effect, share = (
            np.ascontiguousarray(effects.effect.T),
            np.ascontiguousarray(effects.share.T),
        )
        return cls(effect[:, None] * effects.variance.size + effect, share[:, None] * share)

    def weighed(self, weight: FloatArray, size: int) -> FloatArray:
        """X' W X (Q, Q) of the records' design X, for weights W (T,)."""
        total = np.bincount(self.place.ravel(), (self.share * weight).ravel(), size**2)
        return np.asarray(total.reshape(size, size), dtype=np.float64)

    def spread(self, covariance: FloatArray) -> FloatArray:
        """Variance (T,) of x b where the effects have this covariance (Q, Q)."""
        return np.asarray(np.sum(self.share * covariance.take(self.place), axis=(0, 1)))


def _inverse(lower: FloatArray) -> FloatArray:
    """That of a lower triangular matrix, by quarters: three times as fast as for any matrix."""
    size, half = lower.shape[0], lower.shape[0] // 2
    if size < 48:
        return np.asarray(np.linalg.inv(lower), dtype=np.float64)
    first, last = _inverse(lower[:half, :half]), _inverse(lower[half:, half:])
    answer = np.zeros_like(lower)
    answer[:half, :half], answer[half:, half:] = first, last
    answer[half:, :half] = -last @ (lower[half:, :half] @ first)
    return answer


def _condition(
    effects: SharedEffects, pairs: _Pairs, factors: NormalFactors, moved: float
) -> LearnedEffects:
    """Posterior of the effects given the factors, by one Cholesky factorisation of their number."""
    size = effects.variance.size
    told = effects.share * factors.weighted_mean[:, None]
    weighted_mean = np.bincount(effects.effect.ravel(), told.ravel(), size)

    def solved(precision: FloatArray) -> tuple[FloatArray, FloatArray]:
        total = pairs.weighed(precision, size) + np.diag(1.0 / effects.variance)
        root = _inverse(np.asarray(np.linalg.cholesky(total), dtype=np.float64))
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
    """Factors anew where the others' law has changed, and the most that one of them changed by."""
    old = learned.factors
    centre, variance = learned.cavity(effects)
    away = np.abs(centre - old.centre) / np.sqrt(variance), np.abs(variance / old.variance - 1.0)
    at = np.flatnonzero(~(np.maximum(*away) <= _AS_BEFORE))
    centre, variance = centre[at], variance[at]
    whole = variance + effects.own_sd[at] ** 2
    mean, own = _moments(evidence, at, centre, whole)
    share = variance / whole
    mean_b = centre + share * (mean - centre)
    variance_b = variance - share * variance + share**2 * own
    precision = np.maximum(1.0 / variance_b - 1.0 / variance, -_MOST_AMBIGUOUS / variance)
    weighted = mean_b * (precision + 1.0 / variance) - centre / variance
    change = step * (precision - old.precision[at]), step * (weighted - old.weighted_mean[at])
    made_against = centre if step == 1.0 else np.full_like(centre, np.nan)  # else: not all the way
    moved = old.precision[at] + change[0], old.weighted_mean[at] + change[1]
    columns = [
        np.array(part) for part in (old.precision, old.weighted_mean, old.centre, old.variance)
    ]
    for column, values in zip(columns, (*moved, made_against, variance), strict=True):
        column[at] = values
    most = max(float(np.abs(part).max(initial=0.0)) for part in change)
    return NormalFactors(*columns), most


def _moments(
    evidence: EffectEvidence, at: IntArray, mean: FloatArray, variance: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mean and variance (n,) of some numbers under N(mean, variance) times their evidence."""
    reach = evidence.reach[at]
    linear = np.stack([np.zeros_like(mean), reach * mean / variance, -0.5 * reach**2 / variance], 1)
    sums, room = np.empty((reach.size, 3)), np.empty((_CHUNK, PLACES.size))
    for start in range(0, reach.size, _CHUNK):
        part = slice(start, start + _CHUNK)
        values = evidence.log_likelihood[at[part]]
        weight = room[: values.shape[0]]
        np.matmul(linear[part], _POWERS, out=weight)
        weight += values
        weight -= weight.max(axis=1, keepdims=True)
        np.exp(weight, out=weight)
        np.matmul(weight, _POWERS.T, out=sums[part])
    whole, first, second = sums.T
    centre = first / whole
    return reach * centre, reach**2 * (second / whole - centre**2)
