"""From seed viability to seedlings: field stress shifts emergence on the probit scale.

    P(a unit emerges) = ready x Phi(v - shift) x (1 - pest)

``v`` is the lot's viability in probits, ``ready`` the share of viable seed neither dormant nor
hard, ``shift`` (probits, never below 0: dead seed does not emerge) what the seedbed costs, and
``pest`` the share eaten. Stress moves probits, not percentages, so the same seedbed takes more
from an old lot than from a fresh one.

Source: R.H. Ellis & E.H. Roberts, Annals of Botany 45:13-30 (1980); Seed Science and Technology
9:373-409 (1981).

Outside checks: closed form for two normals, mpmath integrals, the printed factors themselves.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
import scipy
from numpy.typing import ArrayLike

from seedbank.science.quantities import FloatArray, ProbitNodes

# The viability at which published field factors are read as probit shifts: about what merchants'
# seed tested in those trials germinated. Our choice.
REFERENCE_VIABILITY = 0.90

LEFT_BY_FAILURE = 0.1
"""What comes up of a sowing that failed outright, of what else would; our choice."""

_SHIFT_NODES = 64
_SHIFT_REACH_SD = 6.0
_PEST_NODES = 48
_CELLS = 96


@dataclass(frozen=True, slots=True)
class BetaShare:
    """A share between 0 and 1 known as a beta distribution (``alpha``, ``beta`` > 0)."""

    alpha: float
    beta: float

    @property
    def mean(self) -> float:
        return self.alpha / (self.alpha + self.beta)


@dataclass(frozen=True, slots=True)
class ShiftLaw:
    """What a seedbed costs: N(``mean``, ``sd``^2) in probits, held at or above 0.

    With chance ``failure`` the sowing fails outright, and a tenth of what else would come up does.
    ``own_sd`` is the part of ``sd`` that another sowing in the same bed and season doesn't share.
    """

    mean: float
    sd: float = 0.0
    failure: float = 0.0
    own_sd: float = 0.0


@dataclass(frozen=True, slots=True)
class WeightedNodes:
    """A distribution as points and weights, both of shape (K,); weights sum to 1."""

    value: FloatArray
    weight: FloatArray

    @property
    def mean(self) -> float:
        return float(self.value @ self.weight)


def shift_of_factor(factor: ArrayLike, viability: float = REFERENCE_VIABILITY) -> FloatArray:
    """The probit shift that makes ``viability`` emerge as ``factor x viability``.

    ``factor`` is the published ratio of field emergence to laboratory germination, 0 < factor
    <= 1; ``viability`` a fraction. Raises ``ValueError`` outside those ranges.
    """
    ratio = np.asarray(factor, dtype=np.float64)
    if not 0.0 < viability < 1.0:
        raise ValueError(f"viability must lie between 0 and 1, got {viability!r}")
    if np.any(~((ratio > 0.0) & (ratio <= 1.0))):
        raise ValueError(f"a field factor must be above 0 and at most 1, got {factor!r}")
    return np.asarray(
        scipy.special.ndtri(viability) - scipy.special.ndtri(ratio * viability), dtype=np.float64
    )


def emergence_probability(
    probit: ArrayLike, shift: ArrayLike, ready: float = 1.0, pest: ArrayLike = 0.0
) -> FloatArray:
    """Chance that one sown unit emerges and is not eaten; arguments broadcast together."""
    effective = np.maximum(np.asarray(shift, dtype=np.float64), 0.0)
    rise = scipy.special.ndtr(np.asarray(probit, dtype=np.float64) - effective)
    return np.asarray(ready * rise * (1.0 - np.asarray(pest, dtype=np.float64)))


@cache
def legendre_rule(count: int) -> tuple[FloatArray, FloatArray]:
    """Gauss-Legendre points and weights on -1..1, worked out once for each ``count``."""
    point, weight = np.polynomial.legendre.leggauss(count)
    point.setflags(write=False)
    weight.setflags(write=False)
    return point, weight


def shift_nodes(mean: float, sd: float, count: int = _SHIFT_NODES) -> WeightedNodes:
    """Nodes for a normal shift held at or above 0.

    The mass below 0 becomes one node at 0; the rest is Gauss-Legendre over six standard
    deviations, so the bend at 0 costs no accuracy (Gauss-Hermite would straddle it). Raises
    ``ValueError`` when ``sd`` is negative.
    """
    if sd < 0.0:
        raise ValueError(f"sd must not be negative, got {sd!r}")
    low, high = max(0.0, mean - _SHIFT_REACH_SD * sd), mean + _SHIFT_REACH_SD * sd
    if sd == 0.0 or high <= 0.0:
        return WeightedNodes(np.array([max(mean, 0.0)]), np.ones(1))
    point, gauss = legendre_rule(count)
    value = low + (high - low) * (point + 1.0) / 2.0
    weight = gauss * np.exp(-0.5 * ((value - mean) / sd) ** 2)
    below = float(scipy.special.ndtr(-mean / sd))
    weight *= (1.0 - below) / weight.sum()
    return WeightedNodes(np.append(value, 0.0), np.append(weight, below))


def share_nodes(share: BetaShare | None, count: int = _PEST_NODES) -> WeightedNodes:
    """Gauss-Jacobi nodes for a beta-distributed share; one node at 0 when there is none."""
    if share is None:
        return WeightedNodes(np.zeros(1), np.ones(1))
    if share.alpha <= 0.0 or share.beta <= 0.0:
        raise ValueError(f"alpha and beta must be positive, got {share!r}")
    point, weight = scipy.special.roots_jacobi(count, share.beta - 1.0, share.alpha - 1.0)
    return WeightedNodes((1.0 + point) / 2.0, weight / weight.sum())


def compress(value: FloatArray, weight: FloatArray, cells: int = _CELLS) -> WeightedNodes:
    """Fewer nodes for a distribution over a probability, keeping its moments.

    The range 0..1 is cut into ``cells`` of equal width in arcsin(sqrt(p)) (where binomial noise
    has constant width) and each cell replaced by its own two-point Gauss rule, which keeps
    weight, mean, variance and skew of the cell. ``value`` and ``weight`` have the same shape.
    """
    flat, mass = value.ravel(), weight.ravel()
    position = np.arcsin(np.sqrt(np.clip(flat, 0.0, 1.0))) * (2.0 / np.pi)
    cell = np.minimum((position * cells).astype(np.int64), cells - 1)
    total = np.bincount(cell, mass, cells)
    used = total > 0.0
    safe = np.where(used, total, 1.0)
    centre = np.bincount(cell, mass * flat, cells) / safe
    gap = flat - centre[cell]
    variance = (np.bincount(cell, mass * gap**2, cells) / safe)[used]
    third = (np.bincount(cell, mass * gap**3, cells) / safe)[used]
    return _two_point_rules(
        centre[used], variance, third, np.asarray(total[used], dtype=np.float64)
    )


def _two_point_rules(
    centre: FloatArray, variance: FloatArray, third: FloatArray, total: FloatArray
) -> WeightedNodes:
    spread = variance > 1e-18
    lean = np.divide(third, 2.0 * variance, out=np.zeros_like(third), where=spread)
    reach = np.sqrt(lean**2 + np.where(spread, variance, 0.0))
    low, high = lean - reach, lean + reach
    upper = np.divide(-low, high - low, out=np.zeros_like(low), where=spread)
    value = np.concatenate([centre + low, centre + high])
    weight = np.concatenate([total * (1.0 - upper), total * upper])
    keep = weight > 0.0
    return WeightedNodes(np.clip(value[keep], 0.0, 1.0), weight[keep] / weight[keep].sum())


def lot_viability(viability: ProbitNodes, lot: int = 0) -> WeightedNodes:
    """One lot's row of ``viability`` as nodes on the probit scale."""
    return WeightedNodes(viability.probit[lot], viability.weight[lot])


def emergence_nodes(
    viability: WeightedNodes, law: ShiftLaw, pest: BetaShare | None = None, ready: float = 1.0
) -> WeightedNodes:
    """What is known of the chance that one unit gives a plant, all uncertainty mixed in.

    ``viability`` holds probits (K,). Returns nodes over a probability. Raises ``ValueError``
    when ``ready`` is not between 0 and 1.
    """
    if not 0.0 <= ready <= 1.0:
        raise ValueError(f"ready must lie between 0 and 1, got {ready!r}")
    shift = shift_nodes(law.mean, law.sd)
    chance = emergence_probability(viability.value[:, None], shift.value[None, :], ready)
    weight = viability.weight[:, None] * shift.weight[None, :]
    if law.failure > 0.0:
        chance = np.concatenate([chance, LEFT_BY_FAILURE * chance])
        weight = np.concatenate([(1.0 - law.failure) * weight, law.failure * weight])
    risen = compress(chance, weight)
    return risen if pest is None else left_by_pests(risen, pest)


def left_by_pests(risen: WeightedNodes, pest: BetaShare) -> WeightedNodes:
    """The chance that a unit comes up and is not eaten, from that of coming up."""
    eaten = share_nodes(pest)
    left = risen.value[:, None] * (1.0 - eaten.value[None, :])
    return compress(left, risen.weight[:, None] * eaten.weight[None, :])
