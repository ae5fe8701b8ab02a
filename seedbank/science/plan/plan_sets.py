"""Sets of crops that one variety may have in one plan, and how many crops a set may hold.

Sets grow with the cube of sites x ways x seasons, so where there are more than can be weighed,
the varieties with most sets are planned with fewer crops each (a third crop within a horizon adds
least). What was left out is told, never silently so.

Outside check: the number of sets against all sets enumerated one by one.

Sets of nodes that all exclude each other: rows that say of many pairs at once "one of these".

The more pairs a row says, the tighter the linear relaxation of what they limit (Padberg 1973,
Mathematical Programming 5, 199, from memory); any cover of the pairs is right. All largest cliques
are best, but a graph may have exponentially many (Moon & Moser 1965, Israel Journal of Mathematics
3, 23, from memory), so beyond a number one largest clique is grown around each pair not yet said.

Outside check: networkx's cliques of random graphs, and pair by pair that none is left out.
"""

from collections.abc import Hashable, Iterator, Mapping
from itertools import islice
from typing import Protocol, Self, TypeVar

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


class _Sortable(Hashable, Protocol):
    def __lt__(self, other: Self, /) -> bool: ...


Node = TypeVar("Node", bound=_Sortable)
Graph = Mapping[Node, set[Node]]

MOST_CLIQUES = 200
"""Largest cliques of one graph that are all used: our choice."""


def clique_cover(near: Graph[Node], most: int = MOST_CLIQUES) -> list[list[Node]]:
    """Largest cliques, sorted, that hold every pair of ``near``, and every node without a pair.

    ``near``: of each node those it excludes, not itself; both ways. All largest cliques, unless
    there are more than ``most``.
    """
    found = list(islice(largest_cliques(near), most + 1))
    return sorted(sorted(clique) for clique in (found if len(found) <= most else _covering(near)))


def largest_cliques(near: Graph[Node]) -> Iterator[list[Node]]:
    """Bron & Kerbosch 1973, Communications of the ACM 16, 575 (from memory), with a pivot."""

    def grow(clique: list[Node], may: set[Node], done: set[Node]) -> Iterator[list[Node]]:
        if not may and not done:
            yield clique
            return
        pivot = max(sorted(may | done), key=lambda node: len(near[node] & may))
        for node in sorted(may - near[pivot]):
            yield from grow([*clique, node], may & near[node], done & near[node])
            may, done = may - {node}, done | {node}

    if near:
        yield from grow([], set(near), set())


def _covering(near: Graph[Node]) -> Iterator[list[Node]]:
    """One largest clique around each pair none before holds, no more than there are pairs."""
    unsaid = {node: set(others) for node, others in near.items()}
    for node in sorted(near):
        if not near[node]:
            yield [node]
        while unsaid[node]:
            clique = [node]
            may = set(near[node])
            while may:
                # Who says most that is still unsaid joins first; of equals the first by order.
                joins = max(sorted(may), key=lambda one: len(unsaid[one].intersection(clique)))
                clique.append(joins)
                may &= near[joins]
            for one in clique:
                unsaid[one].difference_update(clique)
            yield clique
