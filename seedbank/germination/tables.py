"""Germination tests: replicates set, seedlings judged on dated counts, corrected, finished."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field
from sqlalchemy import CheckConstraint, ColumnElement, Index, UniqueConstraint, func, or_, select
from sqlmodel import Field as Stored
from sqlmodel import Session, SQLModel, col

from seedbank.common.answers import AnswerModel
from seedbank.common.errors import (
    AlreadyCounted,
    BadValue,
    Missing,
    SeedsUnjudged,
    TestFinished,
    TooManyCounted,
)
from seedbank.common.fields import Fields, optional
from seedbank.common.forms import WHOLE, Celsius, Day, Filter, Flag, LotAsked, Notes
from seedbank.database.base import Editable, UtcDateTime, unique_where, word
from seedbank.database.change_counters import says_nothing_without
from seedbank.database.find import about
from seedbank.database.queries import FIRST, Order, Page, Paging, fetch, matching, page_of
from seedbank.database.references import day_of_use, goes_along
from seedbank.facts.methods import tolerance_table
from seedbank.lots.tables.lots import Lot, lot_named
from seedbank.science.germination.germination import VIABLE, SeedClass
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


class TestFault(StrEnum):
    """What went wrong with a test, so that it says too little of its seed."""

    __test__ = False
    TOO_COLD = "too-cold"
    TOO_WARM = "too-warm"
    DRIED_OUT = "dried-out"
    MOULD = "mould"
    OLD_PAPER = "old-paper"
    OTHER = "other"


class ConditionFields(Fields):
    """The conditions of a germination test."""

    substratum: Annotated[Substratum, Stored(sa_type=word(Substratum))] = optional(
        "What the seed lies on or in.", "paper-towel", "sand", default=Substratum.PAPER_TOWEL
    )
    pretreatment: Annotated[Pretreatment, Stored(sa_type=word(Pretreatment))] = optional(
        "What was done to break dormancy beforehand.", "none", "prechill", default=Pretreatment.NONE
    )
    temp_c: Celsius | None = optional("Temperature of the test, °C.", 21.0, 20.0, default=None)
    in_light: Flag | None = optional(
        "In light, or in the dark; left out if not known.", False, True, default=None
    )
    fault: Annotated[TestFault | None, Stored(sa_type=word(TestFault))] = optional(
        "What went wrong with it, if anything: it then only says what was alive at least.",
        None, "too-cold", default=None,
    )  # fmt: skip
    notes: Notes = optional(
        "Anything else.", "airing cupboard", "airing cupboard, then windowsill", default=""
    )


class DueFields(ConditionFields):
    """The conditions of a test, and the days its counts fall due."""

    first_count_due: Day | None = optional(
        "Day of the first count; proposed from the kind's method if left out.",
        "2026-02-07",
        "2026-02-08",
        default=None,
    )
    final_count_due: Day | None = optional(
        "Day of the final count; proposed from the kind's method if left out.",
        "2026-02-15",
        default=None,
    )


class GerminationTest(DueFields, Editable, table=True):
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

    lot_id: int = Stored(foreign_key="lot.id")
    started_on: date = Stored(index=True, sa_column_kwargs=day_of_use())
    finished_on: date | None = Stored(default=None)
    judged_seeds: int | None = Stored(default=None)
    normal_seeds: int | None = Stored(default=None)
    viable_seeds: int | None = Stored(default=None, description="normal, hard or fresh")
    correlation: float | None = Stored(default=None)
    movement_id: int | None = Stored(default=None, foreign_key="movement.id")
    created_at: datetime = Stored(sa_type=UtcDateTime)


class Replicate(SQLModel, table=True):
    __tablename__ = "replicate"
    __table_args__ = (
        UniqueConstraint("test_id", "number"),
        CheckConstraint("seeds_set >= 1", name="seeds_set"),
    )

    id: int | None = Stored(default=None, primary_key=True)
    test_id: int = Stored(foreign_key="germination_test.id", sa_column_kwargs=goes_along())
    number: int
    seeds_set: int


Counted = Annotated[int, Field(strict=True, ge=0, le=10_000), WHOLE]


class SeedCounts(Fields):
    """Seeds of a replicate by what they are judged to be: one number for each ``SeedClass``."""

    normal: Counted = optional(
        "Normal seedlings: root and shoot whole enough to make a plant.", 19, 12, default=0
    )
    abnormal: Counted = optional(
        "Seedlings too damaged, weak or rotten to make a plant.", 1, 0, default=0
    )
    hard: Counted = optional("Hard seed: alive or not, it hasn't taken up water.", 0, default=0)
    fresh: Counted = optional(
        "Fresh seed: has taken up water, firm and clean, but hasn't germinated.", 2, 0, default=0
    )
    dead: Counted = optional("Dead seed: soft, mouldy or rotten.", 3, 1, default=0)

    def seeds(self, *classes: SeedClass) -> int:
        """How many are of these classes; of all classes, where none is named."""
        counted = self.by_class()
        return sum(counted[one] for one in classes or SeedClass)

    def by_class(self) -> dict[str, int]:
        """How many are of each class."""
        return {
            SeedClass.NORMAL: self.normal,
            SeedClass.ABNORMAL: self.abnormal,
            SeedClass.HARD: self.hard,
            SeedClass.FRESH: self.fresh,
            SeedClass.DEAD: self.dead,
        }


class Judged(SeedCounts, AnswerModel):
    """Seeds by what was made of them, however many."""

    @classmethod
    def of(cls, counted: SeedCounts) -> Self:
        """Those of a count, whatever else is said in it."""
        return cls(**counted.by_class())

    def with_more(self, more: SeedCounts, *, less: SeedCounts | None = None) -> Self:
        """These and some more, without those that were among them before."""
        had, new, old = self.by_class(), more.by_class(), less.by_class() if less else {}
        return type(self)(**{one: had[one] + new[one] - old.get(one, 0) for one in SeedClass})


class Count(SeedCounts, SQLModel, table=True):
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
        CheckConstraint(" AND ".join(f"{one} >= 0" for one in SeedClass), name="never_negative"),
    )

    id: int | None = Stored(default=None, primary_key=True)
    replicate_id: int = Stored(foreign_key="replicate.id", sa_column_kwargs=goes_along())
    on_date: date
    revision: int = Stored(default=1)
    current: bool = Stored(default=True)
    why_corrected: str = Stored(default="", max_length=400)
    recorded_at: datetime = Stored(sa_type=UtcDateTime)


class TestFilter(Filter):
    __test__ = False  # not a pytest class

    lot: LotAsked = None
    open: bool | None = Field(default=None, description="not finished")
    due_by: Day | None = Field(default=None, description="with a count due by that day")
    finished_from: Day | None = Field(default=None, description="finished then or later")


def find_test(session: Session, number: int) -> GerminationTest:
    """The germination test with this number. Raises NotThere."""
    with about("id"):
        return fetch(session, GerminationTest, number, what="germination test")


def untested_since(day: date) -> ColumnElement[bool]:
    """What a lot is found by on which no test was finished on that day or later."""
    tests = select(GerminationTest).where(
        col(GerminationTest.lot_id) == col(Lot.id), col(GerminationTest.finished_on) >= day
    )
    return ~tests.correlate(Lot).exists()


def find_tests(
    session: Session, wanted: TestFilter | None = None, paging: Paging = FIRST
) -> Page[GerminationTest]:
    """A page of the tests, earliest started first.

    Raises MisreadCode, Refused: no such lot. BadValue: limit or cursor.
    """
    wanted = wanted or TestFilter()
    finished_on = col(GerminationTest.finished_on)
    lot_id = wanted.lot and lot_named(session, wanted.lot, field="lot").id
    query = matching(
        select(GerminationTest),
        (col(GerminationTest.lot_id), lot_id),
        (finished_on.is_(None), wanted.open),
    )
    if wanted.due_by is not None:
        query = query.where(finished_on.is_(None), _count_due(wanted.due_by))
    if wanted.finished_from is not None:
        query = query.where(finished_on >= wanted.finished_from)
    return page_of(session, query, Order(GerminationTest.started_on, GerminationTest.id), paging)


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
class ReplicateTotal:
    """A replicate with what all its standing counts judged together."""

    test_id: int
    replicate_id: int
    number: int
    seeds_set: int
    judged: Judged

    @property
    def unjudged(self) -> int:
        return self.seeds_set - self.judged.seeds()


def set_replicates(session: Session, test_id: int, seeds_set: Sequence[int]) -> list[Replicate]:
    """Set a test's replicates, numbered from 1, in place of any set before.

    Raises Missing: no such test. BadValue: none, one without seed, or seeds were counted already.
    """
    _lock_test(session, test_id)
    if not seeds_set or min(seeds_set) < 1:
        raise BadValue("replicates-without-seed", "replicates", list(seeds_set))
    before = session.execute(select(Replicate).where(col(Replicate.test_id) == test_id)).scalars()
    for replicate in before.all():
        if _counts(session, [replicate.id or 0], history=True):
            raise BadValue("test-counted-already", "replicates", list(seeds_set))
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
    session: Session, *, replicate_id: int, on: date, judged: SeedCounts, now: datetime
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
        raise BadValue("count-before-test-began", "on_date", on, started_on=test.started_on)
    standing = _counts(session, [replicate_id])
    if any(count.on_date == on for count in standing):
        raise AlreadyCounted(replicate.number, on)
    _check_fits(replicate, [*standing, judged])
    return _write(session, Count(replicate_id=replicate_id, on_date=on, recorded_at=now), judged)


def correct_count(
    session: Session, *, replicate_id: int, on: date, judged: SeedCounts, why: str, now: datetime
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
    every = [*standing.values(), judged]
    _check_fits(replicate, every)
    missing = replicate.seeds_set - sum(each.seeds() for each in every)
    if test.finished_on is not None and missing:
        raise SeedsUnjudged(replicate.number, missing)
    wrong.current = False
    session.add(wrong)
    session.flush()  # first, so that never two revisions stand at once
    right = Count(
        replicate_id=replicate_id,
        on_date=on,
        revision=wrong.revision + 1,
        why_corrected=why,
        recorded_at=now,
    )
    _write(session, right, judged)
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
        raise BadValue("test-without-replicates", "replicates", 0)
    for replicate in replicates:
        if replicate.unjudged:
            raise SeedsUnjudged(replicate.number, replicate.unjudged)
    last = max(count.on_date for count in counts(session, [test_id])[test_id])
    if on < last:
        raise BadValue("finished-before-last-test-count", "finished_on", on, last=last)
    test.finished_on = on
    _weigh(session, test, replicates)
    return test


def _weigh(session: Session, test: GerminationTest, replicates: list[ReplicateTotal]) -> None:
    worth = weigh_test(
        [each.judged.seeds(*VIABLE) for each in replicates],
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
    sums = [func.coalesce(func.sum(getattr(Count, one)), 0).label(one) for one in SeedClass]
    query = (
        select(Replicate, *sums)
        .outerjoin(Count, (col(Count.replicate_id) == col(Replicate.id)) & col(Count.current))
        .where(col(Replicate.test_id).in_(found))
        .group_by(col(Replicate.id))
        .order_by(col(Replicate.test_id), col(Replicate.number))
    )
    for row in session.execute(query):
        replicate = row[0]
        found[replicate.test_id].append(
            ReplicateTotal(
                test_id=replicate.test_id,
                replicate_id=replicate.id,
                number=replicate.number,
                seeds_set=replicate.seeds_set,
                judged=Judged(**{one: int(row._mapping[one]) for one in SeedClass}),
            )
        )
    return found


def counts(
    session: Session, test_ids: Iterable[int], *, history: bool = False
) -> dict[int, list[Count]]:
    """Each test's counts by day, replicate, revision; with ``history`` the corrected too."""
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


def _check_fits(replicate: Replicate, every: Sequence[SeedCounts]) -> None:
    for name, seeds in every[-1].by_class().items():
        if seeds < 0:
            raise BadValue("seeds-below-nought", name, seeds)
    counted = sum(each.seeds() for each in every)
    if counted > replicate.seeds_set:
        raise TooManyCounted(replicate.number, replicate.seeds_set, counted)


def _write(session: Session, count: Count, judged: SeedCounts) -> Count:
    count.sqlmodel_update(judged.by_class())
    session.add(count)
    session.flush()
    return count
