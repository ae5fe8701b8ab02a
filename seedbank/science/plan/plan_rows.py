"""What a season allows, as rows ``use @ chosen <= capacity`` over single crops.

Open crops of one crossing group too near each other can't flower in one season. Who is too near
whom is a graph; a row for each of its largest cliques says it at once and bounds the linear
relaxation more tightly than a row a pair would (``cliques``). Gear, bed and work are sums by
season, through the last season a crop may stand in.

Outside check: the plans that keep these rows are those that keep every limit pair by pair.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import scipy

from seedbank.science.plan.plan_options import CropOptions, standing_options
from seedbank.science.plan.plan_problem import PlanProblem
from seedbank.science.plan.plan_sets import clique_cover
from seedbank.science.quantities import FloatArray, IntArray

_Node = tuple[int, float, int]  # site, distance, variety (-1: any, they exclude each other)
_Cliques = dict[tuple[str, _Node], list[tuple[int, tuple[str, ...]]]]


@dataclass(frozen=True, slots=True, order=True)
class Limit:
    """One thing that may run out in a season.

    ``kind`` is crossing, gear, bed or work; ``name`` the crossing group, gear or site; ``sites``
    those too near each other for the group, in its ``part``-th set of crops that exclude each
    other.
    """

    kind: str
    name: str
    season: int
    sites: tuple[str, ...] = ()
    part: int = 0


@dataclass(frozen=True, slots=True)
class LimitRows:
    """``use`` (A, R) of each limit by each crop option, ``capacity`` (R,) and what each row is."""

    use: "scipy.sparse.csr_array"
    capacity: FloatArray
    limits: tuple[Limit, ...]

    def take(self, options: IntArray, rows: IntArray) -> "LimitRows":
        """Only these crop options and rows."""
        limits = tuple(self.limits[int(row)] for row in rows)
        use = scipy.sparse.csr_array(scipy.sparse.csr_array(self.use[options])[:, rows])
        return LimitRows(use, self.capacity[rows], limits)


def limit_rows(problem: PlanProblem, options: CropOptions) -> LimitRows:
    """Every limit, what each crop takes of it, and what standing crops leave of it.

    ``problem`` must be in order.
    """
    standing = standing_options(problem)
    cliques = _crossing_cliques(problem, options, standing)
    uses = [
        (option, limit, amount)
        for option in range(options.variety.size)
        for limit, amount in _uses(problem, options, option, cliques)
        if amount > 0.0
    ]
    limits = sorted({limit for _, limit, _ in uses})
    number = {limit: row for row, limit in enumerate(limits)}
    capacity = _capacities(problem, limits)
    for crop in range(standing.variety.size):
        for limit, amount in _uses(problem, standing, crop, cliques):
            if limit in number:
                capacity[number[limit]] -= amount
    at = np.array([option for option, _, _ in uses], dtype=np.int64)
    rows = np.array([number[limit] for _, limit, _ in uses], dtype=np.int64)
    amounts = np.array([amount for _, _, amount in uses], dtype=np.float64)
    use = scipy.sparse.csr_array(
        scipy.sparse.coo_array((amounts, (at, rows)), shape=(options.variety.size, len(limits)))
    )
    return LimitRows(use, np.maximum(capacity, 0.0), tuple(limits))


def _uses(
    problem: PlanProblem, options: CropOptions, option: int, cliques: _Cliques
) -> Iterator[tuple[Limit, float]]:
    """Each limit one crop draws on, and how much."""
    v, s = int(options.variety[option]), int(options.site[option])
    variety, site = problem.varieties[v], problem.sites[s].name
    way, sown = variety.ways[int(options.way[option])], int(options.season[option])
    flowers = sown + variety.lead - 1
    for season, bed, work in zip(
        range(sown, flowers + 1), variety.bed_m2, variety.work, strict=True
    ):
        yield Limit("bed", site, season), bed
        yield Limit("work", "", season), work + (way.work if season == flowers else 0.0)
    if way.gear is not None:
        yield Limit("gear", way.gear, flowers), way.gear_units
    if way.open_air:
        for part, sites in cliques.get((variety.group, _node(problem, v, s)), ()):
            yield Limit("crossing", variety.group, flowers, sites, part), 1.0


def _capacities(problem: PlanProblem, limits: list[Limit]) -> FloatArray:
    gear, beds = dict(problem.limits.gear), {site.name: site.bed_m2 for site in problem.sites}
    room = {"crossing": lambda _: 1.0, "work": lambda _: problem.limits.work}
    room |= {"gear": lambda name: gear.get(name, 0.0), "bed": lambda name: beds[name]}
    return np.array([room[limit.kind](limit.name) for limit in limits], dtype=np.float64)


def _node(problem: PlanProblem, variety: int, site: int) -> _Node:
    """Crops alike in what they exclude; those that may share a site stand for themselves."""
    distance = problem.varieties[variety].distance_m
    return site, distance, -1 if distance > problem.sites[site].reach_m else variety


def _crossing_cliques(problem: PlanProblem, *crops: CropOptions) -> _Cliques:
    """By group and node: number and sites of each largest set of crops that exclude each other."""
    groups: dict[str, set[_Node]] = {}
    pairs = {
        pair
        for part in crops
        for pair in zip(part.variety.tolist(), part.site.tolist(), strict=True)
    }
    for v, s in sorted(pairs):
        if any(way.open_air for way in problem.varieties[v].ways):
            groups.setdefault(problem.varieties[v].group, set()).add(_node(problem, v, s))
    metres = problem.distances()
    found: _Cliques = {}
    for group, nodes in groups.items():
        near = {
            a: {b for b in nodes if b != a and metres[a[0], b[0]] < max(a[1], b[1])} for a in nodes
        }
        alone = [c for c in clique_cover(near) if len(c) > 1 or c[0][2] == -1]
        for part, clique in enumerate(alone):
            sites = tuple(sorted({problem.sites[node[0]].name for node in clique}))
            for node in clique:
                found.setdefault((group, node), []).append((part, sites))
    return found
