"""Counting a germination test: replicates set, seeds judged day by day, corrected, finished."""

from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass, fields
from datetime import date, datetime
from typing import Self

from sqlalchemy import func, select
from sqlmodel import Session, col

from seedbank.common.faults import (
    AlreadyCounted,
    BadValue,
    Missing,
    SeedsUnjudged,
    TestFinished,
    TooManyCounted,
)
from seedbank.database.queries import fetch
from seedbank.facts.tolerances import tolerance_table
from seedbank.germination.tables.germination_tests import Count, GerminationTest, Replicate
from seedbank.science.viability.test_evidence import weigh_test


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
        raise BadValue("replicates", list(seeds_set), "set 1 seed or more in each, 1 or more times")
    before = session.execute(select(Replicate).where(col(Replicate.test_id) == test_id)).scalars()
    for replicate in before.all():
        if _counts(session, [replicate.id or 0], history=True):
            raise BadValue("replicates", list(seeds_set), "start a new test: this one is counted")
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
        raise BadValue("on_date", on, f"count on {test.started_on.isoformat()} or later")
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
        raise BadValue("replicates", 0, "set the replicates first")
    for replicate in replicates:
        if replicate.unjudged:
            raise SeedsUnjudged(replicate.number, replicate.unjudged)
    last = max(count.on_date for count in counts(session, [test_id])[test_id])
    if on < last:
        raise BadValue("finished_on", on, f"finish it on {last.isoformat()} or later")
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
            raise BadValue(field.name, getattr(every[-1], field.name), "count 0 seeds or more")
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
