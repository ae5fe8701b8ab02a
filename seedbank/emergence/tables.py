"""Sowings and what came of them: running totals of units emerged, and losses with their cause."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Annotated

from pydantic import Field
from sqlalchemy import CheckConstraint, Index, UniqueConstraint, select
from sqlmodel import Field as Stored
from sqlmodel import Session, SQLModel, col

from seedbank.common.errors import BadValue, FewerEmerged, Missing, TooManyEmerged
from seedbank.common.fields import Fields, optional
from seedbank.common.forms import (
    Celsius,
    Day,
    Filter,
    Flag,
    LotAsked,
    Notes,
    Real,
    Seeds,
    SomeSeeds,
)
from seedbank.database.base import Editable, UtcDateTime, word
from seedbank.database.find import about
from seedbank.database.queries import FIRST, Order, Page, Paging, fetch, matching, page_of
from seedbank.database.references import day_of_use, goes_along
from seedbank.lots.tables.lots import lot_named


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


Metres = Annotated[Real, Field(gt=0, le=100_000)]


class SowingFields(Fields):
    """What a sowing consists of, besides its lot, its day and the seeds sown."""

    method: Annotated[SowingMethod, Stored(sa_type=word(SowingMethod))] = Field(
        description="In a row, at stations, in modules, or broadcast.", examples=["row", "station"]
    )
    protection: Annotated[Protection, Stored(sa_type=word(Protection))] = optional(
        "What the sowing is kept under.", "fleece", "tunnel", default=Protection.OPEN
    )
    row_m: Metres | None = optional("Length of row, m.", 3.5, 3.0, default=None)
    area_m2: Metres | None = optional("Area, m².", 1.2, 1.0, default=None)
    stations: SomeSeeds | None = optional(
        "Stations, or cells of a module tray.", 24, 20, default=None
    )
    soil_temp_c: Celsius | None = optional(
        "Soil temperature at sowing depth, °C.", 11.0, 9.5, default=None
    )
    plants_wanted: Seeds | None = optional("Plants wanted from it.", 40, 30, default=None)
    notes: Notes = optional("Anything else.", "east bed", "watered every day", default="")


class Sowing(SowingFields, Editable, table=True):
    __tablename__ = "sowing"
    __table_args__ = (
        Index("ix_sowing_lot_id", "lot_id", "sown_on"),
        Index("ix_sowing_finished_on", "finished_on", "sown_on"),
        CheckConstraint("seeds_sown >= 1", name="seeds_sown"),
        CheckConstraint("row_m > 0", name="row_m"),
        CheckConstraint("area_m2 > 0", name="area_m2"),
        CheckConstraint("stations >= 1", name="stations"),
    )

    lot_id: int = Stored(foreign_key="lot.id")
    sown_on: date = Stored(index=True, sa_column_kwargs=day_of_use())
    seeds_sown: int = Stored(description="seed units")
    finished_on: date | None = Stored(default=None, description="no more seedlings expected")
    movement_id: int | None = Stored(default=None, foreign_key="movement.id")
    created_at: datetime = Stored(sa_type=UtcDateTime)


class EmergenceFields(Fields):
    """Sown seeds seen to have come up so far: a running total, as one counts a row.

    Those that came up and were lost since still count. The total can fall only in a row marked
    ``correction``: the counts before it were too high.
    """

    units_emerged: Seeds = Field(description="Seeds come up so far.", examples=[71])
    correction: Flag = optional(
        "The totals before were too high: this one may be lower.", False, default=False
    )


class LossFields(Fields):
    """Seeds or seedlings of a sowing known lost to one cause.

    ``after_emergence`` tells seedlings eaten or frosted, which did emerge, from seeds that were
    lost in the soil and never could.
    """

    cause: Annotated[LossCause, Stored(sa_type=word(LossCause))] = Field(
        description="What took them.", examples=["eaten"]
    )
    units_lost: SomeSeeds = Field(description="How many.", examples=[9])
    after_emergence: Flag = optional(
        "Lost as seedlings, once up, rather than in the soil.", True, default=False
    )


class Emergence(EmergenceFields, SQLModel, table=True):
    __tablename__ = "emergence"
    __table_args__ = (
        UniqueConstraint("sowing_id", "on_date"),
        CheckConstraint("units_emerged >= 0", name="units_emerged"),
    )

    id: int | None = Stored(default=None, primary_key=True)
    sowing_id: int = Stored(foreign_key="sowing.id", sa_column_kwargs=goes_along())
    on_date: date
    recorded_at: datetime = Stored(sa_type=UtcDateTime)


class Loss(LossFields, SQLModel, table=True):
    __tablename__ = "sowing_loss"
    __table_args__ = (CheckConstraint("units_lost >= 1", name="units_lost"),)

    id: int | None = Stored(default=None, primary_key=True)
    sowing_id: int = Stored(foreign_key="sowing.id", index=True, sa_column_kwargs=goes_along())
    on_date: date
    recorded_at: datetime = Stored(sa_type=UtcDateTime)


class SowingFilter(Filter):
    lot: LotAsked = None
    open: bool | None = Field(default=None, description="not finished")
    sown_from: Day | None = Field(default=None, description="sown then or later")
    sown_to: Day | None = Field(default=None, description="sown then or before")


def get_sowing(session: Session, sowing_id: int) -> Sowing:
    """The sowing with this id. Raises Missing: there is none."""
    return fetch(session, Sowing, sowing_id, what="sowing")


def find_sowing(session: Session, number: int) -> Sowing:
    """The sowing with this number. Raises NotThere."""
    with about("id"):
        return get_sowing(session, number)


def find_sowings(
    session: Session, wanted: SowingFilter | None = None, paging: Paging = FIRST
) -> Page[Sowing]:
    """A page of the sowings, earliest sown first.

    Raises MisreadCode, Refused: no such lot. BadValue: limit or cursor.
    """
    wanted = wanted or SowingFilter()
    query = matching(
        select(Sowing),
        (col(Sowing.lot_id), wanted.lot and lot_named(session, wanted.lot, field="lot").id),
        (col(Sowing.finished_on).is_(None), wanted.open),
    )
    if wanted.sown_from is not None:
        query = query.where(col(Sowing.sown_on) >= wanted.sown_from)
    if wanted.sown_to is not None:
        query = query.where(col(Sowing.sown_on) <= wanted.sown_to)
    return page_of(session, query, Order(Sowing.sown_on, Sowing.id), paging)


@dataclass(frozen=True, slots=True)
class Outcome:
    """A sowing's counts by day and its losses by day, as recorded."""

    emergences: list[Emergence]
    losses: list[Loss]

    @property
    def units_emerged(self) -> int | None:
        """The last running total; None before the first count."""
        return self.emergences[-1].units_emerged if self.emergences else None

    def units_lost(self, *, after_emergence: bool) -> int:
        """Units lost once up, or before they could come up, whatever the cause."""
        return sum(
            loss.units_lost for loss in self.losses if loss.after_emergence is after_emergence
        )


def record_emergence(
    session: Session,
    *,
    sowing_id: int,
    on: date,
    units_emerged: int,
    correction: bool = False,
    now: datetime,
) -> Emergence:
    """Record how many units have emerged up to a day; flushes, never commits.

    A second count on one day replaces the first. A total lower than the one before it must be
    said to be a ``correction``; one higher than the next can't be recorded, correct that first.

    Raises Missing: no such sowing. BadValue: below 0, or a day before the sowing.
    TooManyEmerged: more than were sown, less those lost before they came up. FewerEmerged.
    """
    sowing = _lock_sowing(session, sowing_id)
    _check_day(sowing, on)
    if units_emerged < 0:
        raise BadValue("emergence-negative", "units_emerged", units_emerged)
    outcome = outcomes(session, [sowing_id])[sowing_id]
    in_soil = outcome.units_lost(after_emergence=False)
    _check_sown(sowing, units_emerged, in_soil, field="units_emerged", value=units_emerged)
    _check_rises(outcome.emergences, on, units_emerged, correction=correction)
    same_day = [one for one in outcome.emergences if one.on_date == on]
    emergence = (
        same_day[0]
        if same_day
        else Emergence(sowing_id=sowing_id, on_date=on, units_emerged=0, recorded_at=now)
    )
    emergence.units_emerged = units_emerged
    before = _before(outcome.emergences, on)
    emergence.correction = before is not None and units_emerged < before.units_emerged
    emergence.recorded_at = now
    session.add(emergence)
    session.flush()
    return emergence


def record_loss(session: Session, loss: Loss) -> Loss:
    """Record units lost to one cause; flushes, never commits.

    Raises Missing: no such sowing. BadValue: below 1, a day before the sowing, or units that did
    not emerge said to be lost after emergence. TooManyEmerged: more than were sown, with those
    that emerged, seedlings lost among them whether counted before or not.
    """
    sowing = _lock_sowing(session, loss.sowing_id)
    _check_day(sowing, loss.on_date)
    if loss.units_lost < 1:
        raise BadValue("loss-below-one", "units_lost", loss.units_lost)
    if loss.after_emergence and loss.cause is LossCause.NOT_EMERGED:
        raise BadValue("loss-cause-after-emergence", "after_emergence", True)
    outcome = outcomes(session, [loss.sowing_id])[loss.sowing_id]
    lost = {after: outcome.units_lost(after_emergence=after) for after in (True, False)}
    lost[loss.after_emergence] += loss.units_lost
    emerged = max(outcome.units_emerged or 0, lost[True])
    _check_sown(sowing, emerged, lost[False], field="units_lost", value=loss.units_lost)
    session.add(loss)
    session.flush()
    return loss


def outcomes(session: Session, sowing_ids: Iterable[int]) -> dict[int, Outcome]:
    """What each sowing became, in two queries however many sowings."""
    found: dict[int, Outcome] = {sowing_id: Outcome([], []) for sowing_id in sowing_ids}
    fresh = {"populate_existing": True}  # rows read before the sowing was locked may be stale
    counts = select(Emergence).where(col(Emergence.sowing_id).in_(found))
    counts = counts.order_by(col(Emergence.on_date)).execution_options(**fresh)
    for emergence in session.execute(counts).scalars():
        found[emergence.sowing_id].emergences.append(emergence)
    lost = select(Loss).where(col(Loss.sowing_id).in_(found))
    lost = lost.order_by(col(Loss.on_date), col(Loss.id)).execution_options(**fresh)
    for loss in session.execute(lost).scalars():
        found[loss.sowing_id].losses.append(loss)
    return found


def _lock_sowing(session: Session, sowing_id: int) -> Sowing:
    locked = session.execute(
        select(Sowing)
        .where(col(Sowing.id) == sowing_id)
        .with_for_update()
        .execution_options(populate_existing=True)
    )
    sowing: Sowing | None = locked.scalar_one_or_none()
    if sowing is None:
        raise Missing("sowing", sowing_id)
    return sowing


def _check_day(sowing: Sowing, on: date) -> None:
    if on < sowing.sown_on:
        raise BadValue("count-before-sowing", "on_date", on, sown_on=sowing.sown_on)


def _check_sown(sowing: Sowing, emerged: int, in_soil: int, *, field: str, value: int) -> None:
    if emerged + in_soil > sowing.seeds_sown:
        raise TooManyEmerged(sowing.seeds_sown, emerged, in_soil, field=field, value=value)


def _before(emergences: list[Emergence], on: date) -> Emergence | None:
    return next((count for count in reversed(emergences) if count.on_date < on), None)


def _check_rises(
    emergences: list[Emergence], on: date, units_emerged: int, *, correction: bool
) -> None:
    # Only the neighbours: what a correction disowned further back no longer binds.
    for count in (_before(emergences, on), *(count for count in emergences if count.on_date == on)):
        if count is not None and units_emerged < count.units_emerged and not correction:
            raise FewerEmerged(on, units_emerged, count.on_date, count.units_emerged)
    later = next((count for count in emergences if count.on_date > on), None)
    if later is not None and not later.correction and units_emerged > later.units_emerged:
        raise FewerEmerged(on, units_emerged, later.on_date, later.units_emerged)
