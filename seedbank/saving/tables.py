"""What saving seed is recorded in: sites, isolation gear, flowerings, seed crops, limits."""

from collections.abc import Iterable
from datetime import date, datetime
from enum import StrEnum
from typing import Annotated

from pydantic import Field
from sqlalchemy import CheckConstraint, UniqueConstraint, or_, select, text
from sqlmodel import Field as Stored
from sqlmodel import Session, SQLModel, col

from seedbank.common.errors import BadValue
from seedbank.common.fields import Fields, optional
from seedbank.common.forms import (
    WHOLE,
    Day,
    Filter,
    KindAsked,
    Name,
    Notes,
    Real,
    Remark,
    Seeds,
    VarietyAsked,
    YearAsked,
)
from seedbank.database.base import Editable, UtcDateTime, unique_where, word
from seedbank.database.find import about
from seedbank.database.queries import FIRST, Order, Page, Paging, fetch, matching, page_of
from seedbank.database.references import begun_once, forgets_it, goes_along
from seedbank.kinds.tables import kind_named
from seedbank.lots.tables.lots import Isolation
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.crossing.crossing_stands import StandIs

SquareMetres = Annotated[Real, Field(ge=0, le=1_000_000)]
Distance = Annotated[Real, Field(ge=0, le=100_000)]
Season = Annotated[int, Field(strict=True, ge=1900, le=2199), WHOLE]
DayOfYear = Annotated[int, Field(strict=True, ge=1, le=366), WHOLE]
Pieces = Annotated[int, Field(strict=True, ge=1, le=10_000), WHOLE]
Cover = Annotated[Real, Field(gt=0, le=10_000)]
Crops = Annotated[int, Field(strict=True, ge=0, le=10_000), WHOLE]


class WindowFields(Fields):
    """When a kind flowers here, as the gardener sees it, in days of the year (1 January is 1).

    Both ends are in flower; ``from_day`` over ``to_day`` spans New Year.
    """

    from_day: DayOfYear = Field(description="First day in flower.", examples=[160])
    to_day: DayOfYear = Field(description="Last day in flower.", examples=[205])


class FloweringWindow(WindowFields, SQLModel, table=True):
    """A flowering window; without ``site_id`` it holds at every site that has none of its own."""

    __tablename__ = "flowering_window"
    __table_args__ = (
        UniqueConstraint("kind_id", "site_id"),
        unique_where("uq_flowering_window_anywhere", "kind_id", condition="site_id IS NULL"),
        CheckConstraint("from_day BETWEEN 1 AND 366", name="from_day"),
        CheckConstraint("to_day BETWEEN 1 AND 366", name="to_day"),
    )

    id: int | None = Stored(default=None, primary_key=True)
    kind_id: int = Stored(foreign_key="kind.id", sa_column_kwargs=goes_along())
    site_id: int | None = Stored(default=None, foreign_key="site.id", index=True)
    source: str = Stored(max_length=400)


class FloweringFields(Fields):
    """Plants in flower in a year at, or near, a site, besides what they are and where."""

    year: Annotated[Season, Stored(index=True)] = Field(
        description="Year it flowers.", examples=[2027]
    )
    what: Annotated[StandIs, Stored(sa_type=word(StandIs))] = Field(
        description="A seed crop, left to run to seed, self-sown, a neighbour's, or wild.",
        examples=["left-to-run", "self-sown"],
    )
    distance_m: Distance | None = optional(
        "Metres from the site to a neighbour's or wild plants; unknown if left out.",
        300.0,
        250.0,
        default=None,
    )
    from_date: Day | None = optional(
        "First open flower; the kind's usual day if left out.",
        "2027-06-10",
        "2027-06-14",
        default=None,
    )
    to_date: Day | None = optional(
        "Last open flower; the kind's usual day if left out.",
        "2027-07-20",
        "2027-07-16",
        default=None,
    )
    stopped_on: Day | None = optional(
        "Day it was cut down or pulled; before the first flower it can cross with nothing.",
        "2027-02-28",
        default=None,
    )
    notes: Notes = optional("Anything else.", "two plants", "pulled up", default="")


class Flowering(FloweringFields, Editable, table=True):
    """Plants of a kind in flower. On the site itself ``distance_m`` is 0."""

    __tablename__ = "flowering"
    __table_args__ = (
        CheckConstraint("year BETWEEN 1900 AND 2199", name="year"),
        CheckConstraint("distance_m >= 0", name="distance_m"),
        CheckConstraint("to_date >= from_date", name="to_date"),
    )

    site_id: int = Stored(foreign_key="site.id", index=True)
    kind_id: int = Stored(foreign_key="kind.id", index=True)
    variety_id: int | None = Stored(default=None, foreign_key="variety.id", index=True)


SiteAsked = Annotated[int | None, Field(ge=1, le=2_147_483_647, description="number of a site")]


class FloweringFilter(Filter):
    year: YearAsked = None
    site: SiteAsked = None
    kind: KindAsked = None
    what: StandIs | None = Field(default=None, description="how it comes to flower")


def get_flowering(session: Session, flowering_id: int) -> Flowering:
    """The flowering with this id. Raises Missing: there is none."""
    return fetch(session, Flowering, flowering_id, what="flowering")


def find_flowering(session: Session, number: int) -> Flowering:
    """The flowering with this number. Raises NotThere."""
    with about("id"):
        return get_flowering(session, number)


def find_flowerings(
    session: Session, wanted: FloweringFilter | None = None, paging: Paging = FIRST
) -> Page[Flowering]:
    """A page of the flowerings by year. Raises Refused: no such kind. BadValue: the page."""
    wanted = wanted or FloweringFilter()
    kind_id = None if wanted.kind is None else kind_named(session, wanted.kind).id
    query = matching(
        select(Flowering),
        (col(Flowering.year), wanted.year),
        (col(Flowering.site_id), wanted.site),
        (col(Flowering.kind_id), kind_id),
        (col(Flowering.what), wanted.what),
    )
    return page_of(session, query, Order(Flowering.year, Flowering.id), paging)


def flowerings_in(session: Session, year: int) -> list[Flowering]:
    """Everything in flower in a year, at every site, by id."""
    query = select(Flowering).where(col(Flowering.year) == year).order_by(col(Flowering.id))
    return list(session.execute(query).scalars())


def own_window(session: Session, kind_id: int, site_id: int | None) -> FloweringWindow | None:
    """The gardener's window of a kind for just this site, or (None) for every site."""
    query = select(FloweringWindow).where(
        col(FloweringWindow.kind_id) == kind_id, col(FloweringWindow.site_id) == site_id
    )
    found: FloweringWindow | None = session.execute(query).scalar_one_or_none()
    return found


def own_windows(
    session: Session, kind_ids: Iterable[int], site_ids: Iterable[int]
) -> dict[tuple[int, int | None], FloweringWindow]:
    """The gardener's windows by kind and site (None: every site), in one query."""
    site = col(FloweringWindow.site_id)
    query = select(FloweringWindow).where(
        col(FloweringWindow.kind_id).in_(list(kind_ids)),
        or_(site.is_(None), site.in_(list(site_ids))),
    )
    rows = session.execute(query).scalars()
    return {(window.kind_id, window.site_id): window for window in rows}


class LimitsFields(Fields):
    """What a season's work allows."""

    seed_crops_a_year: Crops | None = optional(
        "Seed crops a season's work allows; null: no limit.", 8, default=None
    )


class GardenLimits(LimitsFields, Editable, table=True):
    """Limits of the garden as a whole. None: no limit is set."""

    __tablename__ = "garden_limits"
    __table_args__ = (
        CheckConstraint("id = 1", name="one_row"),
        CheckConstraint("seed_crops_a_year >= 0", name="seed_crops_a_year"),
    )

    id: int = Stored(default=1, primary_key=True)


def garden_limits(session: Session) -> GardenLimits:
    """The limits, or unlimited ones not in the database yet if none were ever set."""
    return session.get(GardenLimits, 1) or GardenLimits()


def garden_limits_row(session: Session) -> GardenLimits:
    """The limits, put in the database first where none were ever set."""
    put_in = "INSERT INTO garden_limits (id, version) VALUES (1, 1) ON CONFLICT (id) DO NOTHING"
    session.execute(text(put_in))
    return session.get_one(GardenLimits, 1)


class GearKind(StrEnum):
    CAGE = "cage"
    BAG = "bag"
    NET = "net"


class GearFields(Fields):
    """Equipment that keeps pollen out: pieces alike."""

    name: Annotated[Name, Stored(unique=True)] = Field(
        description="Its name.", examples=["Gauze cages"]
    )
    gear: Annotated[GearKind, Stored(sa_type=word(GearKind))] = Field(
        description="A cage over whole plants, bags over single trusses or heads, or a net.",
        examples=["cage", "net"],
    )
    pieces: Pieces = optional("How many there are, all alike.", 3, 2, default=1)
    covers_m2: Cover | None = optional(
        "What one of them covers, m²; unknown if left out.", 1.8, 2.0, default=None
    )
    notes: Notes = optional("Anything else.", "one is torn", "mended", default="")


class IsolationGear(GearFields, Editable, table=True):
    __tablename__ = "isolation_gear"
    __table_args__ = (
        CheckConstraint("pieces >= 1", name="pieces"),
        CheckConstraint("covers_m2 > 0", name="covers_m2"),
    )


def get_gear(session: Session, gear_id: int) -> IsolationGear:
    """The isolation gear with this id. Raises Missing: there is none."""
    return fetch(session, IsolationGear, gear_id, what="isolation gear")


def find_gear(session: Session, number: int) -> IsolationGear:
    """The isolation gear with this number. Raises NotThere."""
    with about("id"):
        return get_gear(session, number)


def find_all_gear(
    session: Session, paging: Paging = FIRST, *, gear: GearKind | None = None
) -> Page[IsolationGear]:
    """A page of the gear by name. Raises BadValue: limit or cursor."""
    query = matching(select(IsolationGear), (col(IsolationGear.gear), gear))
    return page_of(session, query, Order(IsolationGear.name, IsolationGear.id), paging)


class SeedCropFields(Fields):
    """What a seed crop is to be, besides its variety, its lot, its site and the year it flowers."""

    sow_on: Day | None = optional("Day it is to be sown.", "2026-06-20", "2026-06-24", default=None)
    purpose: Annotated[Purpose, Stored(sa_type=word(Purpose))] = Field(
        description="Home use, keeping the variety, or keeping a rare one.",
        examples=["keep", "rare"],
    )
    isolation: Annotated[Isolation, Stored(sa_type=word(Isolation))] = optional(
        "What keeps it from crossing.", "cage", default=Isolation.UNKNOWN
    )
    parents_started: Seeds | None = optional("Plants raised as seed parents.", 40, default=None)
    notes: Notes = optional("Anything else.", "north end", "staked on 2 June", default="")


class GrownCropFields(SeedCropFields):
    """What more is known of a seed crop once it grows.

    Of ``parents_started`` plants ``parents_rogued`` were pulled out and ``parents_kept`` gave
    seed; the rest were lost.
    """

    parents_rogued: Seeds | None = optional(
        "Plants pulled out for being untrue, weak or sick.", 3, default=None
    )
    parents_kept: Seeds | None = optional("Plants seed is taken from.", 32, default=None)
    flower_from: Day | None = optional("First open flower seen.", "2027-06-12", default=None)
    flower_to: Day | None = optional("Last open flower seen.", "2027-07-18", default=None)
    cleaning: Remark = optional("How it was cleaned.", "", "rubbed and winnowed", default="")
    drying: Remark = optional(
        "How it was dried.", "", "a week on trays, then silica gel", default=""
    )


class SeedCrop(GrownCropFields, Editable, table=True):
    """One variety grown for seed. It is open until ``harvested_on`` or ``failed_on`` is set.

    ``lot_id`` is the lot sown, ``result_lot_id`` the lot harvested.
    """

    __tablename__ = "seed_crop"
    __table_args__ = (
        CheckConstraint("flower_year BETWEEN 1900 AND 2199", name="flower_year"),
        CheckConstraint("parents_started >= 0", name="parents_started"),
        CheckConstraint("parents_rogued >= 0", name="parents_rogued"),
        CheckConstraint("parents_kept >= 0", name="parents_kept"),
        CheckConstraint(
            "coalesce(parents_rogued, 0) + coalesce(parents_kept, 0) <= parents_started",
            name="no_more_than_started",
        ),
        CheckConstraint("flower_to >= flower_from", name="flower_to"),
        CheckConstraint("harvested_on IS NULL OR failed_on IS NULL", name="one_end"),
    )

    variety_id: int = Stored(
        foreign_key="variety.id",
        index=True,
        sa_column_kwargs=begun_once("sown_on", "harvested_on", "failed_on"),
    )
    lot_id: int | None = Stored(default=None, foreign_key="lot.id", index=True)
    site_id: int = Stored(foreign_key="site.id", index=True)
    flower_year: int = Stored(index=True)
    gear_id: int | None = Stored(default=None, foreign_key="isolation_gear.id", index=True)
    planned_on: date
    sown_on: date | None = Stored(default=None)
    sowing_id: int | None = Stored(
        default=None, foreign_key="sowing.id", index=True, sa_column_kwargs=forgets_it()
    )
    harvested_on: date | None = Stored(default=None)
    failed_on: date | None = Stored(default=None)
    why_failed: str = Stored(default="", max_length=400)
    result_lot_id: int | None = Stored(default=None, foreign_key="lot.id", unique=True)
    created_at: datetime = Stored(sa_type=UtcDateTime)

    @property
    def is_open(self) -> bool:
        return self.harvested_on is None and self.failed_on is None


class SeedCropFilter(Filter):
    variety: VarietyAsked = None
    site: SiteAsked = None
    year: YearAsked = None
    open: bool | None = Field(default=None, description="neither harvested nor lost")


def get_seed_crop(session: Session, crop_id: int) -> SeedCrop:
    """The seed crop with this id. Raises Missing: there is none."""
    return fetch(session, SeedCrop, crop_id, what="seed crop")


def find_seed_crop(session: Session, number: int) -> SeedCrop:
    """The seed crop with this number. Raises NotThere."""
    with about("id"):
        return get_seed_crop(session, number)


def find_seed_crops(
    session: Session, wanted: SeedCropFilter | None = None, paging: Paging = FIRST
) -> Page[SeedCrop]:
    """A page of the seed crops by the year they flower. Raises BadValue: limit or cursor."""
    wanted = wanted or SeedCropFilter()
    harvested, failed = col(SeedCrop.harvested_on), col(SeedCrop.failed_on)
    query = matching(
        select(SeedCrop),
        (col(SeedCrop.variety_id), wanted.variety),
        (col(SeedCrop.site_id), wanted.site),
        (col(SeedCrop.flower_year), wanted.year),
        (harvested.is_(None) & failed.is_(None), wanted.open),
    )
    return page_of(session, query, Order(SeedCrop.flower_year, SeedCrop.id), paging)


def seed_crops_in(session: Session, year: int) -> list[SeedCrop]:
    """The seed crops that flower, or flowered, in a year, by id; failed ones are left out."""
    query = (
        select(SeedCrop)
        .where(col(SeedCrop.flower_year) == year, col(SeedCrop.failed_on).is_(None))
        .order_by(col(SeedCrop.id))
    )
    return list(session.execute(query).scalars())


class SiteFields(Fields):
    """Ground plants flower on: a garden, an allotment, a borrowed corner."""

    name: Annotated[Name, Stored(unique=True)] = Field(
        description="Its name.", examples=["Long garden"]
    )
    seed_bed_m2: SquareMetres | None = optional(
        "Bed that may be given to seed crops there, m²; unknown if left out.",
        12.0,
        9.0,
        default=None,
    )
    notes: Notes = optional(
        "Anything else.", "hedged all round", "hedge cut down in 2026", default=""
    )


class Site(SiteFields, Editable, table=True):
    __tablename__ = "site"
    __table_args__ = (CheckConstraint("seed_bed_m2 >= 0", name="seed_bed_m2"),)


class SiteDistance(SQLModel, table=True):
    """Metres between two sites as pollen goes, kept once: ``site_id`` is the lower number."""

    __tablename__ = "site_distance"
    __table_args__ = (
        CheckConstraint("site_id < other_id", name="each_pair_once"),
        CheckConstraint("metres >= 0", name="metres"),
    )

    site_id: int = Stored(foreign_key="site.id", primary_key=True, sa_column_kwargs=goes_along())
    other_id: int = Stored(
        foreign_key="site.id", primary_key=True, index=True, sa_column_kwargs=goes_along()
    )
    metres: float


def get_site(session: Session, site_id: int) -> Site:
    """The site with this id. Raises Missing: there is none."""
    return fetch(session, Site, site_id, what="site")


def find_site(session: Session, number: int) -> Site:
    """The site with this number. Raises NotThere."""
    with about("id"):
        return get_site(session, number)


def find_sites(session: Session, paging: Paging = FIRST) -> Page[Site]:
    """A page of the sites by name. Raises BadValue: limit or cursor."""
    return page_of(session, select(Site), Order(Site.name, Site.id), paging)


def set_distance(session: Session, one_id: int, other_id: int, metres: float) -> SiteDistance:
    """Say how far apart two sites are, in place of what was said before; flushes.

    Raises Missing: no such site. BadValue: a site and itself, or less than nothing.
    """
    if one_id == other_id:
        raise BadValue("distance-to-same-site", "other_id", other_id)
    if not metres >= 0:
        raise BadValue("distance-negative", "metres", metres)
    low, high = sorted((get_site(session, one_id).id or 0, get_site(session, other_id).id or 0))
    distance = session.get(SiteDistance, (low, high))
    if distance is None:
        distance = SiteDistance(site_id=low, other_id=high, metres=metres)
    distance.metres = metres
    session.add(distance)
    session.flush()
    return distance


def all_distances(session: Session) -> dict[tuple[int, int], float]:
    """Metres between sites by pair, the lower number first."""
    rows = session.execute(select(SiteDistance)).scalars()
    return {(row.site_id, row.other_id): row.metres for row in rows}
