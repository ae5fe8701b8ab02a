"""Losses that are not bad seed: pests' share, and how patchy emergence is.

Pests: each sowing's eaten share is beta with a mean mu common to a protection and a fixed
clumping (losses come in raids, not seed by seed); mu has a beta prior and is learned from own
sowings on a grid. The next sowing's share is the predictive beta with the same two moments.

Patchiness: correlation rho of the fate of units in one patch, learned from counts by station or
by length of row, each sowing's own chance integrated out.

Outside checks: grid posterior against quad, simulated losses of known truth.

One share lost from two: living seed that stays asleep, and seedlings that are eaten.

Both are known only as beta distributions. A unit is left with chance ready (1 - eaten); the
product of two independent betas is near a beta with its mean and variance (D.-Y. Fan,
Communications in Statistics, Theory and Methods 20:4043-4052, 1991; from memory).

Outside checks: both moments against quadrature, and the chance of enough plants against mixing
over the two shares apart.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv, betaln

from seedbank.science.binomial import log_ways
from seedbank.science.quantities import INTERVAL_ENDS, INTERVAL_LEVEL, FloatArray, Interval
from seedbank.science.sowing.emergence import BetaShare
from seedbank.science.sowing.field_shift_prior import PROTECTIONS
from seedbank.science.sowing.patches import Patches

COMMON_PRACTICE = "common practice, no single source"

# Mean share eaten under each protection. Common practice, no single source.
_EATEN_SHARE = {"open": 0.08, "fleece": 0.03, "cold-frame": 0.03, "tunnel": 0.03, "indoors": 0.01}
# Weight of that mean in sowings, and clumping of losses within a sowing. Our choice.
_PRIOR_SOWINGS = 20.0
_PEST_CLUMPING = 0.1
# Correlation within a patch of about this many neighbours. Our choice.
_PATCH_RHO = {"open": 0.06, "fleece": 0.05, "cold-frame": 0.04, "tunnel": 0.04, "indoors": 0.02}
_PATCH_UNITS = 20
_GRID = 200


@dataclass(frozen=True, slots=True)
class EatenRecord:
    """Units sown and eaten in one finished sowing, under one protection."""

    protection: str
    sown: int
    eaten: int


@dataclass(frozen=True, slots=True)
class PestLoss:
    """Share the pests will take of the next sowing: beta, 90 % interval, and what it rests on."""

    share: BetaShare
    range: Interval
    sowings: int
    source: str


def learn_pest_loss(protection: str, records: Sequence[EatenRecord]) -> PestLoss:
    """Share eaten to expect under ``protection``, from own sowings under it and the prior.

    Raises ``ValueError`` on an unknown protection or on more eaten than sown.
    """
    _check_protection(protection)
    own = [r for r in records if r.protection == protection]
    for record in own:
        if not 0 <= record.eaten <= record.sown:
            raise ValueError(f"{record.eaten} eaten of {record.sown} sown is not possible")
    mean, clump = _grid(), 1.0 / _PEST_CLUMPING - 1.0
    start = _EATEN_SHARE[protection]
    log_post = _log_beta(mean, start * _PRIOR_SOWINGS, (1.0 - start) * _PRIOR_SOWINGS)
    for record in own:
        log_post += _log_beta_binomial(
            record.sown, record.eaten, mean * clump, (1.0 - mean) * clump
        )
    weight = _normalised(log_post)
    centre = float(weight @ mean)
    second = float(weight @ (mean**2 + mean * (1.0 - mean) * _PEST_CLUMPING))
    variance = second - centre**2
    total = centre * (1.0 - centre) / variance - 1.0
    share = BetaShare(centre * total, (1.0 - centre) * total)
    source = f"{COMMON_PRACTICE}; {len(own)} of your sowings" if own else COMMON_PRACTICE
    return PestLoss(share, _beta_range(share), len(own), source)


def patchiness_prior(protection: str) -> Patches:
    """Patchiness to reckon with before any patch was counted (our choice)."""
    _check_protection(protection)
    return Patches(_PATCH_RHO[protection], _PATCH_UNITS)


def _check_protection(protection: str) -> None:
    if protection not in PROTECTIONS:
        raise ValueError(f"protection {protection!r} is not one of {', '.join(PROTECTIONS)}")


def _grid() -> FloatArray:
    """Midpoints closer together near 0, where shares live."""
    return np.asarray(((np.arange(_GRID) + 0.5) / _GRID) ** 2)


def _log_beta(value: FloatArray, alpha: float, beta: float) -> FloatArray:
    """Log beta density, with the Jacobian of the squared grid spacing."""
    density = (alpha - 1.0) * np.log(value) + (beta - 1.0) * np.log1p(-value)
    return np.asarray(density + 0.5 * np.log(value))


def _log_beta_binomial(units: int, hits: int, alpha: FloatArray, beta: FloatArray) -> FloatArray:
    log_pmf = (
        log_ways(units, hits) + betaln(hits + alpha, units - hits + beta) - betaln(alpha, beta)
    )
    return np.asarray(log_pmf)


def _normalised(log_weight: FloatArray) -> FloatArray:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _beta_range(share: BetaShare) -> Interval:
    low, high = (float(betaincinv(share.alpha, share.beta, q)) for q in INTERVAL_ENDS)
    return Interval(low, high, INTERVAL_LEVEL)


def lost_share(ready: BetaShare, eaten: BetaShare | None) -> BetaShare:
    """Share lost of what would come up, ``ready`` and ``eaten`` independent.

    With nothing eaten it is what isn't ready, exactly. Parameters must be positive.
    """
    if eaten is None:
        return BetaShare(ready.beta, ready.alpha)
    left = ready.mean * (1.0 - eaten.mean)
    second = _second_moment(ready) * _second_moment(BetaShare(eaten.beta, eaten.alpha))
    total = left * (1.0 - left) / (second - left**2) - 1.0
    return BetaShare((1.0 - left) * total, left * total)


def _second_moment(share: BetaShare) -> float:
    total = share.alpha + share.beta
    return share.mean * (share.alpha + 1.0) / (total + 1.0)
