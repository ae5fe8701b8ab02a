"""Germination tests run by the gardener: started, counted, corrected, finished.

Seedlings judged sooner than they can well be are doubted.
"""

from collections.abc import Collection, Sequence
from datetime import date, datetime, timedelta

from sqlmodel import Session

from seedbank.common.catalogue import text_of
from seedbank.common.dates import happened, in_order
from seedbank.common.errors import Doubt, Missing, Refused, StockFault, ask
from seedbank.database.find import named_in, row_id
from seedbank.database.transaction import claim_version, put_changes, touch, transaction
from seedbank.facts.kinds import KindFacts
from seedbank.germination.answers import TestAnswer
from seedbank.germination.forms import (
    CountRow,
    CountsCorrect,
    CountsCreate,
    TestChange,
    TestFinish,
    TestRecord,
    TestStart,
)
from seedbank.germination.show_tests import answer_test
from seedbank.germination.tables import (
    ConditionFields,
    GerminationTest,
    Judged,
    SeedCounts,
    correct_count,
    counts,
    find_test,
    finish,
    record_count,
    replicate_numbered,
    set_replicates,
    totals,
)
from seedbank.kinds.edit_kinds import facts_for
from seedbank.lots.days import before_it_came, since_harvest
from seedbank.lots.move_seed import taking
from seedbank.lots.show_lots import lot_entry
from seedbank.lots.tables.ledger import Movement, MovementReason, book
from seedbank.lots.tables.lots import Lot, lot_named
from seedbank.science.germination.germination import SPROUTED
from seedbank.science.quantities import Finding


def seedlings_at_once(
    started_on: date, day: date, seedlings: int, *, field: str = "on_date"
) -> Doubt | None:
    """Seedlings judged on the day the seed was set."""
    if seedlings == 0 or day != started_on:
        return None
    return Doubt("seedlings-at-once", field, day.isoformat(), seedlings=seedlings)


_LATE_SHARE, _LATE_DAYS = 0.5, 7  # how late is asked about; our choice


def counted_long_after(test: GerminationTest, day: date) -> Doubt | None:
    """A count later than the last one by half the method's days, and by a week at least."""
    if test.final_count_due is None:
        return None
    late = (day - test.final_count_due).days
    method = (test.final_count_due - test.started_on).days
    if late <= max(_LATE_DAYS, _LATE_SHARE * method):
        return None
    return Doubt("counted-long-after", "on_date", day.isoformat(), days=late)


def start_test(session: Session, form: TestStart, *, today: date, now: datetime) -> TestAnswer:
    """Start a test: its seed leaves the lot, its counts fall due by the kind's method.

    Raises MisreadCode, NotEnoughSeed, Refused: no such lot, a day still to come or before the
    harvest, or due days out of order. Doubted: before the lot came here.
    """
    with transaction(session):
        test = _set_up(session, form, form.replicates, today=today, now=now)
        if form.first_count_due is not None:
            test.first_count_due = form.first_count_due
        if form.final_count_due is not None:
            test.final_count_due = form.final_count_due
        _check_due(test)
        session.flush()
        ask([_here(session, test)], confirmed=form.confirmed)
        return answer_test(session, test)


def start_tests(
    session: Session, forms: Sequence[TestStart], *, today: date, now: datetime
) -> list[TestAnswer]:
    """Start several tests; where one can't be, none is.

    Raises as starting one, the field told by its entry, like ``tests[1].lot``.
    """
    with transaction(session):
        started = []
        for at, form in enumerate(forms):
            try:
                started.append(start_test(session, form, today=today, now=now))
            except StockFault as fault:
                fault.field = f"tests[{at}].{fault.field}"
                raise
        return started


def record_test(session: Session, form: TestRecord, *, today: date, now: datetime) -> TestAnswer:
    """Record a whole finished test: its seed leaves the lot, and the answer says what it means.

    Raises as starting one. Doubted: also seedlings on the day the seed was set.
    """
    with transaction(session):
        happened(form.finished_on, field="finished_on", today=today)
        in_order(
            form.started_on,
            form.finished_on,
            "test-ends-first",
            field="finished_on",
        )
        seeds = [one.seeds_set for one in form.replicates]
        test = _set_up(session, form, seeds, today=today, now=now)
        number, rest = row_id(test.id), 0
        for position, one in enumerate(form.replicates, start=1):
            rest += one.unsaid
            record_count(
                session,
                replicate_id=row_id(replicate_numbered(session, number, position).id),
                on=form.finished_on,
                judged=one.judged,
                now=now,
            )
        _note_rest(test, rest)
        finish(session, number, on=form.finished_on)
        came_up = sum(one.seeds(*SPROUTED) for one in form.replicates)
        soon = seedlings_at_once(test.started_on, form.finished_on, came_up, field="finished_on")
        ask([_here(session, test), soon], confirmed=form.confirmed)
        return answer_test(session, test)


def record_counts(
    session: Session, number: int, form: CountsCreate, *, today: date, now: datetime
) -> TestAnswer:
    """Record a day's count of an open test.

    Raises NotThere, TestFinished, AlreadyCounted, TooManyCounted, Refused: no such replicate, or
    a day still to come. BadValue: a day before the start. Doubted: seedlings on the day the seed
    was set, or a count much later than the method's last.
    """
    with transaction(session):
        test = find_test(session, number)
        day = happened(form.on_date, field="on_date", today=today)
        for position, row in enumerate(form.counts):
            with named_in(f"counts[{position}].replicate"):
                replicate = replicate_numbered(session, number, row.replicate)
            record_count(session, replicate_id=row_id(replicate.id), on=day, judged=row, now=now)
        doubts = [_seedlings(test, day, form), counted_long_after(test, day)]
        ask(doubts, confirmed=form.confirmed)
        touch(session, test)
        return answer_test(session, test)


def correct_counts(
    session: Session, number: int, form: CountsCorrect, *, now: datetime
) -> TestAnswer:
    """Put a day's count right; the first version stays on record, with the reason.

    Raises NotThere, Refused: no such replicate, or no count of it that day. TooManyCounted,
    SeedsUnjudged: a replicate doesn't add up any more. Doubted: as recording.
    """
    with transaction(session):
        test = find_test(session, number)
        for position, row in enumerate(form.counts):
            with named_in(f"counts[{position}].replicate"):
                replicate = replicate_numbered(session, number, row.replicate)
            _correct(session, row_id(replicate.id), row, form, now)
        ask([_seedlings(test, form.on_date, form)], confirmed=form.confirmed)
        touch(session, test)
        return answer_test(session, test)


def finish_test(
    session: Session, number: int, form: TestFinish, *, today: date, now: datetime
) -> TestAnswer:
    """Finish a test; from now on it informs what the lot is thought to be worth.

    Raises NotThere, TestFinished, SeedsUnjudged (unless the rest is said to be dead), Refused: a
    day still to come. BadValue: a day before the last count.
    """
    with transaction(session):
        test = find_test(session, number)
        day = happened(form.finished_on, field="finished_on", today=today)
        if form.rest_dead and test.finished_on is None:
            _note_rest(test, _count_rest_dead(session, number, day, now))
        finish(session, number, on=day)
        touch(session, test)
        return answer_test(session, test)


def change_test(
    session: Session, number: int, form: TestChange, *, expected: Collection[int] | None
) -> TestAnswer:
    """Change a test's description. Raises NotThere, StaleVersion, Refused: due days."""
    with transaction(session):
        test = find_test(session, number)
        claim_version(session, test, what="germination test", expected=expected)
        put_changes(test, form)
        _check_due(test)
        session.add(test)
        session.flush()
        return answer_test(session, test)


def _set_up(
    session: Session,
    form: TestStart | TestRecord,
    seeds: list[int],
    *,
    today: date,
    now: datetime,
) -> GerminationTest:
    lot = lot_named(session, form.lot, field="lot")
    started_on = since_harvest(lot, form.started_on, field="started_on", today=today)
    facts = facts_for(session, lot_entry(session, lot).kind)
    if facts.is_planting_stock(lot.kept_as):
        raise Refused("planting-stock-not-tested", "lot", lot.code)
    movement = _take(session, lot, sum(seeds), on=started_on, now=now)
    test = new_test(form, lot, started_on=started_on, now=now)
    test.movement_id = movement
    propose_count_days(test, facts)
    session.add(test)
    session.flush()
    set_replicates(session, row_id(test.id), seeds)
    return test


def new_test(
    form: TestStart | TestRecord, lot: Lot, *, started_on: date, now: datetime
) -> GerminationTest:
    """The test a form tells of, its seed not taken and its replicates not set yet."""
    conditions = form.model_dump(include=set(ConditionFields.model_fields))
    return GerminationTest(
        **conditions, lot_id=row_id(lot.id), started_on=started_on, created_at=now
    )


def propose_count_days(test: GerminationTest, facts: KindFacts) -> None:
    """The days its counts fall due by the kind's method, where that is known."""
    test.first_count_due = _due(test.started_on, facts, "first_count_days")
    test.final_count_due = _due(test.started_on, facts, "final_count_days")


def _here(session: Session, test: GerminationTest) -> Doubt | None:
    lot = session.get_one(Lot, test.lot_id)
    return before_it_came(lot, test.started_on, field="started_on")


def _seedlings(test: GerminationTest, day: date, form: CountsCreate) -> Doubt | None:
    came_up = sum(row.seeds(*SPROUTED) for row in form.counts)
    return seedlings_at_once(test.started_on, day, came_up, field="on_date")


def _take(session: Session, lot: Lot, seeds: int, *, on: date, now: datetime) -> int:
    with taking(lot, field="replicates"):
        movement = Movement(
            lot_id=row_id(lot.id),
            on_date=on,
            reason=MovementReason.TESTED,
            seeds=-seeds,
            recorded_at=now,
        )
        return row_id(book(session, movement).id)


def _due(started_on: date, facts: KindFacts, name: str) -> date | None:
    fact = getattr(facts, name)
    return None if fact is None else started_on + timedelta(days=fact.value)


def _check_due(test: GerminationTest) -> None:
    code = "count-days-disordered"
    in_order(test.started_on, test.first_count_due, code, field="first_count_due")
    before = test.first_count_due or test.started_on
    in_order(before, test.final_count_due, code, field="final_count_due")


def _correct(
    session: Session, replicate_id: int, row: CountRow, form: CountsCorrect, now: datetime
) -> None:
    try:
        correct_count(
            session,
            replicate_id=replicate_id,
            on=form.on_date,
            judged=row,
            why=form.why,
            now=now,
        )
    except Missing as fault:
        day = form.on_date.isoformat()
        raise Refused(
            "replicate-not-counted-then", "on_date", day, replicate=row.replicate, day=day
        ) from fault


def _count_rest_dead(session: Session, number: int, day: date, now: datetime) -> int:
    """Judge what no count has: dead, on the last day. Returns how many seeds that was."""
    same_day = {
        count.replicate_id: count
        for count in counts(session, [number])[number]
        if count.on_date == day
    }
    rest = 0
    for one in totals(session, [number])[number]:
        if not one.unjudged:
            continue
        rest += one.unjudged
        before = same_day.get(one.replicate_id)
        judged = Judged.of(before or SeedCounts()).with_more(SeedCounts(dead=one.unjudged))
        if before is None:
            record_count(session, replicate_id=one.replicate_id, on=day, judged=judged, now=now)
            continue
        correct_count(
            session,
            replicate_id=one.replicate_id,
            on=day,
            judged=judged,
            why=text_of(Finding("rest-taken-as-dead")),
            now=now,
        )
    return rest


def _note_rest(test: GerminationTest, seeds: int) -> None:
    if seeds:
        text = text_of(Finding("seeds-taken-as-dead", {"seeds": seeds}))
        test.notes = f"{test.notes}\n{text}".strip()[:4000]
