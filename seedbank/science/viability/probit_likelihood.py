"""Log-likelihood of germination counts on the probit scale, with its slope and curvature.

A test of ``n`` seeds with ``k`` viable is binomial with probability Phi(v), or beta-binomial with
that mean and intra-class correlation rho where its replicates disagree (Skellam 1948, J. R. Stat.
Soc. B 10:257-261). Outside checks: scipy.stats.binom and betabinom, mpmath for far tails.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln, ndtr, psi

from seedbank.science.quantities import BoolArray, FloatArray, IntArray

_ROOT_2_PI = np.sqrt(2.0 * np.pi)
_FAR = 37.0


@dataclass(frozen=True, slots=True)
class LogLikelihood:
    """Value, first derivative and curvature (minus the second), all with respect to ``v``."""

    value: FloatArray
    slope: FloatArray
    curvature: FloatArray

    def put(self, lots: IntArray, other: "LogLikelihood") -> None:
        """Write the rows of ``other`` over those of ``lots``."""
        self.value[lots] = other.value
        self.slope[lots] = other.slope
        self.curvature[lots] = other.curvature


def _tails(v: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """log Phi(-a), log Phi(a) and Phi(-a) for a = |v|, held at 37 where doubles run out.

    Beyond 37 a single seed weighs e^-689: flat or not, no such point keeps any weight.
    """
    small = ndtr(-np.minimum(np.abs(v), _FAR))
    return np.log(small), np.log1p(-small), small


def binomial_value(v: FloatArray, viable: FloatArray, seeds: FloatArray) -> FloatArray:
    """k log Phi(v) + (n - k) log Phi(-v), dropping the constant that does not depend on v."""
    log_small, log_large, _ = _tails(v)
    return _weighed(v > 0.0, log_small, log_large, viable, seeds)


def _weighed(
    up: BoolArray,
    log_small: FloatArray,
    log_large: FloatArray,
    viable: FloatArray,
    seeds: FloatArray,
) -> FloatArray:
    failed = seeds - viable
    of_success = np.where(up, log_large, log_small)
    return np.asarray(
        failed * (log_small + log_large) + (viable - failed) * of_success, dtype=np.float64
    )


def binomial(v: FloatArray, viable: FloatArray, seeds: FloatArray) -> LogLikelihood:
    """Binomial log-likelihood with derivatives; shapes broadcast."""
    log_small, log_large, small = _tails(v)
    up = v > 0.0
    failed = seeds - viable
    hazard_small, hazard_large, curvature = _hazards(v, small, viable, failed)
    return LogLikelihood(
        value=_weighed(up, log_small, log_large, viable, seeds),
        slope=viable * np.where(up, hazard_large, hazard_small)
        - failed * np.where(up, hazard_small, hazard_large),
        curvature=curvature,
    )


def _hazards(
    v: FloatArray, small: FloatArray, viable: FloatArray, failed: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """phi / Phi(-a) and phi / Phi(a) for a = |v|, and a binomial's observed curvature.

    The expected (Fisher) curvature vanishes far out, where log Phi(v) is still as curved as -v^2/2.
    """
    away = np.minimum(np.abs(v), _FAR)
    density = np.exp(-0.5 * away**2) / _ROOT_2_PI
    hazard_small, hazard_large = density / small, density / (1.0 - small)
    of_small = np.where(v > 0.0, failed, viable)
    of_large = viable + failed - of_small
    curved = of_small * hazard_small * (hazard_small - away)
    curved = curved + of_large * hazard_large * (hazard_large + away)
    return hazard_small, hazard_large, np.asarray(curved, dtype=np.float64)


def _beta_shape(v: FloatArray, rho: FloatArray) -> tuple[FloatArray, FloatArray]:
    near = np.clip(v, -_FAR, _FAR)
    concentration = (1.0 - rho) / rho
    return ndtr(near) * concentration, ndtr(-near) * concentration


def beta_binomial_value(
    v: FloatArray, viable: FloatArray, seeds: FloatArray, rho: FloatArray
) -> FloatArray:
    """log B(k + a, n - k + b) - log B(a, b) with a = p (1 - rho) / rho; rho in (0, 1).

    A constant that does not depend on v is dropped.
    """
    a, b = _beta_shape(v, rho)
    return _beta_ratio(a, b, viable, seeds - viable)


def _beta_ratio(a: FloatArray, b: FloatArray, viable: FloatArray, failed: FloatArray) -> FloatArray:
    """log B(viable + a, failed + b) - log B(a, b) up to a constant: a + b is the same for all v."""
    alive = gammaln(viable + a) - gammaln(a)
    return np.asarray(alive + gammaln(failed + b) - gammaln(b), dtype=np.float64)


def beta_binomial(
    v: FloatArray, viable: FloatArray, seeds: FloatArray, rho: FloatArray
) -> LogLikelihood:
    """Beta-binomial log-likelihood; curvature is that of a binomial of the effective size."""
    a, b = _beta_shape(v, rho)
    failed = seeds - viable
    density = np.exp(-0.5 * np.minimum(np.abs(v), _FAR) ** 2) / _ROOT_2_PI
    concentration = (1.0 - rho) / rho
    slope_p = concentration * (psi(viable + a) - psi(failed + b) - psi(a) + psi(b))
    _, _, curved = _hazards(v, _tails(v)[2], viable, failed)
    return LogLikelihood(
        value=_beta_ratio(a, b, viable, failed),
        slope=np.asarray(slope_p * density, dtype=np.float64),
        curvature=np.asarray(curved / (1.0 + (seeds - 1.0) * rho), dtype=np.float64),
    )
