"""Where seed crops may grow and how they are kept apart: sites, gear, and the ways of isolation.

What a way costs in failed crops and in work is common practice, no single source; the figures are
our choice.
"""

import math
from dataclasses import dataclass

from sqlmodel import Session, col, select

from seedbank.common.catalogue import text_of
from seedbank.database.find import row_id
from seedbank.lots.tables.lots import Isolation
from seedbank.plan.stock import StockedVariety
from seedbank.saving.gather_flowering import carrier_of, mating_of
from seedbank.saving.tables import GearKind, IsolationGear, Site, all_distances, garden_limits
from seedbank.science.crossing.crossing import holds
from seedbank.science.crossing.crossing_risk import (
    Carrier,
    Mating,
    Purpose,
    Requirement,
    distance_required,
)
from seedbank.science.crossing.crossing_stands import Way as Keeps
from seedbank.science.plan.plan_problem import PlanLimits, PlanSite, SiteGap, Way
from seedbank.science.quantities import Finding

# Our choices.
ASSUMED_BED_M2 = 30.0  # seed bed of a site nobody measured
REACH_M = 20.0  # how far apart two crops on one site can stand
LEAST_BED_M2 = 0.25
BED_PER_PLANT_M2 = 0.1  # where a kind has no spacing
FIRST_YEAR_WORK = 0.5  # of a biennial in the year it is sown, in seed crops

OPEN = Way(Isolation.DISTANCE.value)
_CAGE, _BAG, _HAND = Isolation.CAGE.value, Isolation.BAG.value, Isolation.HAND_POLLINATION.value
_CAGED_WITH_INSECTS = 0.10  # share of crops lost where pollinators must be brought into a cage
_COVERED = 0.02  # and where the flowers need none
_BAGGED, _BY_HAND = 0.05, 0.10
_CAGE_WORK, _BAG_WORK, _HAND_WORK = 0.25, 0.25, 0.5


@dataclass(frozen=True, slots=True)
class Ground:
    """Sites by their name in the plan (the assumed one has no row), distances, and limits.

    ``cage_m2`` is what one cage covers, None where nobody measured.
    """

    sites: dict[str, Site | None]
    plan_sites: tuple[PlanSite, ...]
    gaps: tuple[SiteGap, ...]
    limits: PlanLimits
    cage_m2: float | None
    remarks: tuple[Finding, ...]

    def name_of(self, site_id: int | None) -> str | None:
        """A site's name in the plan; the assumed one has no number. None: no such site."""
        named = (n for n, site in self.sites.items() if (site and site.id) == site_id)
        return next(named, None)


def assumed_site() -> str:
    """What a plan calls its only site where none is on record."""
    return text_of(Finding("the-garden"))


def read_ground(session: Session) -> Ground:
    """The sites, their distances, the gear and what a season's work allows.

    Without any site one is assumed; where a distance isn't known two sites stand side by side.
    """
    rows = list(session.exec(select(Site).order_by(col(Site.name))))
    sites: dict[str, Site | None] = {site.name: site for site in rows}
    remarks: list[Finding] = []
    if not sites:
        sites = {assumed_site(): None}
        remarks.append(Finding("no-site", {"bed_m2": ASSUMED_BED_M2}))
    for site in rows:
        if site.seed_bed_m2 is None:
            remarks.append(
                Finding("bed-not-measured", {"site": site.name, "bed_m2": ASSUMED_BED_M2})
            )
    gaps, unknown = _gaps(session, rows)
    remarks += unknown
    limits, cage_m2 = _limits(session)
    if math.isinf(limits.work):
        remarks.append(Finding("no-limit-set"))
    plan_sites = tuple(PlanSite(name, _bed(site), REACH_M) for name, site in sites.items())
    return Ground(sites, plan_sites, gaps, limits, cage_m2, tuple(remarks))


def requirement_of(variety: StockedVariety, purpose: Purpose | None = None) -> Requirement:
    """The distance a variety's seed must be kept at for its purpose, or for another."""
    facts = variety.facts
    home, strict = facts.isolation_home_m, facts.isolation_strict_m
    return distance_required(
        purpose or variety.purpose,
        None if home is None else home.value,
        None if strict is None else strict.value,
        mating_of(facts),
        carrier_of(facts),
    )


def ways_for(variety: StockedVariety, ground: Ground) -> tuple[Way, ...]:
    """How a crop of it may be isolated here: by distance always, else as flowers and gear allow.

    Bags serve flowers that set seed by themselves, hand work those of cucurbits and maize.
    """
    mating, carrier = mating_of(variety.facts), carrier_of(variety.facts)
    gear = dict(ground.limits.gear)
    ways = [OPEN]
    if gear.get(_CAGE) and holds(Keeps.CAGE, carrier):
        units = 1.0
        if ground.cage_m2 is not None:
            units = math.ceil(bed_m2(variety) / ground.cage_m2 - 1e-9)
        selfing = mating is Mating.SELFING or carrier is Carrier.SELF
        failure = _COVERED if selfing else _CAGED_WITH_INSECTS
        ways.append(Way(_CAGE, False, _CAGE, units, failure, _CAGE_WORK))
    bags = gear.get(_BAG) and holds(Keeps.BAG, carrier) and mating is not Mating.OUTCROSSING
    if bags:
        ways.append(Way(_BAG, False, _BAG, float(variety.parents), _BAGGED, _BAG_WORK))
    if _large_flowers(variety):
        ways.append(Way(_HAND, False, failure=_BY_HAND, work=_HAND_WORK))
    return tuple(ways)


def bed_m2(variety: StockedVariety) -> float:
    """Bed for its seed parents, spaced as for eating, m²."""
    row, apart = variety.facts.row_cm, variety.facts.in_row_cm
    each = BED_PER_PLANT_M2
    if row is not None and apart is not None:
        each = row.value.typical * apart.value.typical / 10_000.0
    return round(max(variety.parents * each, LEAST_BED_M2), 2)


def work_of(lead: int) -> tuple[float, ...]:
    """Seed crops' worth of work in each season a crop stands."""
    return (*[FIRST_YEAR_WORK] * (lead - 1), 1.0)


def _large_flowers(variety: StockedVariety) -> bool:
    family, group = variety.facts.family, variety.facts.crossing_group
    cucurbit = family is not None and family.value == "Cucurbitaceae"
    return cucurbit or (group is not None and group.value == "zea-mays")


def _bed(site: Site | None) -> float:
    return ASSUMED_BED_M2 if site is None or site.seed_bed_m2 is None else site.seed_bed_m2


def _gaps(session: Session, rows: list[Site]) -> tuple[tuple[SiteGap, ...], list[Finding]]:
    known, gaps, remarks = all_distances(session), [], []
    for place, one in enumerate(rows):
        for other in rows[place + 1 :]:
            low, high = sorted((row_id(one.id), row_id(other.id)))
            metres = known.get((low, high))
            if metres is None:
                apart = {"site": one.name, "other": other.name}
                remarks.append(Finding("sites-apart-unknown", apart))
            gaps.append(SiteGap(one.name, other.name, metres or 0.0))
    return tuple(gaps), remarks


def _limits(session: Session) -> tuple[PlanLimits, float | None]:
    """What a season allows, and what the smallest cage or net covers."""
    gear = list(session.exec(select(IsolationGear)))
    cages = [one for one in gear if one.gear is not GearKind.BAG]
    pieces = {_CAGE: float(sum(one.pieces for one in cages))}
    pieces[_BAG] = float(sum(one.pieces for one in gear if one.gear is GearKind.BAG))
    crops = garden_limits(session).seed_crops_a_year
    covers = [one.covers_m2 for one in cages if one.covers_m2 is not None]
    work = math.inf if crops is None else float(crops)
    owned = tuple((kind, number) for kind, number in sorted(pieces.items()) if number)
    return PlanLimits(work, owned), min(covers, default=None)
