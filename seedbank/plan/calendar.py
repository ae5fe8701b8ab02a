"""What is settled for a plan: seed crops on record, choices pinned, and what else flowers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sqlmodel import Session, col, select

from seedbank.database.find import row_id
from seedbank.lots.tables.lots import Isolation
from seedbank.plan.ground import Ground, ways_for
from seedbank.plan.stock import StockedVariety, key_of
from seedbank.plan.tables import PlanPin, pins_between
from seedbank.saving.check_crossing import CropAsked, crossing_of
from seedbank.saving.gather_flowering import group_of, read_year
from seedbank.saving.tables import SeedCrop
from seedbank.science.crossing.crossing_stands import Exposure, StandIs
from seedbank.science.plan.plan_problem import Pin, Stand, Standing
from seedbank.science.quantities import Finding

_IN_OPEN_AIR = frozenset(
    {
        Isolation.UNKNOWN,
        Isolation.NONE,
        Isolation.DISTANCE,
        Isolation.TIME,
        Isolation.ONLY_VARIETY,
    }
)
_StandKey = tuple[str, str, str, int]  # name, crossing group, site, season


@dataclass(frozen=True, slots=True)
class OwnPin:
    """A pin of the gardener's, as the plan takes it; None with a remark where it can't."""

    row: PlanPin
    pin: Pin | None
    remark: Finding | None = None


@dataclass(slots=True)
class Settled:
    """What the plan must keep to. ``crops`` are the pins that stand for seed crops on record."""

    crops: list[Pin] = field(default_factory=list)
    standing: list[Standing] = field(default_factory=list)
    own: list[OwnPin] = field(default_factory=list)
    remarks: list[Finding] = field(default_factory=list)

    @property
    def pins(self) -> tuple[Pin, ...]:
        own = (one.pin for one in self.own if one.pin is not None)
        return tuple(dict.fromkeys([*self.crops, *own]))


def crops_on_record(session: Session, year: int, horizon: int) -> list[SeedCrop]:
    """Seed crops that flower within the plan's seasons, ended ones too, by number."""
    query = (
        select(SeedCrop)
        .where(col(SeedCrop.flower_year).between(year, year + horizon))
        .order_by(col(SeedCrop.id))
    )
    return list(session.exec(query))


def pinned_varieties(session: Session, year: int, horizon: int) -> frozenset[int]:
    """Varieties the gardener wants a seed crop of within the plan's seasons."""
    pins = pins_between(session, year, year + horizon)
    return frozenset(pin.variety_id for pin in pins if pin.wanted)


def settle_plan(
    session: Session,
    year: int,
    horizon: int,
    varieties: Mapping[int, StockedVariety],
    crops: Sequence[SeedCrop],
    ground: Ground,
) -> Settled:
    """Crops on record and pins in the plan's seasons.

    A crop lost or harvested this year isn't sown a second time the same year. A pin the plan has
    no room for (another season, an isolation that doesn't serve) is left out with a remark.
    """
    settled = Settled()
    for crop in crops:
        variety = varieties.get(crop.variety_id)
        if variety is not None:
            _settle_crop(settled, crop, variety, year, horizon, ground)
    for row in pins_between(session, year, year + horizon):
        settled.own.append(_own_pin(row, varieties.get(row.variety_id), year, horizon, ground))
    return settled


def _settle_crop(
    settled: Settled,
    crop: SeedCrop,
    variety: StockedVariety,
    year: int,
    horizon: int,
    ground: Ground,
) -> None:
    season = crop.flower_year - year - variety.lead + 1
    site, way = ground.name_of(crop.site_id), _way(crop.isolation)
    if season >= horizon or site is None:
        return
    if way not in [one.name for one in ways_for(variety, ground)]:
        way = Isolation.DISTANCE.value
    if not crop.is_open:
        if season >= 0:
            settled.crops.append(Pin(variety.key, season, wanted=False))
    elif season >= 0:
        settled.crops.append(Pin(variety.key, season, site, way))
    elif crop.sown_on is None:
        settled.remarks.append(Finding("crop-not-standing", {"variety": variety.name}))
    elif any(one.variety == variety.key for one in settled.standing):
        settled.remarks.append(Finding("crop-stands-twice", {"variety": variety.name}))
    elif season > -variety.lead:
        settled.standing.append(Standing(variety.key, season, site, way))


def _own_pin(
    row: PlanPin, variety: StockedVariety | None, year: int, horizon: int, ground: Ground
) -> OwnPin:
    if variety is None:
        return OwnPin(row, None, Finding("pin-not-saved"))
    season = row.year - year - variety.lead + 1
    if not 0 <= season < horizon:
        years = {"flower_year": row.year, "sow_year": year + season}
        return OwnPin(row, None, Finding("pin-outside-plan", years))
    way = None if row.isolation is None else _way(row.isolation)
    ways = [one.name for one in ways_for(variety, ground)]
    if way is not None and way not in ways and row.wanted:
        wanted, *can = (Finding("kept-apart-by", {"way": one}) for one in [way, *ways])
        found = Finding("pin-not-isolated", {"isolated_by": wanted, "can": tuple(can)})
        return OwnPin(row, None, found)
    return OwnPin(row, Pin(variety.key, season, ground.name_of(row.site_id), way, row.wanted))


def stands_ahead(
    session: Session,
    year: int,
    seasons: int,
    varieties: Mapping[int, StockedVariety],
    ground: Ground,
) -> tuple[Stand, ...]:
    """What is known to flower in each season, besides the plan's own crops.

    The share of crops a stand would spoil is the risk index of the crossing check, the greatest
    among the varieties of its group: our choice. Wild plants noted this year come again every
    year; of everything else only what is noted for a year counts.
    """
    found: dict[_StandKey, Stand] = {}
    wild: list[Stand] = []
    for season in range(seasons):
        now = _stands_in(session, year + season, season, varieties, ground)
        for stand, is_wild in now:
            _add(found, stand)
            if is_wild and season == 0:
                wild.append(stand)
    for stand in wild:
        for season in range(1, seasons):
            again = (stand.name, stand.group, stand.site, season)
            if again not in found:
                found[again] = Stand(
                    stand.name, stand.group, stand.site, season, stand.crossing, stand.distance_m
                )
    return tuple(found.values())


def _stands_in(
    session: Session,
    year: int,
    season: int,
    varieties: Mapping[int, StockedVariety],
    ground: Ground,
) -> list[tuple[Stand, bool]]:
    flowering = read_year(session, year, varieties)
    if not flowering.stands:
        return []
    found = []
    for name, site in ground.sites.items():
        if site is None:
            continue
        for number, variety in varieties.items():
            asked = CropAsked(
                variety_id=number, site_id=row_id(site.id), year=year, purpose=variety.purpose
            )
            for one in crossing_of(flowering, asked).risks:
                if not _is_planned(one, variety, varieties):
                    stand = _stand(one, variety, name, season, varieties)
                    found.append((stand, one.stand.what is StandIs.WILD))
    return found


def _is_planned(
    one: Exposure, variety: StockedVariety, varieties: Mapping[int, StockedVariety]
) -> bool:
    """Seed crops of the same species are kept apart by the plan itself."""
    same = one.stand.group == group_of(variety.facts)
    return one.stand.what is StandIs.SEED_CROP and same and one.stand.variety in varieties


def _stand(
    one: Exposure,
    variety: StockedVariety,
    site: str,
    season: int,
    varieties: Mapping[int, StockedVariety],
) -> Stand:
    whose = one.stand.variety
    planned = isinstance(whose, int) and whose in varieties
    return Stand(
        name=one.stand.name,
        group=group_of(variety.facts),
        site=site,
        season=season,
        crossing=min(one.risk, 1.0),
        distance_m=one.stand.distance_m or 0.0,
        variety=key_of(whose) if planned and isinstance(whose, int) else None,
    )


def _add(found: dict[_StandKey, Stand], stand: Stand) -> None:
    key = (stand.name, stand.group, stand.site, stand.season)
    if key not in found or found[key].crossing < stand.crossing:
        found[key] = stand


def _way(isolation: Isolation) -> str:
    return Isolation.DISTANCE.value if isolation in _IN_OPEN_AIR else isolation.value
