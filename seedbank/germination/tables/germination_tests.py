"""Germination tests: replicates set, seedlings judged on dated counts, corrections kept."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import CheckConstraint, ColumnElement, Index, UniqueConstraint, or_, select
from sqlmodel import Field, Session, SQLModel, col

from seedbank.database.base import Editable, UtcDateTime, unique_where, word
from seedbank.database.find import about
from seedbank.database.queries import Cursor, Page, fetch, page_of
from seedbank.database.references import day_of_use, goes_along
from seedbank.lots.tables.lots import Lot


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
    """A test is open until ``finished_on`` is set; only a finished one informs viability.

    What it is worth as evidence is worked out once, when it is finished or a count of it is
    corrected: seeds judged, normal and viable among them, and ``correlation`` (intra-class, of
    replicates or tests) that discounts their number.
    """

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
    started_on: date = Field(index=True, sa_column_kwargs=day_of_use())
    first_count_due: date | None = Field(default=None)
    final_count_due: date | None = Field(default=None)
    finished_on: date | None = Field(default=None)
    judged_seeds: int | None = Field(default=None)
    normal_seeds: int | None = Field(default=None)
    viable_seeds: int | None = Field(default=None, description="normal, hard or fresh")
    correlation: float | None = Field(default=None)
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
    test_id: int = Field(foreign_key="germination_test.id", sa_column_kwargs=goes_along())
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
        unique_where(
            "uq_germination_count_current", "replicate_id", "on_date", condition="current"
        ),
        CheckConstraint(
            "normal >= 0 AND abnormal >= 0 AND hard >= 0 AND fresh >= 0 AND dead >= 0",
            name="never_negative",
        ),
    )

    id: int | None = Field(default=None, primary_key=True)
    replicate_id: int = Field(foreign_key="replicate.id", sa_column_kwargs=goes_along())
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


@dataclass(frozen=True, slots=True, kw_only=True)
class TestFilter:
    """What the tests must all be; None asks nothing."""

    __test__ = False  # not a pytest class

    lot_id: int | None = None
    is_open: bool | None = None
    due_by: date | None = None  # open, with a count due on that day or before
    finished_from: date | None = None  # finished on that day or later


def get_test(session: Session, test_id: int) -> GerminationTest:
    """The test with this id. Raises Missing: there is none."""
    return fetch(session, GerminationTest, test_id, what="germination test")


def find_test(session: Session, number: int) -> GerminationTest:
    """The germination test with this number. Raises NotThere."""
    with about("id"):
        return get_test(session, number)


def untested_since(day: date) -> ColumnElement[bool]:
    """What a lot is found by on which no test was finished on that day or later."""
    tests = select(GerminationTest).where(
        col(GerminationTest.lot_id) == col(Lot.id), col(GerminationTest.finished_on) >= day
    )
    return ~tests.correlate(Lot).exists()


def find_tests(
    session: Session,
    wanted: TestFilter | None = None,
    *,
    after: Cursor | None = None,
    limit: int = 50,
) -> Page[GerminationTest]:
    """A page of the tests, earliest started first. Raises BadValue: limit or cursor."""
    wanted = wanted or TestFilter()
    query = select(GerminationTest)
    if wanted.lot_id is not None:
        query = query.where(col(GerminationTest.lot_id) == wanted.lot_id)
    finished_on = col(GerminationTest.finished_on)
    if wanted.is_open is not None:
        query = query.where(finished_on.is_(None) if wanted.is_open else finished_on.is_not(None))
    if wanted.due_by is not None:
        query = query.where(finished_on.is_(None), _count_due(wanted.due_by))
    if wanted.finished_from is not None:
        query = query.where(finished_on >= wanted.finished_from)
    return page_of(
        session,
        query,
        sort=GerminationTest.started_on,
        row_id=GerminationTest.id,
        after=after,
        limit=limit,
        read=lambda row: row[0],
    )


def _count_due(day: date) -> ColumnElement[bool]:
    """The final count is due, or the first one is and nothing was counted from that day on."""
    first_due = col(GerminationTest.first_count_due)
    counted = (
        select(Count)
        .join(Replicate, col(Replicate.id) == col(Count.replicate_id))
        .where(
            col(Replicate.test_id) == col(GerminationTest.id),
            col(Count.current),
            col(Count.on_date) >= first_due,
        )
        .correlate(GerminationTest)
        .exists()
    )
    return or_(col(GerminationTest.final_count_due) <= day, (first_due <= day) & ~counted)
