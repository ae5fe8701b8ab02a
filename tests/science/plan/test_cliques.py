"""Cliques against networkx, and pair by pair."""

import itertools

import networkx
import numpy as np
import pytest

from seedbank.science.plan.plan_sets import clique_cover, largest_cliques

Near = dict[int, set[int]]


def drawn(seed: int, nodes: int, share: float) -> Near:
    rng = np.random.default_rng(seed)
    near: Near = {node: set() for node in range(nodes)}
    for a, b in itertools.combinations(range(nodes), 2):
        if rng.random() < share:
            near[a].add(b)
            near[b].add(a)
    return near


def twins(pairs: int) -> Near:
    """Everyone excludes everyone but a twin: 2 ** pairs largest cliques (Moon & Moser 1965)."""
    nodes = range(2 * pairs)
    return {a: {b for b in nodes if b // 2 != a // 2} for a in nodes}


def said(cliques: list[list[int]]) -> set[tuple[int, int]]:
    return {pair for clique in cliques for pair in itertools.combinations(clique, 2)}


def pairs_of(near: Near) -> set[tuple[int, int]]:
    return {(a, b) for a, others in near.items() for b in others if a < b}


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("share", [0.0, 0.3, 0.7, 1.0])
def test_the_largest_cliques_are_those_another_library_finds(seed: int, share: float) -> None:
    near = drawn(seed, 12, share)
    graph = networkx.Graph({node: list(others) for node, others in near.items()})
    theirs = sorted(sorted(clique) for clique in networkx.find_cliques(graph))
    assert sorted(sorted(clique) for clique in largest_cliques(near)) == theirs
    assert clique_cover(near, most=len(theirs)) == theirs


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("share", [0.0, 0.3, 0.7, 1.0])
def test_a_cover_says_every_pair_and_no_other_by_cliques_that_cannot_grow(
    seed: int, share: float
) -> None:
    near = drawn(seed, 14, share)
    cover = clique_cover(near, most=0)
    assert said(cover) == pairs_of(near)
    assert {node for clique in cover for node in clique} == set(near)
    for clique in cover:
        assert not set.intersection(*(near[node] for node in clique))
    assert len(cover) <= max(len(pairs_of(near)), len(near))


def test_where_there_are_too_many_largest_cliques_a_few_say_every_pair() -> None:
    assert len(clique_cover(twins(7))) == 2**7
    near = twins(40)
    cover = clique_cover(near)
    assert said(cover) == pairs_of(near)
    assert len(cover) < 200


def test_no_nodes_have_no_cliques() -> None:
    assert clique_cover({}) == []
