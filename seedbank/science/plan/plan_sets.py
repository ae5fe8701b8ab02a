"""Sets of crops that one variety may have in one plan, and how many crops a set may hold.

Sets grow with the cube of sites x ways x seasons, so where there are more than can be weighed,
the varieties with most sets are planned with fewer crops each (a third crop within a horizon adds
least). What was left out is told, never silently so.

Outside check: the number of sets against all sets enumerated one by one.
"""

import numpy as np

from seedbank.science.plan.plan_problem import MOST_CROPS, PlanProblem, PlanVariety
from seedbank.science.quantities import IntArray

MOST_SETS = 1_000_000
"""Sets of crops weighed in one plan, all varieties together: what takes about 0.3 GB."""


def crops_each(
    problem: PlanProblem, seasons: list[IntArray], most_sets: int = MOST_SETS
) -> IntArray:
    """Crops (V,) a variety may have in the plan, so that all have ``most_sets`` sets at most.

    ``seasons``: of each variety's crop options, in order. Those of most sets lose a crop first; a
    variety's single crops are always weighed.
    """
    varieties = problem.varieties
    counts = [_counts(problem, v, of) for v, of in zip(varieties, seasons, strict=True)]
    may = np.array([v.most_crops for v in varieties], dtype=np.int64)
    sets = np.array([int(count[: n + 1].sum()) for count, n in zip(counts, may, strict=True)])
    while sets.sum() > most_sets and np.any(may > 1):
        most = int(np.argmax(np.where(may > 1, sets, -1)))
        sets[most] -= counts[most][may[most]]
        may[most] -= 1
    return may


def crop_sets(
    problem: PlanProblem,
    variety: PlanVariety,
    season: IntArray,
    *,
    most_crops: int,
    first: int,
    nothing: int,
) -> IntArray:
    """Sets (n, 3) of a variety's crop options sown far enough apart, the empty one first.

    ``season`` (a,) of each option, in order; options are numbered from ``first``, and ``nothing``
    fills up.
    """
    later = season[None, :] >= season[:, None] + _apart(problem, variety)
    sets = np.empty((1, 0), dtype=np.int64)
    pieces = [np.full((1, MOST_CROPS), nothing, dtype=np.int64)]
    for size in range(1, most_crops + 1):
        may = (
            np.ones((sets.shape[0], season.size), dtype=np.bool_)
            if size == 1
            else later[sets[:, -1]]
        )
        row, option = np.nonzero(may)
        sets = np.column_stack([sets[row], option])
        filler = np.full((sets.shape[0], MOST_CROPS - size), nothing, dtype=np.int64)
        pieces.append(np.concatenate([sets + first, filler], axis=1))
    return np.concatenate(pieces)


def _counts(problem: PlanProblem, variety: PlanVariety, season: IntArray) -> IntArray:
    """Sets (4,) of no crop, one, two and three, counted by season without listing them."""
    apart = _apart(problem, variety)
    options = np.bincount(season, minlength=problem.horizon)
    counts = [1]
    ending = options  # sets of one crop, by the season of their last
    for _ in range(MOST_CROPS):
        counts.append(int(ending.sum()))
        before = np.concatenate([np.zeros(apart, dtype=np.int64), np.cumsum(ending)])
        ending = options * before[: options.size]
    return np.array(counts, dtype=np.int64)


def _apart(problem: PlanProblem, variety: PlanVariety) -> int:
    """Least seasons between two sowings; a gardener's own wish only minds that seed is ripe."""
    pinned = any(pin.variety == variety.name and pin.wanted for pin in problem.pins)
    return variety.lead if pinned else max(variety.gap, variety.lead)
