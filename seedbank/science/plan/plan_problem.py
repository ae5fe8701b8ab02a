"""What a saving plan is asked: varieties, sites, limits, what else flowers, and pinned choices.

Seasons count from 0 (this one); ``horizon`` seasons are planned. A crop sown in season y stands
for ``lead`` seasons (2 for biennials), flowers in the last of them and gives seed for season
y + lead. Every list may come in any order: the plan sorts by name, so order never matters.

Seconds left of a time limit. The clock is the caller's; science reads none of its own.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray
from seedbank.science.saving.saving_survival import check_curve


@dataclass(frozen=True, slots=True)
class Way:
    """A way to keep a seed crop's flowers apart from others of its crossing group.

    ``open_air``: by distance alone, so the crop must be far enough from others and is exposed to
    what else flowers. ``gear``: the kind of cage, bag or net it needs, ``gear_units`` of them, in
    the flowering season. ``failure``: share of crops lost to the way itself (0..1), ``work``: seed
    crops' worth of work it adds to the flowering season.
    """

    name: str
    open_air: bool = True
    gear: str | None = None
    gear_units: float = 1.0
    failure: float = 0.0
    work: float = 0.0


OPEN = Way("distance")

MOST_CROPS = 3
"""Seed crops of one variety in one plan; a fourth within a horizon adds next to nothing."""


@dataclass(frozen=True, slots=True)
class PlanVariety:
    """One variety that must not be lost.

    ``existing`` (T + 1,): chance that a lot in stock can raise the seed parents in season t;
    ``fresh`` (T + 1,): the same for seed just saved, by its age in seasons. T, the season whose
    loss is judged, is the same for all varieties and at least the horizon. ``weight``: what its
    loss counts (rarity). ``failure``: chance that a crop fails whatever the way. ``distance_m``:
    isolation distance its purpose asks for; ``home_distance_m``: the lesser one that would do for
    seed for home use. ``bed_m2``, ``work``: one entry a season that a crop
    stands; their number is the lead. ``gap``: least seasons between sowings (never under the
    lead). ``sites``: where it may grow, all if None. ``due``: season in which its next seed crop
    is due; none is sown before it unless pinned, and each season after it costs ``waiting`` (share
    of the line) and is never reckoned safer. None: any season may do.
    """

    name: str
    group: str
    existing: FloatArray
    fresh: FloatArray
    weight: float = 1.0
    failure: float = 0.15
    ways: tuple[Way, ...] = (OPEN,)
    distance_m: float = 0.0
    home_distance_m: float | None = None
    bed_m2: tuple[float, ...] = (1.0,)
    work: tuple[float, ...] = (1.0,)
    gap: int = 2
    most_crops: int = 3
    sites: tuple[str, ...] | None = None
    due: int | None = None
    waiting: float = 0.0

    @property
    def lead(self) -> int:
        """Seasons from sowing to seed ready for sowing."""
        return len(self.bed_m2)


@dataclass(frozen=True, slots=True)
class PlanSite:
    """A place for seed crops. ``reach_m``: how far apart two crops on it can be, so that kinds
    with a short isolation distance share a site. ``failure``: the site's own risk to a crop."""

    name: str
    bed_m2: float
    reach_m: float = 0.0
    failure: float = 0.0


@dataclass(frozen=True, slots=True)
class SiteGap:
    """Metres between two sites."""

    site: str
    other: str
    distance_m: float


@dataclass(frozen=True, slots=True)
class PlanLimits:
    """What one season allows: ``work`` in seed crops, ``gear`` as (kind, how many) pairs."""

    work: float
    gear: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Stand:
    """Something that flowers, wanted or not, and may cross with an open crop of its group there.

    ``crossing``: share of open crops it would spoil (1 forbids them), if they need more than
    ``distance_m``, its distance from the site. ``variety``: whose it is, when it is one of the
    planned varieties: it doesn't spoil its own.
    """

    name: str
    group: str
    site: str
    season: int
    crossing: float
    distance_m: float = 0.0
    variety: str | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """A biennial crop sown before this season (``season`` is negative) that has yet to give seed.

    It takes bed, work, gear and air until it has, counts towards its variety, and no other crop
    of the variety is sown before its seed is ripe.
    """

    variety: str
    season: int
    site: str
    way: str


@dataclass(frozen=True, slots=True)
class Pin:
    """A choice kept: a crop of ``variety`` sown in ``season`` (any if None, likewise site and way),
    wanted or ruled out."""

    variety: str
    season: int | None = None
    site: str | None = None
    way: str | None = None
    wanted: bool = True


@dataclass(frozen=True, slots=True, order=True)
class Crop:
    """A seed crop in a plan: season of sowing, site and way of isolation."""

    season: int
    site: str
    way: str


@dataclass(frozen=True, slots=True)
class PlanProblem:
    """Everything a plan depends on. Site pairs without a distance count as far apart."""

    varieties: tuple[PlanVariety, ...]
    sites: tuple[PlanSite, ...]
    limits: PlanLimits
    horizon: int = 6
    gaps: tuple[SiteGap, ...] = ()
    stands: tuple[Stand, ...] = ()
    pins: tuple[Pin, ...] = ()
    standing: tuple[Standing, ...] = ()

    @property
    def last(self) -> int:
        """Season T whose loss is judged."""
        return self.varieties[0].existing.size - 1 if self.varieties else self.horizon

    def in_order(self) -> "PlanProblem":
        """The same problem checked and sorted by name, so that its order can't matter.

        Raises ValueError for names used twice, unknown names, curves that rise or differ in
        length, and numbers out of range.
        """
        _check_names("variety", [v.name for v in self.varieties])
        _check_names("site", [s.name for s in self.sites])
        for variety in self.varieties:
            _check_variety(variety, self)
        for site in self.sites:
            _check_chance("failure at a site", site.failure)
        self._check_references()
        return PlanProblem(
            tuple(sorted(self.varieties, key=lambda v: v.name)),
            tuple(sorted(self.sites, key=lambda s: s.name)),
            PlanLimits(self.limits.work, tuple(sorted(self.limits.gear))),
            self.horizon,
            self.gaps,
            tuple(sorted(self.stands, key=lambda s: (s.site, s.season, s.name))),
            tuple(sorted(set(self.pins), key=repr)),
            tuple(sorted(self.standing, key=repr)),
        )

    def distances(self) -> FloatArray:
        """Metres (S, S) between sites; on the diagonal how far apart two crops on one can be."""
        index = {site.name: i for i, site in enumerate(self.sites)}
        metres = np.full((len(index), len(index)), np.inf)
        np.fill_diagonal(metres, [site.reach_m for site in self.sites])
        for gap in self.gaps:
            a, b = index[gap.site], index[gap.other]
            metres[a, b] = metres[b, a] = gap.distance_m
        return metres

    def _check_references(self) -> None:
        sites = {site.name for site in self.sites}
        varieties = {variety.name for variety in self.varieties}
        used = {gap.site for gap in self.gaps} | {gap.other for gap in self.gaps}
        used |= {stand.site for stand in self.stands}
        used |= {crop.site for crop in self.standing}
        used |= {pin.site for pin in self.pins if pin.site is not None}
        for variety in self.varieties:
            used |= set(variety.sites or ())
        if used - sites:
            raise ValueError(f"no such site: {sorted(used - sites)}")
        pinned = {pin.variety for pin in self.pins} | {crop.variety for crop in self.standing}
        if pinned - varieties:
            raise ValueError(f"no such variety: {sorted(pinned - varieties)}")
        _check_names("standing crop", [crop.variety for crop in self.standing])
        for crop in self.standing:
            _check_standing(crop, next(v for v in self.varieties if v.name == crop.variety))
        for stand in self.stands:
            _check_chance("share of crops a stand would spoil", stand.crossing)


def _check_names(what: str, names: Sequence[str]) -> None:
    if len(set(names)) != len(names):
        twice = sorted({name for name in names if names.count(name) > 1})
        raise ValueError(f"each {what} needs a name of its own, used twice: {twice}")


def _check_chance(what: str, value: float) -> None:
    if not 0.0 <= value <= 1.0:
        raise ValueError(f"{what} must lie between 0 and 1, got {value!r}")


def _check_variety(variety: PlanVariety, problem: PlanProblem) -> None:
    for curve in (variety.existing, variety.fresh):
        check_curve(curve)
        if curve.shape != (problem.last + 1,):
            raise ValueError(f"{variety.name}: curves must have {problem.last + 1} seasons")
    if problem.last < problem.horizon:
        raise ValueError(f"curves must reach season {problem.horizon}, the end of the horizon")
    if not variety.weight >= 0.0:
        raise ValueError(f"{variety.name}: weight must not be negative, got {variety.weight!r}")
    if not 0 <= variety.most_crops <= MOST_CROPS:
        raise ValueError(f"{variety.name}: plans hold 0 to {MOST_CROPS} crops of a variety")
    if variety.lead < 1 or len(variety.work) != variety.lead:
        raise ValueError(f"{variety.name}: bed and work need one entry a season the crop stands")
    _check_names(f"way of {variety.name}", [way.name for way in variety.ways])
    _check_chance(f"{variety.name}: chance that a crop fails", variety.failure)
    _check_chance(f"{variety.name}: cost of a season's waiting", variety.waiting)
    if variety.due is not None and variety.due < 0:
        raise ValueError(f"{variety.name}: due in season 0 or later, got {variety.due!r}")
    for way in variety.ways:
        _check_chance(f"{variety.name}: failure by {way.name}", way.failure)


def _check_standing(crop: Standing, variety: PlanVariety) -> None:
    if not 1 - variety.lead <= crop.season < 0:
        raise ValueError(f"{crop.variety}: nothing sown in season {crop.season} still stands")
    if crop.way not in [way.name for way in variety.ways]:
        raise ValueError(f"{crop.variety}: no such way of isolation: {crop.way!r}")


class TimeBudget:
    """``limit_s`` seconds from now by ``clock`` (seconds, such as ``time.monotonic``).

    Without a clock nobody knows what has passed, and each step gets a share of the whole limit.
    """

    def __init__(self, limit_s: float, clock: Callable[[], float] | None = None) -> None:
        if not limit_s > 0.0:
            raise ValueError(f"a time limit must be above 0 s, got {limit_s!r}")
        self._limit_s = limit_s
        self.clock = clock
        self._start_s = clock() if clock is not None else 0.0

    def left_s(self, share: float) -> float:
        """Seconds one step may take: all that is left, or without a clock a share (0..1)."""
        if self.clock is None:
            return self._limit_s * share
        return max(self._limit_s - (self.clock() - self._start_s), 0.0)

    def most_s(self, limit_s: float) -> float:
        """Seconds one of many steps may take: its own limit, or what is left if that is less."""
        return min(limit_s, self.left_s(1.0))
