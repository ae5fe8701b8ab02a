"""What one finished sowing says about its field shift, as a normal likelihood factor.

The likelihood of the emerged count is mixed over the lot's viability at the time (nodes) and
binomial or patchy noise, on a grid of shifts; multiplied by the shift's current distribution
(the cavity) its mean and variance are taken by quadrature, and the normal factor giving those
moments is the observation. That is expectation propagation with exact one-dimensional moments:
T.P. Minka, Uncertainty in Artificial Intelligence 17:362-369 (2001).

Units eaten, frosted or dried out are not bad seed: they leave the trial count.

Outside check: moments by a dense grid (``tests/science/test_field_shift_learning.py``).
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import betaln, gammaln, ndtri

from seedbank.science.emergence import WeightedNodes, compress, emergence_probability, legendre_rule
from seedbank.science.field_shift_prior import SowingConditions
from seedbank.science.plant_counts import NO_PATCHES, Patches
from seedbank.science.quantities import FloatArray

_GRID = 56
_REACH_SD = 6.0
_FOCUS_SD = 9.0
_VIABILITY_CELLS = 96
_COARSE_CELLS = 24


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
class NormalFactor:
    """A normal likelihood factor in natural form: precision, and precision times mean."""

    precision: float
    weighted_mean: float


def shift_likelihood(
    record: SowingRecord, shift: FloatArray, cells: int = _VIABILITY_CELLS
) -> FloatArray:
    """Likelihood of the emerged count at each total shift (S,), up to a constant factor."""
    if record.trials == 0:
        return np.ones_like(shift)
    alive = compress(
        emergence_probability(record.viability.value, 0.0),
        record.viability.weight,
        cells,
    )
    from_alive = _probits(alive.value)
    chance = emergence_probability(from_alive[:, None], shift[None, :], record.ready)
    log_like = _log_count_probability(record, np.clip(chance, 1e-12, 1.0 - 1e-12))
    peak = log_like.max()
    return np.asarray(alive.weight @ np.exp(log_like - peak))


def _probits(probability: FloatArray) -> FloatArray:
    return np.asarray(ndtri(np.clip(probability, 1e-12, 1.0 - 1e-12)), dtype=np.float64)


def _log_count_probability(record: SowingRecord, chance: FloatArray) -> FloatArray:
    """Binomial, or one beta-binomial with the variance of independent patches."""
    trials, emerged = record.trials, record.emerged
    factor = float(record.patches.inflation(np.asarray(float(trials))))
    if factor <= 1.0 or trials == 1:
        return np.asarray(emerged * np.log(chance) + (trials - emerged) * np.log1p(-chance))
    rho = (factor - 1.0) / (trials - 1.0)
    scale = (1.0 - rho) / rho
    alpha, beta = chance * scale, (1.0 - chance) * scale
    ways = gammaln(trials + 1.0) - gammaln(emerged + 1.0) - gammaln(trials - emerged + 1.0)
    log_pmf = ways + betaln(emerged + alpha, trials - emerged + beta) - betaln(alpha, beta)
    return np.asarray(log_pmf)


def _grid(low: float, high: float) -> tuple[FloatArray, FloatArray]:
    """Gauss-Legendre points and weights, split at 0 where the likelihood bends."""
    edges = [low, 0.0, high] if low < 0.0 < high else [low, high]
    point, weight = legendre_rule(_GRID)
    half = np.diff(edges)[:, None] / 2.0
    middle = (np.array(edges[:-1]) + np.array(edges[1:]))[:, None] / 2.0
    return np.asarray((middle + half * point).ravel()), np.asarray((half * weight).ravel())


def tilted_moments(record: SowingRecord, mean: float, sd: float) -> tuple[float, float]:
    """Mean and variance of the shift given N(mean, sd^2) before and the record's count.

    A first pass over six standard deviations finds where the mass lies, a second resolves it:
    a large sowing of a well-known lot pins the shift far more finely than the cavity does.
    """
    low, high = mean - _REACH_SD * sd, mean + _REACH_SD * sd
    centre, variance = _moments(record, mean, sd, low, high, _COARSE_CELLS)
    reach = max(_FOCUS_SD * float(np.sqrt(variance)), 2.0 * (high - low) / _GRID)
    return _moments(record, mean, sd, max(low, centre - reach), min(high, centre + reach))


def _moments(
    record: SowingRecord,
    mean: float,
    sd: float,
    low: float,
    high: float,
    cells: int = _VIABILITY_CELLS,
) -> tuple[float, float]:
    grid, gauss = _grid(low, high)
    weight = (
        gauss * np.exp(-0.5 * ((grid - mean) / sd) ** 2) * shift_likelihood(record, grid, cells)
    )
    total = weight.sum()
    if not total > 0.0:
        raise ValueError(f"the count {record.emerged} is impossible under the shift assumed")
    centre = float(weight @ grid / total)
    return centre, float(weight @ (grid - centre) ** 2 / total)


def normal_factor(record: SowingRecord, mean: float, sd: float) -> NormalFactor:
    """The normal factor for the total shift that reproduces the tilted moments.

    A record with nothing countable, or that does not narrow the shift, gives precision 0.
    """
    if record.trials == 0:
        return NormalFactor(0.0, 0.0)
    centre, variance = tilted_moments(record, mean, sd)
    precision = 1.0 / variance - 1.0 / sd**2
    if precision <= 1e-9:
        return NormalFactor(0.0, 0.0)
    return NormalFactor(precision, centre / variance - mean / sd**2)
