"""A day's counts of an open test saved in one go, however often that day; and the test's end."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, datetime

from sqlmodel import Session

from seedbank.common.dates import happened
from seedbank.common.errors import Refused, TooManyCounted
from seedbank.database.transaction import transaction
from seedbank.germination.answers import TestAnswer
from seedbank.germination.forms import CountRow, CountsCorrect, CountsCreate, DayCounts, TestFinish
from seedbank.germination.run_tests import correct_counts, finish_test, record_counts
from seedbank.germination.show_tests import answer_test
from seedbank.germination.tables import Judged, counts, find_test, totals

SHORTEST_REASON = 3


def save_day_counts(
    session: Session, number: int, form: DayCounts, *, today: date, now: datetime
) -> TestAnswer:
    """Record what each replicate was judged on a day, or put right what was saved of it before.

    Raises NotThere, TestFinished, TooManyCounted, Refused: a day still to come, or a change of
    what was saved without its reason. With ``finish`` also as finishing a test.
    """
    with transaction(session):
        find_test(session, number)
        day = happened(form.on_date, field="on_date", today=today)
        saved = standing_on(session, number, day)
        fresh = [row for row in form.counts if row.replicate not in saved]
        if form.finish:  # a day on which nothing was judged says nothing at the end
            fresh = [row for row in fresh if row.seeds()]
        changed = [
            row
            for row in form.counts
            if row.replicate in saved and Judged.of(row) != saved[row.replicate]
        ]
        with _told_by_row(form.counts):
            if fresh:
                count = CountsCreate(on_date=day, counts=fresh, confirmed=form.confirmed)
                record_counts(session, number, count, today=today, now=now)
            if changed:
                put_right = CountsCorrect(
                    on_date=day,
                    counts=changed,
                    why=_reason(form, day),
                    confirmed=form.confirmed,
                )
                correct_counts(session, number, put_right, now=now)
        if form.finish:
            end = TestFinish(finished_on=day, rest_dead=form.rest_dead)
            return finish_test(session, number, end, today=today, now=now)
        return answer_test(session, find_test(session, number))


def standing_on(session: Session, number: int, day: date) -> dict[int, Judged]:
    """What stands as judged on ``day``, by the replicate's number."""
    numbers = {one.replicate_id: one.number for one in totals(session, [number])[number]}
    return {
        numbers[count.replicate_id]: Judged.of(count)
        for count in counts(session, [number])[number]
        if count.on_date == day
    }


def _reason(form: DayCounts, day: date) -> str:
    if len(form.why) < SHORTEST_REASON:
        raise Refused("count-differs-from-saved", "why", form.why, day=day)
    return form.why


@contextmanager
def _told_by_row(rows: Sequence[CountRow]) -> Iterator[None]:
    """A replicate counted over its seeds is told at its own row."""
    try:
        yield
    except TooManyCounted as fault:
        at = next((n for n, row in enumerate(rows) if row.replicate == fault.replicate), 0)
        fault.field = f"counts[{at}].normal"
        raise
