"""How many seeds of a test come up: exact distribution at each viability node."""

import numpy as np
from scipy.special import gammaln, log_ndtr, ndtr

from seedbank.science.quantities import FloatArray, ProbitNodes

_FAR = 37.0  # probits; the normal tail there is 1e-300, still a number


def count_probabilities(
    nodes: ProbitNodes, seeds: int, overdispersion: FloatArray | float = 0.0
) -> FloatArray:
    """P(k of ``seeds`` come up | node), shape (L, N, seeds + 1).

    ``overdispersion`` is the intra-class correlation rho of the whole test, scalar or (L,), in
    0 <= rho < 1: 0 is binomial, else beta-binomial with mean p and a + b = (1 - rho) / rho
    (Skellam 1948, JRSS B 10:257-261). Outside checks: scipy ``binom`` and ``betabinom``.
    Raises ValueError for a negative count or rho outside its range.
    """
    rho = np.broadcast_to(np.asarray(overdispersion, dtype=np.float64), nodes.probit.shape[:1])
    if seeds < 0:
        raise ValueError(f"seeds must be 0 or more, got {seeds}")
    if np.any(~((rho >= 0) & (rho < 1))):
        raise ValueError("overdispersion must lie in 0 <= rho < 1")
    probit = np.clip(nodes.probit, -_FAR, _FAR)
    count = np.arange(seeds + 1, dtype=np.float64)
    log_ways = gammaln(seeds + 1) - gammaln(count + 1) - gammaln(seeds - count + 1)
    if not rho.any():
        up, down = log_ndtr(probit), log_ndtr(-probit)
        logs = (up - down)[..., None] * count
        logs += (seeds * down)[..., None] + log_ways
    else:
        up = _urn_logs(ndtr(probit), seeds, rho)
        down = _urn_logs(ndtr(-probit), seeds, rho)
        drawn = np.log((1 - rho)[:, None] + rho[:, None] * np.arange(seeds)).sum(axis=1)
        logs = up + down[..., ::-1] + log_ways - drawn[:, None, None]
    return np.asarray(np.exp(logs, out=logs), dtype=np.float64)


def _urn_logs(share: FloatArray, seeds: int, rho: FloatArray) -> FloatArray:
    """Log of prod_{j<k} (share (1 - rho) + j rho) for k = 0..seeds: the urn form of the count."""
    draws = (share * (1 - rho[:, None]))[..., None] + rho[:, None, None] * np.arange(seeds)
    logs = np.zeros((*share.shape, seeds + 1))
    np.cumsum(np.log(draws), axis=-1, out=logs[..., 1:])
    return logs
