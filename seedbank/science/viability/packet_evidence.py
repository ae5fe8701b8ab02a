"""What a packet says of its seed: the germination printed on it, and the harvests it can hold.

**Printed germination** is no test of ours: about 300 seeds were tested for a seller (7 CFR 201 asks
for 400 of most kinds; our choice), between-test correlation .005, and sellers print the better
result: by N(.10, .10^2) probits, mixed over. A figure printed in whole per cent stands for half a
per cent either side. One that is the kind's legal minimum is a promise, no measurement: it says
log Phi((v - probit minimum) / .25). All of these are our choice (``own``). Such evidence comes on
top of what is believed of all bought seed, and is worth 70 to 95 seeds of one's own (computed:
300 with that correlation are worth 120, optimism takes the rest). A table has one peak, and a
higher figure never lowers a belief.

**Harvests.** Seed packed for a season is mostly of the year before it; a day to sow it by
is set one to five years after the harvest. Both our choice.

Outside checks: scipy.stats.betabinom, integration by scipy.integrate.
"""

from typing import Final

import numpy as np
from scipy.special import gammaln, log_ndtr, logsumexp, ndtri

from seedbank.science.quantities import FloatArray, standard_normal_nodes
from seedbank.science.viability.evidence import GRID, count_likelihood

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
        if is_floor(printed, minimum)
        else _measured(printed)
        for printed, minimum in zip(printed_pct.tolist(), minimum_pct.tolist(), strict=True)
    ]
    return np.array(rows).reshape(-1, GRID.size)


def is_floor(printed_pct: float, minimum_pct: float) -> bool:
    """Whether what is printed is but the kind's legal minimum (nan: it has none)."""
    return abs(printed_pct - minimum_pct) < _AT_MINIMUM


def _measured(printed_pct: float) -> FloatArray:
    """One figure: the counts it may stand for summed, the seller's optimism mixed over."""
    counts = counts_meant(printed_pct)
    size, rho = np.full(counts.size, float(SEEDS)), np.full(counts.size, RHO)
    ways = gammaln(SEEDS + 1) - gammaln(counts + 1) - gammaln(SEEDS - counts + 1)
    nodes, weight = standard_normal_nodes(_NODES)
    mixed = [
        logsumexp(count_likelihood(counts, size, rho, GRID + shift) + ways[:, None], axis=0)
        for shift in OPTIMISM + OPTIMISM_SD * nodes
    ]
    return np.asarray(logsumexp(np.array(mixed), axis=0, b=weight[:, None]), dtype=np.float64)


def counts_meant(printed_pct: float) -> FloatArray:
    """Counts of 300 that a printed figure may stand for, at least one."""
    half = 0.5 if float(printed_pct).is_integer() else 0.05
    least = np.ceil((printed_pct - half) * SEEDS / 100.0 - 1e-9)
    most = np.floor((printed_pct + half) * SEEDS / 100.0 + 1e-9)
    if least > most:
        least = most = np.round(printed_pct * SEEDS / 100.0)
    return np.arange(max(least, 0.0), min(most, SEEDS) + 1.0)


PACKED_FOR: Final = {-2: 0.25, -1: 0.70, 0: 0.05}
"""Chance that seed packed for a season is of the harvest so many years from it: our choice."""
SOW_BY: Final = {-5: 0.10, -4: 0.25, -3: 0.30, -2: 0.25, -1: 0.10}
"""Chance that seed to be sown by a year is of the harvest so many years from it: our choice."""
SEASON_BEGINS: Final = 7
"""Seed packed from this month on is for next year's season: common practice."""


def harvest_years_of_packet(
    packed_for: int | None, packed: tuple[int, int | None] | None, sow_by: int | None
) -> dict[int, float]:
    """Chance of each harvest year by what a packet says; empty where it says nothing.

    ``packed_for`` is the season's year, ``packed`` the year and, if known, the month it was packed
    in, ``sow_by`` the year to sow it by. Together their chances multiply; where no year meets both,
    the season tells, promises to sow by differ more. Nothing is packed before the year it ripens.
    """
    season: dict[int, float] = {}
    if packed_for is not None:
        season = _moved(PACKED_FOR, packed_for)
    elif packed is not None:
        year, month = packed
        seasons = (year, year + 1) if month is None else (year + int(month >= SEASON_BEGINS),)
        for one in seasons:
            for harvest, chance in _moved(PACKED_FOR, one).items():
                season[harvest] = season.get(harvest, 0.0) + chance
    if packed is not None:
        season = {year: chance for year, chance in season.items() if year <= packed[0]} or season
    promised = {} if sow_by is None else _moved(SOW_BY, sow_by)
    if not (season and promised):
        return _whole(season or promised)
    both = {year: season[year] * promised[year] for year in season if year in promised}
    return _whole(both or season)


def _moved(chances: dict[int, float], year: int) -> dict[int, float]:
    return {year + away: chance for away, chance in chances.items()}


def _whole(chances: dict[int, float]) -> dict[int, float]:
    """The same in order, adding up to 1."""
    total = sum(chances.values())
    return {year: chances[year] / total for year in sorted(chances)}
