"""How well seed keeps in this garden, learned from every lot's tests for all lots at once.

lam, the log of how much longer than typical a lot keeps, is a sum of effects and of what is the
lot's own: lam_i = x_i b + own_i, b ~ N(0, diag(variance)), own_i ~ N(0, lot_sd_i^2). The effects
(garden, place, kind, saver) are shared, so that one lot's tests speak for its neighbours.

Expectation propagation (T.P. Minka, UAI 17:362-369, 2001, from memory) on one number a lot: what
its evidence says of x_i b is held as a normal factor, refreshed against all other lots' factors.
A factor's precision may be negative: a lot whose evidence is ambiguous widens its neighbours'
doubt. All factors are refreshed at once until they settle: the answer
depends on the data alone, never on the order they came in. Outside checks: sums over dense grids,
MCMC over all unknowns (``tests/benchmarks``), and simulated gardens of known truth.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.linalg import LinAlgError, cho_factor, cho_solve
from scipy.sparse import csr_array
from scipy.special import logsumexp

from seedbank.science.quantities import FloatArray, IntArray, NormalFactors
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior_scan import (
    Priors,
    log_density,
    modes_of_rows,
)

MET = 1e-6  # no factor changes by more in a last sweep
_SETTLED = 1e-3
_FULL_SWEEPS = 8  # half steps from there on
_MOST_SWEEPS = 40
_MOST_AMBIGUOUS = 0.3
REACH_SD = 6.5
"""The grid of lam ends so many prior standard deviations out: long-dead lots live far from 0."""
_COARSE = 49
_FINER = 2
_PLACES = np.linspace(-1.0, 1.0, (_COARSE - 1) * _FINER + 1)
_POWERS = np.stack([np.ones_like(_PLACES), _PLACES, _PLACES**2])
_CHUNK = 512


@dataclass(frozen=True, slots=True)
class SharedEffects:
    """Which effects act on each of L lots, up to W each, and how widely the Q effects spread.

    ``effect`` (L, W) indexes the effects; ``share`` (L, W) is how much of each acts, 0 where none
    does; ``variance`` (Q,) is each effect's; ``lot_sd`` (L,) the spread that is the lot's own.
    """

    effect: IntArray
    share: FloatArray
    variance: FloatArray
    lot_sd: FloatArray

    def take(self, lots: IntArray) -> "SharedEffects":
        return SharedEffects(self.effect[lots], self.share[lots], self.variance, self.lot_sd[lots])

    @property
    def prior_variance(self) -> FloatArray:
        """Variance (L,) of each lot's lam before any test."""
        return np.asarray(
            np.sum(self.share**2 * self.variance[self.effect], axis=1) + self.lot_sd**2
        )

    def centre(self, mean: FloatArray) -> FloatArray:
        """x b (L,) at these effects (Q,)."""
        return np.asarray(np.sum(self.share * mean[self.effect], axis=1))

    def spread(self, covariance: FloatArray) -> FloatArray:
        """Variance (L,) of x b where the effects have this covariance (Q, Q)."""
        pair = covariance[self.effect[:, :, None], self.effect[:, None, :]]
        return np.asarray(np.einsum("li,lij,lj->l", self.share, pair, self.share))


@dataclass(frozen=True, slots=True)
class PaceEvidence:
    """What each lot's own tests say of lam: log likelihood (T, 97) at even steps of lam.

    The steps go from ``-reach`` to ``reach`` (T,). K is integrated out. A constant added to a lot's
    values means nothing.
    """

    reach: FloatArray
    log_likelihood: FloatArray

    def log_chance(self, sd: FloatArray) -> FloatArray:
        """log chance (T,) of each lot's tests where lam ~ N(0, ``sd``^2), up to a constant."""
        step = self.reach * (_PLACES[1] - _PLACES[0])
        prior = -0.5 * (self.reach[:, None] * _PLACES / sd[:, None]) ** 2
        return np.asarray(logsumexp(self.log_likelihood + prior, axis=1) + np.log(step / sd))


def pace_evidence(priors: Priors, observations: Observations) -> PaceEvidence:
    """Evidence on lam of lots (T,) with tests; ``priors.log_sigma_sd`` only sets the grid's reach.

    K's law is normal times the tests' likelihood: for each lam summed by the trapezoid rule around
    its mode. 49 values of lam are worked out, and cubic pieces give those between.
    """
    size = priors.ki_mean.shape[0]
    values = np.empty((size, _COARSE))
    reach = REACH_SD * priors.log_sigma_sd
    for part in _parts(size):
        lam = reach[part, None] * _PLACES[::_FINER]
        values[part] = _k_summed_out(priors.take(part), observations.take(part), lam)
    return PaceEvidence(reach, values @ _spline())


def _parts(size: int) -> Iterator[IntArray]:
    for start in range(0, size, _CHUNK):
        yield np.arange(start, min(start + _CHUNK, size))


_AROUND = np.linspace(-6.0, 6.0, 21)


def _k_summed_out(priors: Priors, observations: Observations, lam: FloatArray) -> FloatArray:
    flat = Priors(priors.ki_mean, priors.ki_sd, np.full(priors.ki_mean.shape, np.inf))
    mode, _, curvature = modes_of_rows(flat, observations, lam)
    scale = 1.0 / np.sqrt(curvature)
    k = mode[:, :, None] + scale[:, :, None] * _AROUND
    value = log_density(flat, observations, lam[:, :, None], k)
    top = value.max(axis=2)
    return np.asarray(
        top + np.log(np.exp(value - top[:, :, None]).sum(axis=2) * scale), dtype=np.float64
    )


@cache
def _spline() -> FloatArray:
    """Matrix (49, 97) from values at the coarse steps to those at all."""
    from scipy.interpolate import CubicSpline  # only when needed: it takes a while to load

    pieces = CubicSpline(_PLACES[::_FINER], np.eye(_COARSE))
    return np.asarray(pieces(_PLACES).T, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class LearnedKeeping:
    """The effects as this garden's tests have taught them.

    ``mean`` (Q,) and ``covariance`` (Q, Q) of the effects; ``factors`` of the lots that taught;
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
        """Mean and sd (L,) of lam for lots that have taught nothing."""
        variance = effects.spread(self.covariance) + effects.lot_sd**2
        return effects.centre(self.mean), np.sqrt(variance)

    def without_own(self, effects: SharedEffects) -> tuple[FloatArray, FloatArray]:
        """Mean and sd (T,) of lam for each lot that taught, from all the others alone."""
        mean, variance = self.cavity(effects)
        return mean, np.sqrt(variance + effects.lot_sd**2)

    def cavity(self, effects: SharedEffects) -> tuple[FloatArray, FloatArray]:
        """Mean and variance (T,) of x b for each lot that taught, without its own factor."""
        spread = effects.spread(self.covariance)
        variance = 1.0 / (1.0 / spread - self.factors.precision)
        mean = variance * (effects.centre(self.mean) / spread - self.factors.weighted_mean)
        return mean, variance


def learn_keeping(
    effects: SharedEffects, evidence: PaceEvidence, start: NormalFactors | None = None
) -> LearnedKeeping:
    """Effects learned from T lots, ``effects`` and ``evidence`` of those lots alone.

    Sweeps go on, from the ninth by half steps, until none changes a factor by over 1e-6 or forty
    were made. ``start``, the factors of an earlier fit, saves sweeps and changes no answer by more
    than that. With T = 0 the effects are as before.
    """
    factors = NormalFactors.none(evidence.reach.size) if start is None else start
    learned = _condition(effects, factors, np.inf)
    for sweep in range(_MOST_SWEEPS):
        factors, moved = _refreshed(
            effects, evidence, learned, 1.0 if sweep < _FULL_SWEEPS else 0.5
        )
        learned = _condition(effects, factors, moved)
        if moved <= MET:
            break
    return learned


def _condition(effects: SharedEffects, factors: NormalFactors, moved: float) -> LearnedKeeping:
    """Posterior of the effects given the factors, by one Cholesky factorisation of their number."""
    lots, width = effects.effect.shape
    design = csr_array(
        (effects.share.ravel(), effects.effect.ravel(), np.arange(lots + 1) * width),
        shape=(lots, effects.variance.size),
    )

    def solved(precision: FloatArray) -> tuple[FloatArray, FloatArray]:
        scaled = csr_array(
            ((effects.share * precision[:, None]).ravel(), design.indices, design.indptr),
            shape=design.shape,
        )
        total = (design.T @ scaled).toarray() + np.diag(1.0 / effects.variance)
        covariance = cho_solve(cho_factor(total, lower=True), np.eye(effects.variance.size))
        return covariance @ (design.T @ factors.weighted_mean), covariance

    try:
        mean, covariance = solved(factors.precision)
    except LinAlgError:  # too many ambiguous lots at one place to leave any law: they say nothing
        mean, covariance = solved(np.maximum(factors.precision, 0.0))
    return LearnedKeeping(mean, covariance, factors, moved)


def _refreshed(
    effects: SharedEffects, evidence: PaceEvidence, learned: LearnedKeeping, step: float
) -> tuple[NormalFactors, float]:
    """Every factor anew against all the others, and the most that one of them changed by."""
    old = learned.factors
    centre, variance = learned.cavity(effects)
    whole = variance + effects.lot_sd**2
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
    evidence: PaceEvidence, mean: FloatArray, variance: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mean and variance of lam under N(mean, variance) times the evidence, (T,) each."""
    reach = evidence.reach
    prior = np.stack([np.zeros_like(mean), reach * mean / variance, -0.5 * reach**2 / variance])
    weight = prior.T @ _POWERS
    weight += evidence.log_likelihood
    weight -= weight.max(axis=1, keepdims=True)
    np.exp(weight, out=weight)
    whole, first, second = (weight @ _POWERS.T).T
    centre = first / whole
    return reach * centre, reach**2 * (second / whole - centre**2)
