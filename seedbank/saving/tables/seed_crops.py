"""Seed crops: the record of saving seed of one variety, from seed parents to the new lot."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import CheckConstraint, select
from sqlmodel import Field, Session, col

from seedbank.database.base import Editable, UtcDateTime, word
from seedbank.database.find import about
from seedbank.database.queries import Cursor, Page, fetch, page_of
from seedbank.database.references import forgets_it
from seedbank.lots.tables.lots import Isolation
from seedbank.science.crossing.crossing_risk import Purpose


class SeedCrop(Editable, table=True):
    """One variety grown for seed. It is open until ``harvested_on`` or ``failed_on`` is set.

    Of ``parents_started`` plants ``parents_rogued`` were pulled out for being untrue or weak and
    ``parents_kept`` gave seed; the rest were lost. ``lot_id`` is the lot sown, ``sowing_id`` the
    sowing that took its seed, ``result_lot_id`` the lot harvested.
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

    id: int | None = Field(default=None, primary_key=True)
    variety_id: int = Field(foreign_key="variety.id", index=True)
    lot_id: int | None = Field(default=None, foreign_key="lot.id", index=True)
    site_id: int = Field(foreign_key="site.id", index=True)
    sow_on: date | None = Field(default=None, description="day it is to be sown")
    flower_year: int = Field(index=True)
    purpose: Purpose = Field(sa_type=word(Purpose))
    isolation: Isolation = Field(default=Isolation.UNKNOWN, sa_type=word(Isolation))
    gear_id: int | None = Field(default=None, foreign_key="isolation_gear.id", index=True)
    parents_started: int | None = Field(default=None)
    parents_rogued: int | None = Field(default=None)
    parents_kept: int | None = Field(default=None)
    flower_from: date | None = Field(default=None, description="first open flower, if seen")
    flower_to: date | None = Field(default=None, description="last open flower, if seen")
    planned_on: date
    sown_on: date | None = Field(default=None)
    sowing_id: int | None = Field(
        default=None, foreign_key="sowing.id", index=True, sa_column_kwargs=forgets_it()
    )
    harvested_on: date | None = Field(default=None)
    failed_on: date | None = Field(default=None)
    why_failed: str = Field(default="", max_length=400)
    cleaning: str = Field(default="", max_length=400, description="how it was cleaned")
    drying: str = Field(default="", max_length=400, description="how it was dried")
    result_lot_id: int | None = Field(default=None, foreign_key="lot.id", unique=True)
    notes: str = Field(default="", max_length=4000)
    created_at: datetime = Field(sa_type=UtcDateTime)

    @property
    def is_open(self) -> bool:
        return self.harvested_on is None and self.failed_on is None


@dataclass(frozen=True, slots=True, kw_only=True)
class SeedCropFilter:
    """What the seed crops must all be; None asks nothing."""

    variety_id: int | None = None
    site_id: int | None = None
    flower_year: int | None = None
    is_open: bool | None = None


def get_seed_crop(session: Session, crop_id: int) -> SeedCrop:
    """The seed crop with this id. Raises Missing: there is none."""
    return fetch(session, SeedCrop, crop_id, what="seed crop")


def find_seed_crop(session: Session, number: int) -> SeedCrop:
    """The seed crop with this number. Raises NotThere."""
    with about("id"):
        return get_seed_crop(session, number)


def find_seed_crops(
    session: Session,
    wanted: SeedCropFilter | None = None,
    *,
    after: Cursor | None = None,
    limit: int = 50,
) -> Page[SeedCrop]:
    """A page of the seed crops by the year they flower. Raises BadValue: limit or cursor."""
    wanted = wanted or SeedCropFilter()
    query = select(SeedCrop)
    if wanted.variety_id is not None:
        query = query.where(col(SeedCrop.variety_id) == wanted.variety_id)
    if wanted.site_id is not None:
        query = query.where(col(SeedCrop.site_id) == wanted.site_id)
    if wanted.flower_year is not None:
        query = query.where(col(SeedCrop.flower_year) == wanted.flower_year)
    if wanted.is_open is not None:
        harvested, failed = col(SeedCrop.harvested_on), col(SeedCrop.failed_on)
        still = harvested.is_(None) & failed.is_(None)
        query = query.where(still if wanted.is_open else ~still)
    return page_of(
        session,
        query,
        sort=SeedCrop.flower_year,
        row_id=SeedCrop.id,
        after=after,
        limit=limit,
        read=lambda row: row[0],
    )


def seed_crops_in(session: Session, year: int) -> list[SeedCrop]:
    """The seed crops that flower, or flowered, in a year, by id; failed ones are left out."""
    query = (
        select(SeedCrop)
        .where(col(SeedCrop.flower_year) == year, col(SeedCrop.failed_on).is_(None))
        .order_by(col(SeedCrop.id))
    )
    return list(session.execute(query).scalars())


def crops_behind(session: Session, lot_ids: Iterable[int]) -> dict[int, SeedCrop]:
    """The seed crop each of these lots was harvested from, where one is on record."""
    query = select(SeedCrop).where(col(SeedCrop.result_lot_id).in_(list(lot_ids)))
    rows = session.execute(query).scalars()
    return {crop.result_lot_id: crop for crop in rows if crop.result_lot_id is not None}
