"""Small gardens drawn at random, and every plan for them: what the solver is held against."""

import itertools
from collections.abc import Iterator

import numpy as np

from seedbank.science.plan.plan import Plan
from seedbank.science.plan.plan_problem import (
    Crop,
    PlanLimits,
    PlanProblem,
    PlanSite,
    PlanVariety,
    SiteGap,
    Stand,
    Way,
)
from seedbank.science.quantities import FloatArray

OPEN = Way("distance")
CAGE = Way("cage", open_air=False, gear="cage", failure=0.1, work=0.5)
HAND = Way("hand-pollination", open_air=False, failure=0.2, work=1.0)


def falling(rng: np.random.Generator, seasons: int, least: float = 0.0) -> FloatArray:
    return np.sort(rng.uniform(least, 1.0, seasons))[::-1].copy()


def small_garden(seed: int, varieties: int = 4, horizon: int = 3) -> PlanProblem:
    """A few varieties of two crossing groups, annual and biennial, in tight quarters."""
    rng = np.random.default_rng(seed)
    chosen = []
    for n in range(varieties):
        lead = int(rng.integers(1, 3))
        ways = (OPEN, CAGE) if rng.random() < 0.7 else (OPEN, HAND)
        chosen.append(
            PlanVariety(
                f"v{n}",
                f"g{rng.integers(2)}",
                falling(rng, horizon + 1),
                falling(rng, horizon + 1, 0.6),
                weight=float(rng.integers(1, 4)),
                failure=float(rng.uniform(0.05, 0.4)),
                ways=ways,
                distance_m=float(rng.choice([0.0, 5.0, 50.0, 500.0])),
                bed_m2=(float(rng.integers(1, 4)),) * lead,
                work=(0.5, 1.0)[2 - lead :],
                gap=lead,
                most_crops=2,
            )
        )
    sites = (PlanSite("a", 4.0, reach_m=10.0, failure=0.02), PlanSite("b", 3.0, reach_m=5.0))
    gaps = (SiteGap("a", "b", float(rng.choice([20.0, 300.0, 900.0]))),)
    stands = (Stand("left to run", "g0", "a", int(rng.integers(horizon)), float(rng.uniform())),)
    limits = PlanLimits(2.0, (("cage", 1.0),))
    return PlanProblem(tuple(chosen), sites, limits, horizon, gaps, stands)


def lost(variety: PlanVariety, crops: tuple[Crop, ...], problem: PlanProblem) -> float:
    """Chance of loss, by every pattern of failing crops and every lot's last season."""
    last = problem.last
    fails = [failure(variety, crop, problem) for crop in crops]
    ends = lambda curve: -np.diff(np.concatenate([[1.0], curve, [0.0]]))  # noqa: E731
    total = 0.0
    for picks in itertools.product(range(last + 2), repeat=1 + len(crops)):
        chance = ends(variety.existing)[picks[0]]
        chance *= np.prod([ends(variety.fresh)[p] for p in picks[1:]])
        for pattern in itertools.product((False, True), repeat=len(crops)):
            luck = np.prod([q if bad else 1 - q for q, bad in zip(fails, pattern, strict=True)])
            lots = [(0, picks[0])]
            for crop, age, bad in zip(crops, picks[1:], pattern, strict=True):
                ripe = crop.season + variety.lead
                if not bad and age > 0 and any(b <= crop.season < d for b, d in lots):
                    lots.append((ripe, ripe + age))
            total += chance * luck * all(d <= last for _, d in lots)
    return float(total)


def failure(variety: PlanVariety, crop: Crop, problem: PlanProblem) -> float:
    way = next(w for w in variety.ways if w.name == crop.way)
    site = next(s for s in problem.sites if s.name == crop.site)
    kept = (1 - variety.failure) * (1 - way.failure) * (1 - site.failure)
    for stand in problem.stands:
        there = (stand.site, stand.season) == (crop.site, crop.season + variety.lead - 1)
        crosses = stand.group == variety.group and stand.variety != variety.name
        if way.open_air and there and crosses and stand.distance_m < variety.distance_m:
            kept *= 1 - stand.crossing
    return float(1 - kept)


def sets_of(variety: PlanVariety, problem: PlanProblem) -> Iterator[tuple[Crop, ...]]:
    """Every set of crops of one variety that it may have by itself."""
    single = [
        Crop(season, site.name, way.name)
        for season in range(problem.horizon)
        for site in problem.sites
        for way in variety.ways
    ]
    gap = max(variety.gap, variety.lead)
    for size in range(variety.most_crops + 1):
        for crops in itertools.combinations(single, size):
            seasons = [crop.season for crop in crops]
            if all(later - sooner >= gap for sooner, later in itertools.pairwise(seasons)):
                yield crops


def allowed(choice: dict[str, tuple[Crop, ...]], problem: PlanProblem) -> bool:
    """Whether a choice keeps every limit, checked crop by crop and pair by pair."""
    grown = [(v, crop) for v in problem.varieties for crop in choice[v.name]]
    gear = dict(problem.limits.gear)
    for season in range(problem.horizon + 2):
        stands = [(v, c) for v, c in grown if c.season <= season < c.season + v.lead]
        blooms = [(v, c) for v, c in stands if season == c.season + v.lead - 1]
        way = {id(c): next(w for w in v.ways if w.name == c.way) for v, c in stands}
        work = sum(v.work[season - c.season] for v, c in stands)
        if work + sum(way[id(c)].work for _, c in blooms) > problem.limits.work + 1e-9:
            return False
        for site in problem.sites:
            here = [(v, c) for v, c in stands if c.site == site.name]
            if sum(v.bed_m2[season - c.season] for v, c in here) > site.bed_m2 + 1e-9:
                return False
        for kind, most in gear.items():
            if sum(way[id(c)].gear == kind for _, c in blooms) > most:
                return False
        outside = [(v, c) for v, c in blooms if way[id(c)].open_air]
        for (v, c), (u, d) in itertools.combinations(outside, 2):
            needed = max(v.distance_m, u.distance_m)
            if v.group == u.group and metres(problem, c.site, d.site) < needed:
                return False
    return True


def metres(problem: PlanProblem, one: str, other: str) -> float:
    if one == other:
        return next(site.reach_m for site in problem.sites if site.name == one)
    for gap in problem.gaps:
        if {gap.site, gap.other} == {one, other}:
            return gap.distance_m
    return float("inf")


def total(plan: Plan, problem: PlanProblem) -> float:
    """The plan's objective, added up again from its crops."""
    crops = plan.choices()
    return sum(v.weight * lost(v, crops[v.name], problem) for v in problem.varieties)
