"""Every single crop a plan may hold: variety, season of sowing, site and way of isolation.

Outside check: each crop's chance of failure, worked out apart by the enumeration of all plans.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from seedbank.science.plan.plan_problem import Crop, Pin, PlanProblem, PlanVariety, Stand
from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.saving.saving_survival import crop_failure

_Stands = dict[tuple[str, int], list[Stand]]


@dataclass(frozen=True, slots=True)
class CropOptions:
    """Arrays (A,): indices into the problem's varieties and sites, and into a variety's ways.

    ``failure``: chance that the crop gives no seed fit to carry the variety on. Sorted by variety,
    season, site and way's name.
    """

    variety: IntArray
    season: IntArray
    site: IntArray
    way: IntArray
    failure: FloatArray

    def crop(self, problem: PlanProblem, option: int) -> Crop:
        """The option in the problem's names."""
        ways = problem.varieties[int(self.variety[option])].ways
        site = problem.sites[int(self.site[option])].name
        return Crop(int(self.season[option]), site, ways[int(self.way[option])].name)


def crop_options(problem: PlanProblem) -> CropOptions:
    """The crops that may be grown at all: ruled-out ones and those sure to fail are left out.

    ``problem`` must be in order.
    """
    stands: _Stands = {}
    for stand in problem.stands:
        stands.setdefault((stand.site, stand.season), []).append(stand)
    found = [
        (v, *choice)
        for v, variety in enumerate(problem.varieties)
        for choice in _choices(problem, variety, stands)
    ]
    return _as_options(found)


def matches(pin: Pin, crop: Crop) -> bool:
    """Whether the crop is one that the pin speaks of."""
    return (
        pin.season in (None, crop.season)
        and pin.site in (None, crop.site)
        and pin.way in (None, crop.way)
    )


def standing_options(problem: PlanProblem) -> CropOptions:
    """The crops that stand already, in the same form: seasons are negative."""
    sites = [site.name for site in problem.sites]
    names = [variety.name for variety in problem.varieties]
    found = []
    for crop in problem.standing:
        v, s = names.index(crop.variety), sites.index(crop.site)
        variety = problem.varieties[v]
        w = [way.name for way in variety.ways].index(crop.way)
        near = [
            t for t in problem.stands if t.site == crop.site and _meets(t, crop.season, variety)
        ]
        found.append((v, crop.season, s, w, _chance(problem, variety, s, w, near)))
    return _as_options(found)


def _choices(
    problem: PlanProblem, variety: PlanVariety, stands: _Stands
) -> Iterator[tuple[int, int, int, float]]:
    """(season, site, way, failure) of each crop of one variety."""
    barred = [p for p in problem.pins if p.variety == variety.name and not p.wanted]
    ways = sorted(enumerate(variety.ways), key=lambda numbered: numbered[1].name)
    sown = [c.season for c in problem.standing if c.variety == variety.name]
    first = max(sown[0] + max(variety.gap, variety.lead), 0) if sown else 0
    if not any(p.variety == variety.name and p.wanted for p in problem.pins):
        first = max(first, variety.due or 0)
    for season in range(first, problem.horizon if variety.most_crops else first):
        for s, site in enumerate(problem.sites):
            if variety.sites is not None and site.name not in variety.sites:
                continue
            flowering = stands.get((site.name, season + variety.lead - 1), [])
            near = [stand for stand in flowering if _meets(stand, season, variety)]
            for w, way in ways:
                if any(matches(pin, Crop(season, site.name, way.name)) for pin in barred):
                    continue
                chance = _chance(problem, variety, s, w, near)
                if chance < 1.0:
                    yield season, s, w, chance


def _chance(
    problem: PlanProblem, variety: PlanVariety, site: int, way: int, near: list[Stand]
) -> float:
    """Chance that a crop fails or, in open air, is spoilt by one of the stands ``near``."""
    how = variety.ways[way]
    spoilt = [stand.crossing for stand in near] if how.open_air else []
    own = (variety.failure, how.failure, problem.sites[site].failure)
    return float(crop_failure(*own, *spoilt))


def _meets(stand: Stand, sown: int, variety: PlanVariety) -> bool:
    """Whether a stand at the crop's site flowers with it, may cross and is too near."""
    return (
        stand.season == sown + variety.lead - 1
        and stand.group == variety.group
        and stand.variety != variety.name
        and stand.distance_m < variety.distance_m
    )


def _as_options(found: list[tuple[int, int, int, int, float]]) -> CropOptions:
    columns = np.array(found, dtype=np.float64).reshape(len(found), 5)
    whole = columns[:, :4].astype(np.int64)
    return CropOptions(whole[:, 0], whole[:, 1], whole[:, 2], whole[:, 3], columns[:, 4])
