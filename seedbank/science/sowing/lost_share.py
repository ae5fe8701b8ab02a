"""One share lost from two: living seed that stays asleep, and seedlings that are eaten.

Both are known only as beta distributions. A unit is left with chance ready (1 - eaten); the
product of two independent betas is near a beta with its mean and variance (D.-Y. Fan,
Communications in Statistics, Theory and Methods 20:4043-4052, 1991; from memory).

Outside checks: both moments against quadrature, and the chance of enough plants against mixing
over the two shares apart.
"""

from seedbank.science.sowing.emergence import BetaShare


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
