"""What one finished sowing says about its field shift, as a normal likelihood factor.

The likelihood of the emerged count is mixed over the lot's viability at the time (nodes) and
binomial or patchy noise; multiplied by the shift's current distribution (the cavity) its mean and
variance are taken by quadrature, and the normal factor giving those moments is the observation.
That is expectation propagation with exact one-dimensional moments: T.P. Minka, Uncertainty in
Artificial Intelligence 17:362-369 (2001).

A likelihood doesn't depend on the cavity, so it is tabulated once a record, as a cubic spline
over the shift, and the moments of all records are taken in one go.

Units eaten, frosted or dried out are not bad seed: they leave the trial count.

Outside check: moments by a dense grid (``tests/science/sowing/test_field_shift_learning.py``).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy
from scipy.special import gammaln, ndtri

from seedbank.science.quantities import BoolArray, FloatArray, IntArray, NormalFactors
from seedbank.science.sowing.emergence import (
    WeightedNodes,
    compress,
    emergence_probability,
    legendre_rule,
)
from seedbank.science.sowing.field_shift_prior import SowingConditions
from seedbank.science.sowing.patches import NO_PATCHES, Patches

_GRID = 56
_REACH_SD = 6.0
_FOCUS_SD = 9.0
_VIABILITY_CELLS = 96
# Tabulated shifts: where past the last of them nothing comes up, the likelihood stays as it is. The
# step follows the narrowest a count can make the likelihood: one over the root of the trials, those
# in a patch being worth fewer.
_TABLE_END = 9.0
_LEAST_LOG = -700.0  # of the peak; what is smaller is no float
_WIDEST_STEP, _FINEST_STEP, _STEP_OF_WIDTH = 0.05, 0.008, 0.3


@dataclass(frozen=True, slots=True)
class SowingRecord:
    """A finished sowing: what was sown, what came, what was lost to known causes.

    ``emerged`` units seen; ``eaten``, ``frosted`` and ``dried_out`` units known lost that are
    not among the emerged. ``viability`` holds the lot's probits at sowing (K,); ``ready`` the
    share of viable seed not dormant. Raises ``ValueError`` on impossible counts.
    """

    conditions: SowingConditions
    sown: int
    emerged: int
    viability: WeightedNodes
    eaten: int = 0
    frosted: int = 0
    dried_out: int = 0
    ready: float = 1.0
    patches: Patches = NO_PATCHES

    def __post_init__(self) -> None:
        if min(self.emerged, self.eaten, self.frosted, self.dried_out) < 0:
            raise ValueError(f"counts must not be negative, got {self!r}")
        if self.sown < 1 or self.emerged > self.sown:
            raise ValueError(f"{self.emerged!r} emerged of {self.sown!r} sown is not possible")

    @property
    def trials(self) -> int:
        """Units whose fate speaks of seed and seedbed: sown less those lost to known causes."""
        return max(self.sown - self.eaten - self.frosted - self.dried_out, self.emerged)


@dataclass(frozen=True, slots=True)
class ShiftTable:
    """One record's log likelihood over the shift: ``step`` (probits), cubics (4, G)."""

    step: float
    cubics: FloatArray
    tells: bool


@dataclass(frozen=True, slots=True)
class ShiftTables:
    """The tables of R records end to end; ``start`` (R,) says where each begins."""

    step: FloatArray
    start: IntArray
    length: IntArray
    tells: BoolArray
    cubics: FloatArray

    @classmethod
    def of(cls, tables: Sequence[ShiftTable]) -> "ShiftTables":
        length = np.array([one.cubics.shape[1] for one in tables], dtype=np.int64)
        return cls(
            np.array([one.step for one in tables]),
            np.asarray(np.cumsum(length) - length),
            length,
            np.array([one.tells for one in tables], dtype=np.bool_),
            np.concatenate([np.zeros((4, 0)), *(one.cubics for one in tables)], axis=1),
        )

    def log_likelihood(self, shift: FloatArray) -> FloatArray:
        """Log likelihood (R, S) of each record at its own shifts, up to a constant a record."""
        held = np.clip(shift, 0.0, _TABLE_END)
        step = self.step[:, None]
        place = np.minimum((held / step).astype(np.int64), self.length[:, None] - 1)
        past = held - place * step
        three, two, one, none = self.cubics[:, self.start[:, None] + place]
        return np.asarray(((three * past + two) * past + one) * past + none)


def tabulate(record: SowingRecord) -> ShiftTable:
    """The record's log likelihood as a spline over shifts from 0 on; below 0 it is as at 0."""
    if record.trials == 0:
        return ShiftTable(_TABLE_END, np.zeros((4, 1)), False)
    trials = np.asarray(float(record.trials))
    fine = _STEP_OF_WIDTH * np.sqrt(record.patches.inflation(trials) / trials)
    pieces = int(np.ceil(_TABLE_END / np.clip(fine, _FINEST_STEP, _WIDEST_STEP)))
    shift = np.linspace(0.0, _TABLE_END, pieces + 1)
    with np.errstate(divide="ignore"):
        log_like = np.log(shift_likelihood(record, shift))

    spline = scipy.interpolate.CubicSpline(shift, np.maximum(log_like, _LEAST_LOG))
    return ShiftTable(_TABLE_END / pieces, np.asarray(spline.c), True)


def shift_likelihood(record: SowingRecord, shift: FloatArray) -> FloatArray:
    """Likelihood of the emerged count at each total shift (S,), up to a constant factor."""
    if record.trials == 0:
        return np.ones_like(shift)
    alive = compress(
        emergence_probability(record.viability.value, 0.0),
        record.viability.weight,
        _VIABILITY_CELLS,
    )
    from_alive = _probits(alive.value)
    chance = emergence_probability(from_alive[:, None], shift[None, :], record.ready)
    log_like = _log_count_probability(record, np.clip(chance, 1e-12, 1.0 - 1e-12))
    peak = log_like.max()
    return np.asarray(alive.weight @ np.exp(log_like - peak))


def _probits(probability: FloatArray) -> FloatArray:
    return np.asarray(ndtri(np.clip(probability, 1e-12, 1.0 - 1e-12)), dtype=np.float64)


def _log_count_probability(record: SowingRecord, chance: FloatArray) -> FloatArray:
    """Binomial, or one beta-binomial with the variance of independent patches; constants left."""
    trials, emerged = record.trials, record.emerged
    factor = float(record.patches.inflation(np.asarray(float(trials))))
    if factor <= 1.0 or trials == 1:
        return np.asarray(emerged * np.log(chance) + (trials - emerged) * np.log1p(-chance))
    rho = (factor - 1.0) / (trials - 1.0)
    scale = (1.0 - rho) / rho
    alpha, beta = chance * scale, (1.0 - chance) * scale
    # Beta functions without the gammas that are the same at every chance.
    log_pmf = gammaln(emerged + alpha) - gammaln(alpha)
    log_pmf += gammaln(trials - emerged + beta) - gammaln(beta)
    return np.asarray(log_pmf)


def _grids(low: FloatArray, high: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Gauss-Legendre points and weights (R, 2 G) from low to high, split at 0: the bend there."""
    split = np.clip(0.0, low, high)
    point, weight = legendre_rule(_GRID)
    parts = [
        (middle[:, None] + half[:, None] * point, half[:, None] * weight)
        for middle, half in (
            ((low + split) / 2.0, (split - low) / 2.0),
            ((split + high) / 2.0, (high - split) / 2.0),
        )
    ]
    points, weights = zip(*parts, strict=True)
    return np.concatenate(points, axis=1), np.concatenate(weights, axis=1)


def tilted_moments(
    tables: ShiftTables, mean: FloatArray, sd: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mean and variance (R,) of each shift given N(mean, sd^2) before and the record's count.

    A first pass over six standard deviations finds where the mass lies, a second resolves it:
    a large sowing of a well-known lot pins the shift far more finely than the cavity does.
    """
    low, high = mean - _REACH_SD * sd, mean + _REACH_SD * sd
    centre, variance = _moments(tables, mean, sd, low, high)
    reach = np.maximum(_FOCUS_SD * np.sqrt(variance), 2.0 * (high - low) / _GRID)
    return _moments(
        tables, mean, sd, np.maximum(low, centre - reach), np.minimum(high, centre + reach)
    )


def _moments(
    tables: ShiftTables, mean: FloatArray, sd: FloatArray, low: FloatArray, high: FloatArray
) -> tuple[FloatArray, FloatArray]:
    grid, gauss = _grids(low, high)
    log_weight = tables.log_likelihood(grid) - 0.5 * ((grid - mean[:, None]) / sd[:, None]) ** 2
    weight = gauss * np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    total = weight.sum(axis=1)
    centre = (weight * grid).sum(axis=1) / total
    return centre, (weight * (grid - centre[:, None]) ** 2).sum(axis=1) / total


def normal_factors(tables: ShiftTables, mean: FloatArray, sd: FloatArray) -> NormalFactors:
    """The normal factors for the total shifts that reproduce the tilted moments.

    A record with nothing countable, or that does not narrow the shift, gives precision 0.
    """
    centre, variance = tilted_moments(tables, mean, sd)
    precision = 1.0 / variance - 1.0 / sd**2
    tells = tables.tells & (precision > 1e-9)
    weighted = centre / variance - mean / sd**2
    return NormalFactors(np.where(tells, precision, 0.0), np.where(tells, weighted, 0.0))
