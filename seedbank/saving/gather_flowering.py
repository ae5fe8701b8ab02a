"""Everything in flower in a year, as the crossing check takes it: who, when, how far off."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

from sqlmodel import Session, col, select

from seedbank.climate.garden_year import GardenYears, garden_years
from seedbank.common.catalogue import text_of
from seedbank.database.find import row_id
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import Fact
from seedbank.kinds.edit_kinds import facts_for_kinds
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.tables.lots import Isolation
from seedbank.saving.edit_flowerings import OwnWindows, window_of
from seedbank.saving.tables import (
    Flowering,
    SeedCrop,
    Site,
    all_distances,
    flowerings_in,
    own_windows,
    seed_crops_in,
)
from seedbank.science.crossing.crossing_risk import Carrier, Mating
from seedbank.science.crossing.crossing_stands import FloweringStand, StandIs
from seedbank.science.crossing.flowering_days import WHOLE_YEAR, YEAR_DAYS, DayWindow
from seedbank.science.quantities import Finding


@dataclass(frozen=True, slots=True)
class Stand:
    """Plants in flower and where: ``off_m`` metres from ``site_id``; ``window`` with its source.

    ``stand.distance_m`` is 0 until it is measured to somewhere (see ``Year.within_reach``).
    """

    stand: FloweringStand
    site_id: int
    off_m: float | None
    window: Fact[DayWindow] | None
    crop_id: int | None = None


@dataclass(slots=True)
class Year:
    """What the crossing checks of one year need, read once; kinds and varieties by number."""

    year: int
    kinds: dict[int, Kind]
    facts: dict[int, KindFacts]
    varieties: dict[int, Variety]
    sites: dict[int, Site]
    apart: dict[tuple[int, int], float]
    own: OwnWindows
    climates: GardenYears
    stands: list[Stand] = field(default_factory=list)

    def window(self, kind_id: int, site_id: int) -> Fact[DayWindow] | None:
        """When a kind flowers at a site: the gardener's word, else as the climate has it."""
        year = self.climates.at(site_id)
        return window_of(self.facts[kind_id], kind_id, site_id, self.own, year)

    def between_m(self, one: int, other: int) -> float | None:
        """Metres between two sites; None: not known."""
        return 0.0 if one == other else self.apart.get((min(one, other), max(one, other)))

    def within_reach(self, site_id: int, *, but: int | None = None) -> list[FloweringStand]:
        """The stands with their distance to a site; the seed crop ``but`` is left out."""
        return [
            replace(one.stand, distance_m=self._reach_m(one, site_id))
            for one in self.stands
            if but is None or one.crop_id != but
        ]

    def _reach_m(self, one: Stand, site_id: int) -> float | None:
        """Least it can be: of plants near another site only their ring around it is known."""
        between = self.between_m(site_id, one.site_id)
        if between is None or one.off_m is None:
            return None
        return abs(between - one.off_m)


def read_year(session: Session, year: int, varieties: Iterable[int] = ()) -> Year:
    """Everything in flower in a year, with the kinds of ``varieties`` asked about besides."""
    noted, crops = flowerings_in(session, year), seed_crops_in(session, year)
    wanted = {*varieties, *(crop.variety_id for crop in crops)}
    wanted |= {one.variety_id for one in noted if one.variety_id is not None}
    found = session.exec(select(Variety).where(col(Variety.id).in_(wanted)))
    known = {row_id(variety.id): variety for variety in found}
    kind_ids = {variety.kind_id for variety in known.values()} | {one.kind_id for one in noted}
    kinds = session.exec(select(Kind).where(col(Kind.id).in_(kind_ids))).all()
    sites = {row_id(site.id): site for site in session.exec(select(Site))}
    flowering = Year(
        year=year,
        kinds={row_id(kind.id): kind for kind in kinds},
        facts=facts_for_kinds(session, kinds),
        varieties=known,
        sites=sites,
        apart=all_distances(session),
        own=own_windows(session, kind_ids, sites),
        climates=garden_years(session),
    )
    stands = [
        *(_noted(flowering, one) for one in noted),
        *(crop_stand(flowering, crop) for crop in crops),
    ]
    flowering.stands = [stand for stand in stands if stand is not None]
    return flowering


def group_of(facts: KindFacts) -> str:
    """Crossing group of a kind; one without is taken to cross with nothing but itself."""
    return facts.slug if facts.crossing_group is None else facts.crossing_group.value


def mating_of(facts: KindFacts) -> Mating:
    """How a kind mates; outcrossing, the cautious guess, where nobody says."""
    return Mating.OUTCROSSING if facts.mating is None else Mating(facts.mating.value)


def carrier_of(facts: KindFacts) -> Carrier:
    """What carries a kind's pollen; insects, the commonest, where nobody says."""
    known = facts.pollination
    if known is None or known.value not in set(Carrier):
        return Carrier.INSECT
    return Carrier(known.value)


def seen_window(
    first: date | None, last: date | None, usual: Fact[DayWindow] | None
) -> DayWindow | None:
    """Days of the year from dates seen, an end nobody saw filled from the usual window."""
    if first is not None and last is not None:
        if (last - first).days + 1 >= YEAR_DAYS - 1:
            return WHOLE_YEAR
        return DayWindow(_day(first), _day(last))
    if usual is None:
        return None
    if first is not None:  # so late that the usual end is past: one day is all that is known
        late = _off(_day(first), usual.value) == "after"
        return DayWindow(_day(first), _day(first) if late else usual.value.to_day)
    if last is not None:
        early = _off(_day(last), usual.value) == "before"
        return DayWindow(_day(last) if early else usual.value.from_day, _day(last))
    return usual.value


def _off(day: int, usual: DayWindow) -> Literal["before", "within", "after"]:
    """Where a day lies by a window; by one over New Year, on the side it is nearer to."""
    start, end = usual.from_day, usual.to_day
    if start <= end:
        return "before" if day < start else "after" if day > end else "within"
    if not end < day < start:
        return "within"
    return "after" if day - end <= start - day else "before"


def _day(day: date) -> int:
    return day.timetuple().tm_yday


def plant_name(variety: Variety | None, kind: Kind, what: StandIs, site: Site) -> str:
    """What to call a stand: ``Rainrib (chard) at Top Garth``, ``wild carrot near Top Garth``."""
    values = {"what": what, "kind": kind.name.lower(), "site": site.name}
    if variety is None:
        return text_of(Finding("stand-name", values))
    return text_of(Finding("stand-of-variety", {**values, "variety": variety.name}))


def _noted(flowering: Year, one: Flowering) -> Stand | None:
    usual = flowering.window(one.kind_id, one.site_id)
    days = seen_window(one.from_date, one.to_date, usual)
    if one.stopped_on is not None:
        days_left = _until(days, one.stopped_on, flowering.year)
        if days_left is None:
            return None
        days = days_left
    kind, variety = flowering.kinds[one.kind_id], flowering.varieties.get(one.variety_id or 0)
    name = plant_name(variety, kind, one.what, flowering.sites[one.site_id])
    stand = _stand(flowering, kind, name, one.what, days, one.variety_id)
    return Stand(stand, one.site_id, one.distance_m, usual)


def _until(days: DayWindow | None, stopped: date, year: int) -> DayWindow | None:
    """What is left of a window cut off on a day; None: nothing."""
    start = 1 if days is None else days.from_day
    cut = stopped.toordinal() - date(year, 1, 1).toordinal() + 1
    if cut <= start:
        return None
    if days is None:
        return DayWindow(1, min(cut, 366))
    last = days.from_day + days.days - 1
    return days if cut >= last else DayWindow(start, (cut - 1) % 366 + 1)


def crop_stand(flowering: Year, crop: SeedCrop) -> Stand:
    """A seed crop as others see it flower."""
    variety = flowering.varieties[crop.variety_id]
    kind = flowering.kinds[variety.kind_id]
    usual = flowering.window(variety.kind_id, crop.site_id)
    name = plant_name(variety, kind, StandIs.SEED_CROP, flowering.sites[crop.site_id])
    days = seen_window(crop.flower_from, crop.flower_to, usual)
    stand = _stand(flowering, kind, name, StandIs.SEED_CROP, days, crop.variety_id)
    stand = replace(stand, covered=crop.isolation is Isolation.CAGE)
    return Stand(stand, crop.site_id, 0.0, usual, crop.id)


def _stand(
    flowering: Year,
    kind: Kind,
    name: str,
    what: StandIs,
    days: DayWindow | None,
    variety_id: int | None,
) -> FloweringStand:
    facts = flowering.facts[row_id(kind.id)]
    return FloweringStand(
        name=name,
        group=group_of(facts),
        variety=variety_id,
        kind=kind.slug,
        flowering=days,
        what=what,
        mating=mating_of(facts),
        carrier=carrier_of(facts),
    )


def used_windows(flowering: Year, names: Mapping[str, object]) -> list[Fact[DayWindow]]:
    """The windows behind the stands of these names."""
    return [one.window for one in flowering.stands if one.stand.name in names and one.window]
