"""Sets of nodes that all exclude each other: rows that say of many pairs at once "one of these".

The more pairs a row says, the tighter the linear relaxation of what they limit (Padberg 1973,
Mathematical Programming 5, 199, from memory); any cover of the pairs is right. All largest cliques
are best, but a graph may have exponentially many (Moon & Moser 1965, Israel Journal of Mathematics
3, 23, from memory), so beyond a number one largest clique is grown around each pair not yet said.

Outside check: networkx's cliques of random graphs, and pair by pair that none is left out.
"""

from collections.abc import Hashable, Iterator, Mapping
from itertools import islice
from typing import Protocol, Self, TypeVar


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
