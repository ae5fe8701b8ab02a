"""Sowings and what came up: dated emergence counts, and losses with their cause."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import CheckConstraint, Index, UniqueConstraint, select
from sqlmodel import Field, Session, SQLModel, col

from seedbank.database.base import Editable, UtcDateTime, word
from seedbank.database.find import about
from seedbank.database.queries import Cursor, Page, fetch, page_of
from seedbank.database.references import day_of_use, goes_along


class SowingMethod(StrEnum):
    ROW = "row"
    STATION = "station"
    MODULE = "module"
    BROADCAST = "broadcast"


class Protection(StrEnum):
    OPEN = "open"
    FLEECE = "fleece"
    COLD_FRAME = "cold-frame"
    TUNNEL = "tunnel"
    INDOORS = "indoors"


class LossCause(StrEnum):
    NOT_EMERGED = "not-emerged"
    EATEN = "eaten"
    FROST = "frost"
    DRIED_OUT = "dried-out"


class Sowing(Editable, table=True):
    __tablename__ = "sowing"
    __table_args__ = (
        Index("ix_sowing_lot_id", "lot_id", "sown_on"),
        Index("ix_sowing_finished_on", "finished_on", "sown_on"),
        CheckConstraint("seeds_sown >= 1", name="seeds_sown"),
        CheckConstraint("row_m > 0", name="row_m"),
        CheckConstraint("area_m2 > 0", name="area_m2"),
        CheckConstraint("stations >= 1", name="stations"),
    )

    id: int | None = Field(default=None, primary_key=True)
    lot_id: int = Field(foreign_key="lot.id")
    sown_on: date = Field(index=True, sa_column_kwargs=day_of_use())
    method: SowingMethod = Field(sa_type=word(SowingMethod))
    protection: Protection = Field(default=Protection.OPEN, sa_type=word(Protection))
    seeds_sown: int = Field(description="seed units")
    row_m: float | None = Field(default=None, description="metres of row")
    area_m2: float | None = Field(default=None)
    stations: int | None = Field(default=None, description="stations, or cells of a module tray")
    soil_temp_c: float | None = Field(default=None)
    plants_wanted: int | None = Field(default=None)
    finished_on: date | None = Field(default=None, description="no more seedlings expected")
    movement_id: int | None = Field(default=None, foreign_key="movement.id")
    notes: str = Field(default="", max_length=4000)
    created_at: datetime = Field(sa_type=UtcDateTime)


class Emergence(SQLModel, table=True):
    """Seed units seen to have emerged up to a day (a running total, as one counts a row).

    Units that came up and were lost since still count. The total can fall only in a row marked
    ``correction``: the counts before it were too high.
    """

    __tablename__ = "emergence"
    __table_args__ = (
        UniqueConstraint("sowing_id", "on_date"),
        CheckConstraint("units_emerged >= 0", name="units_emerged"),
    )

    id: int | None = Field(default=None, primary_key=True)
    sowing_id: int = Field(foreign_key="sowing.id", sa_column_kwargs=goes_along())
    on_date: date
    units_emerged: int
    correction: bool = Field(default=False, description="earlier, higher totals were wrong")
    recorded_at: datetime = Field(sa_type=UtcDateTime)


class Loss(SQLModel, table=True):
    """Seed units of a sowing known lost to one cause.

    ``after_emergence`` tells seedlings eaten or frosted, which did emerge, from units that were
    lost in the soil and never could.
    """

    __tablename__ = "sowing_loss"
    __table_args__ = (CheckConstraint("units_lost >= 1", name="units_lost"),)

    id: int | None = Field(default=None, primary_key=True)
    sowing_id: int = Field(foreign_key="sowing.id", index=True, sa_column_kwargs=goes_along())
    on_date: date
    cause: LossCause = Field(sa_type=word(LossCause))
    units_lost: int
    after_emergence: bool = Field(default=False, description="lost as a seedling, once up")
    recorded_at: datetime = Field(sa_type=UtcDateTime)


@dataclass(frozen=True, slots=True, kw_only=True)
class SowingFilter:
    """What the sowings must all be; None asks nothing."""

    lot_id: int | None = None
    is_open: bool | None = None
    sown_from: date | None = None  # that day or later
    sown_to: date | None = None  # that day or before


def get_sowing(session: Session, sowing_id: int) -> Sowing:
    """The sowing with this id. Raises Missing: there is none."""
    return fetch(session, Sowing, sowing_id, what="sowing")


def find_sowing(session: Session, number: int) -> Sowing:
    """The sowing with this number. Raises NotThere."""
    with about("id"):
        return get_sowing(session, number)


def find_sowings(
    session: Session,
    wanted: SowingFilter | None = None,
    *,
    after: Cursor | None = None,
    limit: int = 50,
) -> Page[Sowing]:
    """A page of the sowings, earliest sown first. Raises BadValue: limit or cursor."""
    wanted = wanted or SowingFilter()
    query = select(Sowing)
    if wanted.lot_id is not None:
        query = query.where(col(Sowing.lot_id) == wanted.lot_id)
    finished_on = col(Sowing.finished_on)
    if wanted.is_open is not None:
        query = query.where(finished_on.is_(None) if wanted.is_open else finished_on.is_not(None))
    if wanted.sown_from is not None:
        query = query.where(col(Sowing.sown_on) >= wanted.sown_from)
    if wanted.sown_to is not None:
        query = query.where(col(Sowing.sown_on) <= wanted.sown_to)
    return page_of(
        session,
        query,
        sort=Sowing.sown_on,
        row_id=Sowing.id,
        after=after,
        limit=limit,
        read=lambda row: row[0],
    )
