"""Germination tests: replicates set, seedlings judged on dated counts, corrections kept."""

from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import CheckConstraint, Index, UniqueConstraint, text
from sqlmodel import Field, SQLModel

from seedbank.stock.base import Editable, UtcDateTime, word


class Substratum(StrEnum):
    PAPER_TOWEL = "paper-towel"
    BLOTTER = "blotter"
    SAND = "sand"
    COMPOST = "compost"
    OTHER = "other"


class Pretreatment(StrEnum):
    NONE = "none"
    PRECHILL = "prechill"
    LIGHT = "light"
    SCARIFY = "scarify"
    SOAK = "soak"


class GerminationTest(Editable, table=True):
    """A test is open until ``finished_on`` is set; only a finished one informs viability."""

    __tablename__ = "germination_test"
    __table_args__ = (
        Index("ix_germination_test_lot_id", "lot_id", "finished_on"),
        Index("ix_germination_test_finished_on", "finished_on", "started_on"),
    )

    id: int | None = Field(default=None, primary_key=True)
    lot_id: int = Field(foreign_key="lot.id")
    substratum: Substratum = Field(sa_type=word(Substratum))
    pretreatment: Pretreatment = Field(default=Pretreatment.NONE, sa_type=word(Pretreatment))
    temp_c: float | None = Field(default=None)
    in_light: bool | None = Field(default=None)
    started_on: date = Field(index=True)
    first_count_due: date | None = Field(default=None)
    final_count_due: date | None = Field(default=None)
    finished_on: date | None = Field(default=None)
    movement_id: int | None = Field(default=None, foreign_key="movement.id")
    notes: str = Field(default="", max_length=4000)
    created_at: datetime = Field(sa_type=UtcDateTime)


class Replicate(SQLModel, table=True):
    __tablename__ = "replicate"
    __table_args__ = (
        UniqueConstraint("test_id", "number"),
        CheckConstraint("seeds_set >= 1", name="seeds_set"),
    )

    id: int | None = Field(default=None, primary_key=True)
    test_id: int = Field(foreign_key="germination_test.id")
    number: int
    seeds_set: int


class Count(SQLModel, table=True):
    """Seeds of one replicate judged, and taken out, on one day (not a running total).

    A correction is a new row for the same replicate and day with ``revision`` one higher; the
    earlier row stays, and ``current`` marks the one that stands.
    """

    __tablename__ = "germination_count"
    __table_args__ = (
        UniqueConstraint("replicate_id", "on_date", "revision"),
        Index(
            "uq_germination_count_current",
            "replicate_id",
            "on_date",
            unique=True,
            sqlite_where=text("current"),
            postgresql_where=text("current"),
        ),
        CheckConstraint(
            "normal >= 0 AND abnormal >= 0 AND hard >= 0 AND fresh >= 0 AND dead >= 0",
            name="never_negative",
        ),
    )

    id: int | None = Field(default=None, primary_key=True)
    replicate_id: int = Field(foreign_key="replicate.id")
    on_date: date
    revision: int = Field(default=1)
    current: bool = Field(default=True)
    normal: int = Field(default=0)
    abnormal: int = Field(default=0)
    hard: int = Field(default=0)
    fresh: int = Field(default=0)
    dead: int = Field(default=0)
    why_corrected: str = Field(default="", max_length=400)
    recorded_at: datetime = Field(sa_type=UtcDateTime)
