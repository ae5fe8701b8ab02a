"""What a packet says of its seed: the germination printed on it, and the harvests it can hold.

**Printed germination** is no test of ours: about 300 seeds were tested for a seller (7 CFR 201 asks
for 400 of most kinds; our choice), between-test correlation .005, and sellers print the better
result: by N(.10, .10^2) probits, mixed over. A figure printed in whole per cent stands for half a
per cent either side. One that is the kind's legal minimum is a promise, no measurement: it says
log Phi((v - probit minimum) / .25). All of these are our choice (``own``). Such evidence comes on
top of what is believed of all bought seed. It is log-concave: more printed never lowers a belief.

**Harvests.** Seed packed for a season is mostly of the autumn but one before it; a day to sow it by
is set one to five years after the harvest. Both our choice.

Outside checks: scipy.stats.betabinom, integration by scipy.integrate.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.polynomial.hermite_e import hermegauss
from scipy.special import gammaln, log_ndtr, logsumexp, ndtri

from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.viability.evidence import GRID, LOW, STEP, count_likelihood

SEEDS: Final = 300
RHO: Final = 0.005
OPTIMISM, OPTIMISM_SD = 0.10, 0.10
"""Probits by which the seed tested for the seller was better than what is in the packet."""
FLOOR_SD: Final = 0.25
"""Probits within which a legal minimum is kept."""
_AT_MINIMUM: Final = 0.25
"""Per cent within which what is printed is the minimum."""
_NODES: Final = 9


def printed_likelihood(printed_pct: FloatArray, minimum_pct: FloatArray) -> FloatArray:
    """log likelihood (T, 501) over the probit of viability at the table's points.

    ``printed_pct`` (T,) as on the packet, 0..100; ``minimum_pct`` (T,) the kind's legal minimum,
    nan where there is none. Of a figure with decimals half its last digit stands on either side,
    but never less than one seed of 300.
    """
    rows = [
        log_ndtr((GRID - ndtri(minimum / 100.0)) / FLOOR_SD)
        if abs(printed - minimum) < _AT_MINIMUM
        else _measured(printed)
        for printed, minimum in zip(printed_pct.tolist(), minimum_pct.tolist(), strict=True)
    ]
    return np.array(rows).reshape(-1, GRID.size)


def _measured(printed_pct: float) -> FloatArray:
    """One figure: the counts it may stand for summed, the seller's optimism mixed over."""
    counts = counts_meant(printed_pct).astype(np.float64)
    of_each = count_likelihood(counts, np.full(counts.size, SEEDS), np.full(counts.size, RHO))
    ways = gammaln(SEEDS + 1) - gammaln(counts + 1) - gammaln(SEEDS - counts + 1)
    told = logsumexp(of_each + ways[:, None], axis=0)
    nodes, weight = hermegauss(_NODES)
    shifted = [_moved(told, OPTIMISM + OPTIMISM_SD * float(node)) for node in nodes]
    return np.asarray(logsumexp(np.array(shifted), axis=0, b=(weight / weight.sum())[:, None]))


def counts_meant(printed_pct: float) -> IntArray:
    """Counts of 300 that a printed figure may stand for, at least one."""
    half = 0.5 if float(printed_pct).is_integer() else 0.05
    least = np.ceil((printed_pct - half) * SEEDS / 100.0 - 1e-9)
    most = np.floor((printed_pct + half) * SEEDS / 100.0 + 1e-9)
    if least > most:
        least = most = np.round(printed_pct * SEEDS / 100.0)
    return np.arange(max(least, 0), min(most, SEEDS) + 1, dtype=np.int64)


def _moved(values: FloatArray, by: float) -> FloatArray:
    """Values at the points moved up ``by``; beyond the last ones straight on."""
    return np.asarray(np.interp(GRID + by, GRID, values))
