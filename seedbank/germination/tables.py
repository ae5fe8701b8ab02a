"""Germination tests: replicates set, seedlings judged on dated counts, corrected, finished."""

from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass, fields
from datetime import date, datetime
from enum import StrEnum
from typing import Self

from sqlalchemy import CheckConstraint, ColumnElement, Index, UniqueConstraint, func, or_, select
from sqlmodel import Field, Session, SQLModel, col

from seedbank.common.errors import (
    AlreadyCounted,
    BadValue,
    Missing,
    SeedsUnjudged,
    TestFinished,
    TooManyCounted,
)
from seedbank.database.base import Editable, UtcDateTime, unique_where, word
from seedbank.database.change_counters import says_nothing_without
from seedbank.database.find import about
from seedbank.database.queries import Cursor, Order, Page, fetch, page_of
from seedbank.database.references import day_of_use, goes_along
from seedbank.facts.methods import tolerance_table
from seedbank.lots.tables.lots import Lot
from seedbank.science.viability.test_evidence import weigh_test


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
        says_nothing_without("finished_on"),
    )

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
        Order(GerminationTest.started_on, GerminationTest.id),
        after=after,
        limit=limit,
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


@dataclass(frozen=True, slots=True)
class Judged:
    """Seed units by what was made of them."""

    normal: int = 0
    abnormal: int = 0
    hard: int = 0
    fresh: int = 0
    dead: int = 0

    @property
    def total(self) -> int:
        return sum(astuple(self))

    @property
    def viable(self) -> int:
        return self.normal + self.hard + self.fresh

    @classmethod
    def of(cls, count: Count) -> Self:
        """What one count row says."""
        return cls(*(getattr(count, field.name) for field in fields(cls)))


@dataclass(frozen=True, slots=True)
class ReplicateTotal:
    """A replicate with what all its standing counts judged together."""

    test_id: int
    replicate_id: int
    number: int
    seeds_set: int
    judged: Judged

    @property
    def unjudged(self) -> int:
        return self.seeds_set - self.judged.total


def set_replicates(session: Session, test_id: int, seeds_set: Sequence[int]) -> list[Replicate]:
    """Set a test's replicates, numbered from 1, in place of any set before.

    Raises Missing: no such test. BadValue: none, one without seed, or seeds were counted already.
    """
    _lock_test(session, test_id)
    if not seeds_set or min(seeds_set) < 1:
        raise BadValue("replicates-set-seed-more-each-more", "replicates", list(seeds_set))
    before = session.execute(select(Replicate).where(col(Replicate.test_id) == test_id)).scalars()
    for replicate in before.all():
        if _counts(session, [replicate.id or 0], history=True):
            raise BadValue("replicates-start-new-test-counted", "replicates", list(seeds_set))
        session.delete(replicate)
    session.flush()
    replicates = [
        Replicate(test_id=test_id, number=number, seeds_set=seeds)
        for number, seeds in enumerate(seeds_set, start=1)
    ]
    session.add_all(replicates)
    session.flush()
    return replicates


def replicate_numbered(session: Session, test_id: int, number: int) -> Replicate:
    """The replicate with this number in a test. Raises Missing: there is none."""
    found = session.execute(
        select(Replicate).where(col(Replicate.test_id) == test_id, col(Replicate.number) == number)
    )
    replicate: Replicate | None = found.scalar_one_or_none()
    if replicate is None:
        raise Missing("replicate", number)
    return replicate


def record_count(
    session: Session, *, replicate_id: int, on: date, judged: Judged, now: datetime
) -> Count:
    """Record the seeds of a replicate judged and taken out on one day; flushes, never commits.

    Raises Missing: no such replicate. TestFinished. BadValue: a number below 0, or a day before
    the start. AlreadyCounted: that day has a count. TooManyCounted: more than were set.
    """
    replicate = fetch(session, Replicate, replicate_id, what="replicate")
    test = _lock_test(session, replicate.test_id)
    if test.finished_on is not None:
        raise TestFinished(replicate.test_id, test.finished_on)
    if on < test.started_on:
        raise BadValue("on-date-count-later", "on_date", on, started_on=test.started_on)
    standing = _counts(session, [replicate_id])
    if any(count.on_date == on for count in standing):
        raise AlreadyCounted(f"replicate {replicate.number}", on)
    _check_fits(replicate, [*(Judged.of(count) for count in standing), judged])
    return _write(session, replicate_id, on, judged, now=now)


def correct_count(
    session: Session, *, replicate_id: int, on: date, judged: Judged, why: str, now: datetime
) -> Count:
    """Put a day's count right: a new revision stands, the earlier ones stay on record.

    Of a finished test too, as long as every seed is still judged.
    Raises Missing: no such replicate, or no count that day. BadValue: a number below 0.
    TooManyCounted, SeedsUnjudged: the replicate doesn't add up any more.
    """
    replicate = fetch(session, Replicate, replicate_id, what="replicate")
    test = _lock_test(session, replicate.test_id)
    standing = {count.on_date: count for count in _counts(session, [replicate_id])}
    if on not in standing:
        raise Missing("count", on.isoformat())
    wrong = standing.pop(on)
    every = [*(Judged.of(count) for count in standing.values()), judged]
    _check_fits(replicate, every)
    missing = replicate.seeds_set - sum(each.total for each in every)
    if test.finished_on is not None and missing:
        raise SeedsUnjudged(replicate.number, missing)
    wrong.current = False
    session.add(wrong)
    session.flush()  # first, so that never two revisions stand at once
    right = _write(session, replicate_id, on, judged, revision=wrong.revision + 1, why=why, now=now)
    if test.finished_on is not None:
        _weigh(session, test, totals(session, [replicate.test_id])[replicate.test_id])
    return right


def finish(session: Session, test_id: int, *, on: date) -> GerminationTest:
    """Close a test whose every seed is judged; flushes, never commits.

    Raises Missing: no such test. TestFinished: it is already. BadValue: no replicates, or a day
    before its last count. SeedsUnjudged: the first replicate that lacks some.
    """
    test = _lock_test(session, test_id)
    if test.finished_on is not None:
        raise TestFinished(test_id, test.finished_on)
    replicates = totals(session, [test_id])[test_id]
    if not replicates:
        raise BadValue("replicates-set-replicates-first", "replicates", 0)
    for replicate in replicates:
        if replicate.unjudged:
            raise SeedsUnjudged(replicate.number, replicate.unjudged)
    last = max(count.on_date for count in counts(session, [test_id])[test_id])
    if on < last:
        raise BadValue("finished-on-finish-later", "finished_on", on, last=last)
    test.finished_on = on
    _weigh(session, test, replicates)
    return test


def _weigh(session: Session, test: GerminationTest, replicates: list[ReplicateTotal]) -> None:
    worth = weigh_test(
        [each.judged.viable for each in replicates],
        [each.seeds_set for each in replicates],
        tolerance_table(),
    )
    test.judged_seeds = worth.seeds
    test.viable_seeds = worth.viable
    test.normal_seeds = sum(each.judged.normal for each in replicates)
    test.correlation = worth.correlation
    session.add(test)
    session.flush()


def totals(session: Session, test_ids: Iterable[int]) -> dict[int, list[ReplicateTotal]]:
    """Each test's replicates with what was judged in all, in one query."""
    found: dict[int, list[ReplicateTotal]] = {test_id: [] for test_id in test_ids}
    sums = [func.coalesce(func.sum(getattr(Count, field.name)), 0) for field in fields(Judged)]
    query = (
        select(Replicate, *sums)
        .outerjoin(Count, (col(Count.replicate_id) == col(Replicate.id)) & col(Count.current))
        .where(col(Replicate.test_id).in_(found))
        .group_by(col(Replicate.id))
        .order_by(col(Replicate.test_id), col(Replicate.number))
    )
    for replicate, *judged in session.execute(query):
        found[replicate.test_id].append(
            ReplicateTotal(
                test_id=replicate.test_id,
                replicate_id=replicate.id,
                number=replicate.number,
                seeds_set=replicate.seeds_set,
                judged=Judged(*(int(seeds) for seeds in judged)),
            )
        )
    return found


def counts(
    session: Session, test_ids: Iterable[int], *, history: bool = False
) -> dict[int, list[Count]]:
    """Each test's counts by day, replicate and revision; with ``history`` the corrected ones too.

    One query.
    """
    found: dict[int, list[Count]] = {test_id: [] for test_id in test_ids}
    query = (
        select(col(Replicate.test_id), Count)
        .join(Count, col(Count.replicate_id) == col(Replicate.id))
        .where(col(Replicate.test_id).in_(found))
        .order_by(
            col(Replicate.test_id), col(Count.on_date), col(Replicate.number), col(Count.revision)
        )
    )
    if not history:
        query = query.where(col(Count.current))
    for test_id, count in session.execute(query):
        found[test_id].append(count)
    return found


def _counts(session: Session, replicate_ids: list[int], *, history: bool = False) -> list[Count]:
    query = select(Count).where(col(Count.replicate_id).in_(replicate_ids))
    if not history:
        query = query.where(col(Count.current))
    query = query.order_by(col(Count.on_date)).execution_options(populate_existing=True)
    return list(session.execute(query).scalars())


def _lock_test(session: Session, test_id: int) -> GerminationTest:
    # Two counts of one replicate must not both find room; SQLite's writers already queue.
    locked = session.execute(
        select(GerminationTest)
        .where(col(GerminationTest.id) == test_id)
        .with_for_update()
        .execution_options(populate_existing=True)
    )
    test: GerminationTest | None = locked.scalar_one_or_none()
    if test is None:
        raise Missing("germination test", test_id)
    return test


def _check_fits(replicate: Replicate, every: list[Judged]) -> None:
    for field in fields(Judged):
        if getattr(every[-1], field.name) < 0:
            raise BadValue("count-seeds-more", field.name, getattr(every[-1], field.name))
    counted = sum(each.total for each in every)
    if counted > replicate.seeds_set:
        raise TooManyCounted(replicate.number, replicate.seeds_set, counted)


def _write(
    session: Session,
    replicate_id: int,
    on: date,
    judged: Judged,
    *,
    revision: int = 1,
    why: str = "",
    now: datetime,
) -> Count:
    count = Count(
        replicate_id=replicate_id,
        on_date=on,
        revision=revision,
        normal=judged.normal,
        abnormal=judged.abnormal,
        hard=judged.hard,
        fresh=judged.fresh,
        dead=judged.dead,
        why_corrected=why,
        recorded_at=now,
    )
    session.add(count)
    session.flush()
    return count
