"""Replicates that differ by more than chance: how much, and what the test still tells.

The count in a replicate of n units is beta-binomial: alpha = p (1 - rho) / rho,
beta = (1 - p)(1 - rho) / rho, so the variance is n p (1 - p) (1 + (n - 1) rho) and ``rho`` is the
correlation between two seeds of one replicate (Skellam 1948, J. R. Stat. Soc. B 10:257-261;
Williams 1975, Biometrics 31:949-952). ``rho = 0`` is the binomial.

Outside checks: ``scipy.stats.betabinom`` log-probabilities, the Jeffreys interval at ``rho = 0``,
``scipy.integrate`` for the posteriors, and coverage by simulation.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from seedbank.science.binomial import log_ways
from seedbank.science.quantities import FloatArray, Interval

LARGEST_CORRELATION = 0.99  # all-or-nothing replicates push the estimate to 1
_CELLS = 4096
_CORRELATIONS = 40


def moment_correlation(germinated: ArrayLike, seeds: ArrayLike) -> FloatArray:
    """Intra-class correlation by moments, vectorised over tests, clamped to 0..0.99.

    ``germinated`` and ``seeds`` have shape (..., R), padded with ``seeds == 0``; the answer has
    shape (...). Solves E[X2] = (R - 1) + rho sum((n - 1)(1 - n / N)) for the observed Pearson X2.
    Fewer than two replicates, or none or all germinated, give 0. Source: Williams 1982, Applied
    Statistics 31:144-148 (from memory). Checked by hand for two replicates and by simulation.
    Plugging it in understates the doubt left by few replicates: see
    :func:`posterior_of_uneven_replicates`.
    """
    counts, sizes = _checked(germinated, seeds)
    total = sizes.sum(axis=-1)
    replicates = (sizes > 0).sum(axis=-1)
    chi_square = heterogeneity(counts, sizes)
    share = sizes / np.maximum(total, 1.0)[..., None]
    leverage = (np.maximum(sizes - 1.0, 0.0) * (1.0 - share)).sum(axis=-1)
    rho = (chi_square - (replicates - 1)) / np.where(leverage > 0, leverage, 1.0)
    usable = (replicates >= 2) & (leverage > 0)
    return np.where(usable, np.clip(rho, 0.0, LARGEST_CORRELATION), 0.0)


def heterogeneity(germinated: ArrayLike, seeds: ArrayLike) -> FloatArray:
    """Pearson X2 between replicates, vectorised: shapes (..., R) -> (...), padded with seeds == 0.

    0 when none or all germinated. Checked against ``scipy.stats.chi2_contingency``.
    """
    counts, sizes = _checked(germinated, seeds)
    total = sizes.sum(axis=-1, keepdims=True)
    p = counts.sum(axis=-1, keepdims=True) / np.maximum(total, 1.0)
    spread = np.where(sizes > 0, (counts - sizes * p) ** 2 / np.maximum(sizes, 1.0), 0.0)
    variance = (p * (1.0 - p))[..., 0]
    return np.where(variance > 0, spread.sum(axis=-1) / np.where(variance > 0, variance, 1.0), 0.0)


def log_likelihood(germinated: ArrayLike, seeds: ArrayLike, p: ArrayLike, rho: float) -> FloatArray:
    """Beta-binomial log-likelihood of one test's replicates, for every ``p`` strictly inside 0..1.

    ``germinated``, ``seeds`` shape (R,); ``p`` any shape; the answer has the shape of ``p``.
    Checked against ``scipy.stats.betabinom.logpmf`` and, at ``rho = 0``, ``binom.logpmf``.
    """
    k, n = _checked(germinated, seeds)
    chance = np.asarray(p, dtype=np.float64)[..., None]
    # Rising factorials, factor by factor: exact down to rho = 0, where beta functions cancel.
    step = rho / (1.0 - rho) * np.arange(int(n.max(initial=0)))
    alive, failed, drawn = (_more_than(x, len(step)) for x in (k, n - k, n))
    hits = np.log(chance + step[: len(alive)]) @ alive
    misses = np.log1p(step[: len(failed)] - chance) @ failed
    total = log_ways(n, k).sum() + hits + misses - np.log1p(step[: len(drawn)]) @ drawn
    return np.asarray(total, dtype=np.float64)


def _more_than(counts: FloatArray, limit: int) -> FloatArray:
    """How many counts exceed j, for j = 0 .. max - 1 (at most ``limit``)."""
    length = min(int(counts.max(initial=0)), limit)
    return np.asarray((counts[:, None] > np.arange(length)).sum(axis=0), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class ProportionPosterior:
    """What one test says of a proportion, Jeffreys prior, replicates possibly correlated.

    ``edges`` (C + 1,) ascending from 0 to 1 and ``cumulative`` (C + 1,) the probability below each.
    """

    edges: FloatArray
    cumulative: FloatArray
    none_germinated: bool
    all_germinated: bool

    def probability_at_least(self, proportion: float) -> float:
        """P(proportion of the lot >= ``proportion``). Checked against the beta distribution."""
        return float(1.0 - np.interp(_angle(proportion), _angle(self.edges), self.cumulative))

    def quantile(self, probability: float) -> float:
        """Proportion below which ``probability`` of the posterior lies. Checked as the interval."""
        inside = np.interp(probability, self.cumulative, _angle(self.edges))
        return float(np.sin(inside / 2.0) ** 2)

    def interval(self, level: float) -> Interval:
        """Equal-tailed interval; low is 0 when none and high 1 when all germinated.

        Checked against the Jeffreys interval (Brown, Cai & DasGupta 2001, Stat. Sci. 16:113).
        """
        low = 0.0 if self.none_germinated else self.quantile((1.0 - level) / 2.0)
        high = 1.0 if self.all_germinated else self.quantile((1.0 + level) / 2.0)
        return Interval(low, high, level)


def proportion_posterior(
    germinated: ArrayLike, seeds: ArrayLike, rho: float = 0.0
) -> ProportionPosterior:
    """Posterior of the proportion given one test's replicates, with ``rho`` plugged in.

    ``germinated``, ``seeds`` shape (R,); ``0 <= rho < 1``. Quadrature over the angle
    2 asin(sqrt p), on which the Jeffreys prior is flat, at the middles of 4,096 cells. At
    ``rho = 0`` the interval is Jeffreys' (checked to 1e-6); otherwise checked against
    ``scipy.integrate.quad``. Raises ``ValueError`` for ``rho`` outside 0..1 or impossible counts.
    """
    if not 0.0 <= rho < 1.0:
        raise ValueError(f"rho is a correlation in 0..1 (1 left out), got {rho!r}")
    counts, sizes = _checked(germinated, seeds)
    angles = np.linspace(0.0, np.pi, _CELLS + 1)
    chance = np.sin((angles[:-1] + angles[1:]) / 4.0) ** 2
    log_height = log_likelihood(counts, sizes, chance, rho)
    return _posterior(counts, sizes, angles, np.exp(log_height - log_height.max()))


def posterior_of_uneven_replicates(germinated: ArrayLike, seeds: ArrayLike) -> ProportionPosterior:
    """Posterior of the proportion when replicates disagree, averaged over the unknown ``rho``.

    ``germinated``, ``seeds`` shape (R,). ``rho`` is flat on 0..1 beforehand (40 middle points).
    Two to four replicates fix ``rho`` badly, and plugging an estimate in gives 90 % intervals that
    hold the truth in as few as 67 % of simulated uneven tests (4 x 100, rho 0.3, p 0.85); averaged
    it is 89-100 % over 2 x 20 to 4 x 100, rho 0.05-0.3, p 0.6 and 0.85. Checked against
    ``scipy.integrate.dblquad`` and by simulation.
    """
    counts, sizes = _checked(germinated, seeds)
    rhos = (np.arange(_CORRELATIONS) + 0.5) / _CORRELATIONS
    angles = np.linspace(0.0, np.pi, _CELLS // 4 + 1)
    chance = np.sin((angles[:-1] + angles[1:]) / 4.0) ** 2
    log_height = np.array([log_likelihood(counts, sizes, chance, float(rho)) for rho in rhos])
    return _posterior(counts, sizes, angles, np.exp(log_height - log_height.max()).sum(axis=0))


def _posterior(
    counts: FloatArray, sizes: FloatArray, angles: FloatArray, mass: FloatArray
) -> ProportionPosterior:
    running = np.concatenate([[0.0], np.cumsum(mass)])
    return ProportionPosterior(
        edges=np.sin(angles / 2.0) ** 2,
        cumulative=running / running[-1],
        none_germinated=bool(counts.sum() == 0),
        all_germinated=bool(counts.sum() == sizes.sum()),
    )


def _angle(proportion: float | FloatArray) -> FloatArray:
    return np.asarray(2.0 * np.arcsin(np.sqrt(proportion)), dtype=np.float64)


def _checked(germinated: ArrayLike, seeds: ArrayLike) -> tuple[FloatArray, FloatArray]:
    counts = np.asarray(germinated, dtype=np.float64)
    sizes = np.asarray(seeds, dtype=np.float64)
    if counts.shape != sizes.shape or counts.ndim == 0:
        raise ValueError(f"counts and seeds need one shape, got {counts.shape} and {sizes.shape}")
    if not np.all((counts >= 0) & (counts <= sizes)):
        raise ValueError(f"each count must lie within 0..seeds, got {germinated!r} of {seeds!r}")
    return counts, sizes
