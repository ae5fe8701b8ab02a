"""Which count of each open germination test comes next, and how late it is."""

from datetime import date

from sqlmodel import Session

from seedbank.common.dates import days_words
from seedbank.germination.answers.tests import CountDueAnswer, CountIs, TestSummary
from seedbank.germination.show_tests import list_tests
from seedbank.germination.tables.counting import counts
from seedbank.germination.tables.germination_tests import TestFilter

_MOST_OPEN = 500
_SAID = {
    CountIs.FIRST: "Its first count",
    CountIs.FINAL: "Its final count",
}


def counts_due(session: Session, *, today: date) -> list[CountDueAnswer]:
    """The next count of every open test, the latest in coming first; those without a day last."""
    page = list_tests(session, TestFilter(is_open=True), lot=None, after=None, limit=_MOST_OPEN)
    seen = counts(session, [test.id for test in page.items])
    found = [
        _next_count(test, max((one.on_date for one in seen[test.id]), default=None), today)
        for test in page.items
    ]
    return sorted(found, key=lambda one: (one.due is None, one.due or today, one.test))


def _next_count(test: TestSummary, counted_on: date | None, today: date) -> CountDueAnswer:
    unjudged = sum(one.unjudged for one in test.replicates)
    count, due = _which(test, counted_on, unjudged, today)
    late = (today - due).days if due is not None else 0
    return CountDueAnswer(
        test=test.id,
        lot=test.lot,
        variety=test.variety,
        count=count,
        due=due,
        days_late=late,
        seeds=sum(one.seeds_set for one in test.replicates),
        unjudged=unjudged,
        text=_words(count, late, (today - test.started_on).days),
    )


def _which(
    test: TestSummary, counted_on: date | None, unjudged: int, today: date
) -> tuple[CountIs, date | None]:
    """A count before the day of the first leaves the first still to make."""
    first, final = test.first_count_due, test.final_count_due
    if unjudged == 0:
        return CountIs.FINISH, counted_on or today
    if final is None:
        return CountIs.ANY, None
    made = counted_on is not None and (first is None or counted_on >= first)
    if first is None or made or today >= final:
        return CountIs.FINAL, final
    return CountIs.FIRST, first


def _words(count: CountIs, late: int, running: int) -> str:
    if count is CountIs.FINISH:
        return "Every seed is judged: finish the test and read what it says."
    if count is CountIs.ANY:
        return f"Begun {days_words(running)} ago; its kind has no set days: count what has come up."
    what = _SAID[count]
    if late > 0:
        return f"{what} was due {days_words(late)} ago."
    return f"{what} is due today." if late == 0 else f"{what} is due in {days_words(-late)}."
