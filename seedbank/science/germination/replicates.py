"""Do the replicates of a test agree, or did something besides chance part them?

Replicates of 100 are held against the published tolerances (7 CFR 201.55, ISTA Rules table 5B,
passed in as a :class:`ToleranceTable`). Any other sizes, equal or not, are judged by the exact
conditional distribution: given how many germinated in all, equal chances make the split over
replicates multivariate hypergeometric, whatever the chance (Fisher 1950, Biometrics 6:17-24, for
the exact test of homogeneity). Disagreement is a p-value under 2.5 %, the level at which the
published tables were drawn up (Miles 1963, Proc. Int. Seed Test. Assoc. 28:525-686, from memory).

Outside checks: enumeration with ``scipy.stats.multivariate_hypergeom``; the published 7 CFR 201.55
columns.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate

import numpy as np
from numpy.typing import ArrayLike

from seedbank.science.binomial import binomial_pmf
from seedbank.science.germination.overdispersion import heterogeneity
from seedbank.science.quantities import FloatArray, IntArray

DISAGREEMENT_LEVEL = 0.025
_GRID_STEPS = 4_000  # resolution of the statistic where exact counting would cost too much
_WORK = 2e9  # greatest number of additions spent on an exact answer (about a second)
_SURE = 60.0  # a Pearson X2 this far up is first tried at the cap, which bounds the p-value


class Rule(StrEnum):
    SINGLE = "single replicate"
    TABLE = "published tolerance"
    EXACT = "exact distribution"


@dataclass(frozen=True, slots=True)
class ToleranceTable:
    """Greatest range allowed between replicates of 100, by their average (7 CFR 201.55 layout).

    ``average_high_pct`` and ``average_low_pct`` (K,) whole percent, the two halves of the table
    (a row serves both); ``max_range`` maps the number of replicates to (K,) allowed ranges in
    percentage points, NaN where the table is blank.
    """

    average_high_pct: FloatArray
    average_low_pct: FloatArray
    max_range: dict[int, FloatArray]
    source: str
    seeds_per_replicate: int = 100

    def tolerated(self, mean_pct: float, replicates: int) -> float | None:
        """Allowed range for this average, rounded half up to a whole percent; None if not given.

        Checked against rows of 7 CFR 201.55.
        """
        column = self.max_range.get(replicates)
        if column is None:
            return None
        whole = np.floor(mean_pct + 0.5)
        row = np.flatnonzero((self.average_high_pct == whole) | (self.average_low_pct == whole))
        if len(row) == 0 or np.isnan(column[row[0]]):
            return None
        return float(column[row[0]])


@dataclass(frozen=True, slots=True)
class Agreement:
    """Whether replicates agree, by which rule, and the numbers behind it.

    ``p_value``: chance of a split at least this uneven if only chance were at work, or an upper
    bound of it (``exact_p_value``). ``range_pct``: highest less lowest replicate, percentage
    points. ``tolerated_range_pct``: None for replicates of unequal size.
    """

    agrees: bool
    rule: Rule
    p_value: float
    range_pct: float
    tolerated_range_pct: float | None


def judge_agreement(
    germinated: ArrayLike, seeds: ArrayLike, table: ToleranceTable | None = None
) -> Agreement:
    """Judge one test's replicates, ``germinated`` and ``seeds`` of shape (R,).

    The published table decides where it has a row (2 or 4 replicates of 100, average inside the
    table); everything else, also an average of 0 or 100 %, is decided by the exact p-value
    against 2.5 %. One replicate agrees with itself. Raises ``ValueError`` for impossible counts,
    empty replicates or none. Checked against the published columns and enumeration.
    """
    counts, sizes = _checked(germinated, seeds)
    share_pct = 100.0 * counts / sizes
    spread = float(share_pct.max() - share_pct.min())
    if len(counts) == 1:
        return Agreement(True, Rule.SINGLE, 1.0, 0.0, None)
    p_value, _ = exact_p_value(counts, sizes)
    equal = bool(np.all(sizes == sizes[0]))
    if table is not None and equal and sizes[0] == table.seeds_per_replicate:
        allowed = table.tolerated(float(share_pct.mean()), len(counts))
        if allowed is not None:
            agrees = spread <= allowed
            return Agreement(agrees, Rule.TABLE, p_value, spread, allowed)
    limit = None
    if equal:
        widest = tolerated_range_given_total(int(counts.sum()), int(sizes[0]), len(counts))
        limit = 100.0 * widest / float(sizes[0])
    return Agreement(p_value >= DISAGREEMENT_LEVEL, Rule.EXACT, p_value, spread, limit)


def exact_p_value(germinated: ArrayLike, seeds: ArrayLike) -> tuple[float, bool]:
    """P(Pearson X2 >= the one seen | total germinated, one common chance), and whether a bound.

    Shapes (R,). Exact, ties included, by convolution over replicates of (sum, statistic) in whole
    units. Two cases answer with an upper bound instead (second value True): many replicates whose
    sizes have no small common multiple, where the statistic is laid on a grid of 4,000 steps and
    near ties count as reached; and an X2 beyond 60 whose tail is under 1e-9 anyhow.
    Checked against enumeration of every split.
    """
    counts, sizes = _checked(germinated, seeds)
    total, everything = int(counts.sum()), int(sizes.sum())
    if len(counts) == 1 or total in (0, everything):
        return 1.0, False
    chi_square = float(heterogeneity(counts, sizes))
    variance = total / everything * (1.0 - total / everything)
    scale = math.lcm(*sizes.tolist())
    units = min(chi_square, _SURE) * variance * scale
    on_grid = units * everything * (everything + len(sizes)) > _WORK
    steps = _GRID_STEPS / max(chi_square * variance, 1.0)
    parts = _contributions(sizes, total, 0 if on_grid else scale, steps)
    observed = sum(int(part[k]) for part, k in zip(parts, counts, strict=True))
    if on_grid:
        observed -= len(counts)  # each part was rounded by half a step, the seen one too
    if chi_square > _SURE and not on_grid:
        capped = 1.0 - _below(parts, sizes, total, int(observed * _SURE / chi_square))
        if capped < 1e-9:
            return max(capped, 0.0), True
    return float(np.clip(1.0 - _below(parts, sizes, total, observed), 0.0, 1.0)), on_grid


def _contributions(sizes: IntArray, total: int, scale: int, steps: float) -> list[IntArray]:
    """Each replicate's share of the statistic for x = 0..n germinated, whole, from 0 up.

    Given the total, X2 rises with sum x^2 / n. A term linear in x only adds a constant, so
    ``scale x^2 / n - 2 a x`` with a near scale * mean keeps the numbers small and whole.
    """
    parts = []
    for n in sizes.tolist():
        x = np.arange(n + 1)
        if scale:
            centre = round(scale * total / int(sizes.sum()))
            part = scale // n * x**2 - 2 * centre * x
        else:
            mean = total / float(sizes.sum())
            part = np.rint((x - n * mean) ** 2 / n * steps).astype(np.int64)
        parts.append(np.asarray(part - part.min(), dtype=np.int64))
    return parts


def _below(parts: list[IntArray], sizes: IntArray, total: int, limit: int) -> float:
    """P(summed contributions < limit | total), by convolution over replicates."""
    if limit <= 0:
        return 0.0
    chance = total / float(sizes.sum())
    windows = [np.flatnonzero(part < limit) for part in parts]
    lows = list(accumulate(int(w[0]) for w in windows))
    highs = list(accumulate(int(w[-1]) for w in windows))
    if not lows[-1] <= total <= highs[-1]:  # no split of the total is that even
        return 0.0
    table = np.zeros((1, limit))
    table[0, 0] = 1.0
    start = 0
    for i, (part, window, n) in enumerate(zip(parts, windows, sizes.tolist(), strict=True)):
        weight = binomial_pmf(window, n, chance)  # the chance cancels in the conditioning
        # Sums that the replicates to come can still bring to the total.
        first = max(lows[i], total - (highs[-1] - highs[i]))
        last = min(highs[i], total - (lows[-1] - lows[i]))
        grown = np.zeros((last - first + 1, limit))
        for x, w in zip(window.tolist(), weight.tolist(), strict=True):
            shift, cost = start + x - first, int(part[x])
            top, bottom = max(shift, 0), min(shift + len(table), len(grown))
            if top < bottom:
                grown[top:bottom, cost:] += w * table[top - shift : bottom - shift, : limit - cost]
        table, start = grown, first
    return float(table[total - start].sum() / binomial_pmf(total, int(sizes.sum()), chance))


def tolerated_range_given_total(
    total: int, seeds_per_replicate: int, replicates: int, level: float = DISAGREEMENT_LEVEL
) -> int:
    """Greatest range (seeds) between equal replicates not exceeded more than ``level`` of the time.

    Exact, given the total germinated: the smallest w with P(range > w | total) <= level. For two
    replicates the range has the parity of the total, so neighbouring totals step by two.
    Checked against enumeration; against 7 CFR 201.55 (total = replicates x the tabled average)
    20 of 47 entries for two and 36 of 49 for four replicates are equal, all but one within 1.
    """
    n, tail = seeds_per_replicate, 1.0 - level
    if total in (0, n * replicates):
        return 0
    chance = total / (n * replicates)
    pmf = binomial_pmf(np.arange(n + 1), n, chance)
    whole = float(binomial_pmf(total, n * replicates, chance))
    low, high = 0, n
    while low < high:
        middle = (low + high) // 2
        inside = _within(pmf, total, replicates, middle) / whole
        low, high = (low, middle) if inside >= tail - 1e-12 else (middle + 1, high)
    return low


def _within(pmf: FloatArray, total: int, replicates: int, width: int) -> float:
    """P(range <= width and sum = total): windows starting at a, less those that miss a itself."""
    inside = 0.0
    for a in range(len(pmf)):
        inside += _sum_is(pmf[a : a + width + 1], a, total, replicates)
        inside -= _sum_is(pmf[a + 1 : a + width + 1], a + 1, total, replicates)
    return inside


def _sum_is(weights: FloatArray, offset: int, total: int, replicates: int) -> float:
    wanted = total - offset * replicates
    if len(weights) == 0 or not 0 <= wanted <= (len(weights) - 1) * replicates:
        return 0.0
    grown = np.ones(1)
    for _ in range(replicates):
        grown = np.convolve(grown, weights)
    return float(grown[wanted])


def _checked(germinated: ArrayLike, seeds: ArrayLike) -> tuple[IntArray, IntArray]:
    counts, sizes = np.asarray(germinated), np.asarray(seeds)
    if counts.shape != sizes.shape or counts.ndim != 1 or len(counts) == 0:
        raise ValueError(
            f"counts and seeds need one shape (R,), got {counts.shape} and {sizes.shape}"
        )
    if not (np.all(sizes >= 1) and np.all((counts >= 0) & (counts <= sizes))):
        raise ValueError(f"each count must lie within 0..seeds, got {germinated!r} of {seeds!r}")
    if not (np.all(counts == np.rint(counts)) and np.all(sizes == np.rint(sizes))):
        raise ValueError(f"counts are whole seeds, got {germinated!r} of {seeds!r}")
    return counts.astype(np.int64), sizes.astype(np.int64)
