"""Seasons played through with crops that fail and lots that die, to see what a policy loses.

Each season a policy sees the garden as known (``PlanProblem``: curves, not fates) and names the
crops to sow. Luck is drawn beforehand by the caller's generator, one number a lot and one a crop,
so that policies are compared on the same luck. What is seen teaches: a lot that raised a crop was
alive, and its curve is conditioned on that (Bayes); one that could not is known dead.

Outside check: a fixed calendar of crops loses as often as the exact chance of loss says.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from seedbank.science.plan.plan_problem import Crop, PlanProblem, PlanVariety, Standing
from seedbank.science.quantities import FloatArray
from seedbank.science.saving.saving_survival import any_lot, crop_failure

Policy = Callable[[PlanProblem, Mapping[str, float]], Mapping[str, tuple[Crop, ...]]]
"""Crops by variety from the garden as known and the age of each variety's newest lot; only those
of season 0 are sown."""


@dataclass(frozen=True, slots=True)
class Luck:
    """Uniform numbers: ``existing`` (V,), ``crop`` (V, S) by season of sowing, ``fresh`` (V, S) by
    season of harvest."""

    existing: FloatArray
    fresh: FloatArray
    crop: FloatArray


@dataclass(frozen=True, slots=True)
class Played:
    """``lost``: names of varieties no lot can carry on at the end, ``weight`` lost with them;
    ``by_season`` (S,): varieties lost by the end of each season; ``crops`` sown in all."""

    lost: tuple[str, ...]
    weight: float
    by_season: tuple[int, ...]
    crops: int


@dataclass(slots=True)
class _Fate:
    """One variety as it truly is: lots as (first season, curve by age, its number), newest age."""

    variety: PlanVariety
    known: FloatArray  # by season from now on
    lots: list[tuple[int, FloatArray, float]]
    saved_in: float
    standing: Standing | None = None
    succeeds: bool = False

    def alive(self, season: int) -> bool:
        return any(
            first <= season and number < curve[min(season - first, curve.size - 1)]
            for first, curve, number in self.lots
        )


def draw_luck(rng: np.random.Generator, varieties: int, seasons: int) -> Luck:
    """Luck for a simulation, from the caller's generator."""
    fresh, crop = rng.random((varieties, seasons)), rng.random((varieties, seasons))
    return Luck(rng.random(varieties), fresh, crop)


def simulate_plan(
    problem: PlanProblem,
    policy: Policy,
    luck: Luck,
    *,
    judged: int,
    ages: Mapping[str, float] | None = None,
) -> Played:
    """Play as many seasons as ``luck`` holds; the policy plans anew each season.

    ``existing`` and ``fresh`` curves must reach through all seasons played and ``judged`` more:
    each season's question is judged ``judged`` seasons on. Pins and stands are those of a single
    season and are not carried over. Raises ValueError when curves are too short.
    """
    ordered = replace(problem, pins=(), stands=()).in_order()
    seasons = luck.crop.shape[1]
    if ordered.last < seasons + judged:
        raise ValueError(f"curves must reach {seasons + judged} seasons, got {ordered.last}")
    fates = [
        _Fate(v, v.existing, [(0, v.existing, float(number))], -(ages or {}).get(v.name, 0.0))
        for v, number in zip(ordered.varieties, luck.existing, strict=True)
    ]
    sown, by_season = 0, []
    for season in range(seasons):
        seen = _question(ordered, fates, judged)
        age = {fate.variety.name: season - fate.saved_in for fate in fates}
        chosen = policy(seen, age)
        for v, fate in enumerate(fates):
            now = [c for c in chosen.get(fate.variety.name, ()) if c.season == 0]
            for crop in now:
                sown += 1
                _sow(seen, fate, crop, season, float(luck.crop[v, season]))
            _grow_on(fate, season, luck.fresh[v])
        by_season.append(sum(not _carried(fate, season + 1) for fate in fates))
    gone = [fate.variety for fate in fates if not _carried(fate, seasons)]
    return Played(
        tuple(v.name for v in gone), float(sum(v.weight for v in gone)), tuple(by_season), sown
    )


def _carried(fate: _Fate, season: int) -> bool:
    return fate.alive(season) or (fate.standing is not None and fate.succeeds)


def _question(problem: PlanProblem, fates: list[_Fate], judged: int) -> PlanProblem:
    varieties = tuple(
        replace(f.variety, existing=f.known[: judged + 1], fresh=f.variety.fresh[: judged + 1])
        for f in fates
    )
    standing = tuple(fate.standing for fate in fates if fate.standing is not None)
    return replace(problem, varieties=varieties, standing=standing)


def _sow(problem: PlanProblem, fate: _Fate, crop: Crop, season: int, number: float) -> None:
    """Sow a crop: the lots raise it or are known dead, and its own luck is settled."""
    if not fate.alive(season):
        fate.known = np.zeros_like(fate.known)
        return
    if fate.known[0] > 0.0:
        fate.known = np.minimum(fate.known / fate.known[0], 1.0)
    fate.standing = Standing(fate.variety.name, 0, crop.site, crop.way)
    fate.succeeds = number >= _failure(problem, fate.variety, crop)


def _grow_on(fate: _Fate, season: int, fresh: FloatArray) -> None:
    """A season passes: what stands ripens or grows on, and the known curve moves a season."""
    fate.known = np.append(fate.known[1:], fate.known[-1])
    if fate.standing is None:
        return
    sown = fate.standing.season - 1
    if sown > -fate.variety.lead:
        fate.standing = replace(fate.standing, season=sown)
        return
    fate.standing = None
    if fate.succeeds:
        curve = fate.variety.fresh
        fate.lots.append((season + 1, curve, float(fresh[season])))
        fate.known = any_lot([fate.known, curve[: fate.known.size]])
        fate.saved_in = season + 1.0


def _failure(problem: PlanProblem, variety: PlanVariety, crop: Crop) -> float:
    """The chance that the crop fails, as the question has it."""
    way = next(w for w in variety.ways if w.name == crop.way)
    site = next(s for s in problem.sites if s.name == crop.site)
    return float(crop_failure(variety.failure, way.failure, site.failure))
