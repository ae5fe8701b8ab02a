"""Germination tests as they are answered, and which count of each open one comes next."""

from collections.abc import Sequence
from datetime import date

from sqlmodel import Session

from seedbank.common.answers import Source, distinct
from seedbank.database.find import row_id
from seedbank.database.queries import Page, Paging
from seedbank.facts.cautions import Situation
from seedbank.facts.sources import sources_of
from seedbank.germination.answers import (
    CountDueAnswer,
    CountIs,
    ReplicateAnswer,
    ReplicateCountAnswer,
    TestAnswer,
    TestSummary,
)
from seedbank.germination.evaluate_tests import evaluate, evaluate_so_far, evaluation_sources
from seedbank.germination.tables import (
    GerminationTest,
    ReplicateTotal,
    TestFilter,
    counts,
    find_test,
    find_tests,
    totals,
)
from seedbank.kinds.edit_kinds import facts_for
from seedbank.lots.show_lots import lot_cautions, lot_entries, lot_entry, variety_brief
from seedbank.lots.tables.lot_search import LotEntry
from seedbank.lots.tables.lots import Lot
from seedbank.science.quantities import Finding


def show_test(session: Session, number: int) -> TestAnswer:
    """One test with what it says. Raises NotThere."""
    return answer_test(session, find_test(session, number))


def list_tests(session: Session, wanted: TestFilter, paging: Paging) -> Page[TestSummary]:
    """Tests, earliest first. Raises MisreadCode, Refused: no such lot. BadValue: the cursor."""
    page = find_tests(session, wanted, paging)
    return Page(_summaries(session, page.items), page.next)


def answer_test(session: Session, test: GerminationTest) -> TestAnswer:
    """One test as it is answered."""
    number = row_id(test.id)
    entry = lot_entry(session, session.get_one(Lot, test.lot_id))
    facts = facts_for(session, entry.kind)
    replicates = totals(session, [number])[number]
    history = counts(session, [number], history=True)[number]
    numbers = {one.replicate_id: one.number for one in replicates}
    standing = [count for count in history if count.current]
    evaluation = interim = None
    if test.finished_on is not None:
        evaluation = evaluate(test, replicates, standing, entry.lot, facts)
    else:
        interim = evaluate_so_far(replicates)
    cautions = lot_cautions(entry.lot, facts, (Situation.TESTING,))
    due = sources_of(facts.first_count_days, facts.final_count_days)
    return TestAnswer(
        **_summary(test, entry, replicates).model_dump(),
        counts=[
            ReplicateCountAnswer.model_validate(
                {**count.model_dump(), "replicate": numbers[count.replicate_id]}
            )
            for count in history
        ],
        evaluation=evaluation,
        interim=interim,
        cautions=cautions,
        sources=distinct(
            [
                *(Source(text=one.text, confidence=one.confidence) for one in due),
                *(evaluation_sources(evaluation, facts) if evaluation else ()),
                *(caution.source for caution in cautions),
            ]
        ),
    )


def _summaries(session: Session, tests: Sequence[GerminationTest]) -> list[TestSummary]:
    entries = lot_entries(session, {test.lot_id for test in tests})
    replicates = totals(session, [row_id(test.id) for test in tests])
    return [_summary(test, entries[test.lot_id], replicates[row_id(test.id)]) for test in tests]


def _summary(
    test: GerminationTest, entry: LotEntry, replicates: list[ReplicateTotal]
) -> TestSummary:
    return TestSummary(
        **test.model_dump(exclude={"lot_id", "movement_id", "created_at"}),
        lot=entry.lot.code,
        variety=variety_brief(entry),
        replicates=[ReplicateAnswer.of(one) for one in replicates],
    )


_MOST_OPEN = 500


def counts_due(session: Session, *, today: date) -> list[CountDueAnswer]:
    """The next count of every open test, the latest in coming first; those without a day last."""
    page = list_tests(session, TestFilter(open=True), Paging(_MOST_OPEN))
    counted = counts(session, [test.id for test in page.items])
    found = [
        _next_count(test, max((one.on_date for one in counted[test.id]), default=None), today)
        for test in page.items
    ]
    return sorted(found, key=lambda one: (one.due is None, one.due or today, one.test))


def _next_count(test: TestSummary, counted_on: date | None, today: date) -> CountDueAnswer:
    unjudged = sum(one.unjudged for one in test.replicates)
    count, due = _which(test, counted_on, unjudged, today)
    late = (today - due).days if due is not None else 0
    running = (today - test.started_on).days
    when = "late" if late > 0 else "coming" if late < 0 else "today"
    return CountDueAnswer.of(
        Finding(
            "count-due",
            {"count": count, "when": when, "days": abs(late), "running_days": running},
        ),
        test=test.id,
        lot=test.lot,
        variety=test.variety,
        count=count,
        due=due,
        days_late=late,
        seeds=sum(one.seeds_set for one in test.replicates),
        unjudged=unjudged,
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
