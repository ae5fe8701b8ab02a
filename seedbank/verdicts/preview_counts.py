"""An open test with counts that are only being typed: what it says so far, and may still say."""

from collections.abc import Sequence
from dataclasses import astuple, replace
from datetime import UTC, date, datetime, time

from sqlmodel import Session

from seedbank.common.answers import distinct
from seedbank.common.faults import TooManyCounted
from seedbank.germination.answers.tests import ReplicateAnswer
from seedbank.germination.evaluate_tests import (
    evaluate,
    evaluate_so_far,
    evaluation_sources,
)
from seedbank.germination.forms.tests import CountRow
from seedbank.germination.record_day_counts import judged_of, standing_on
from seedbank.germination.tables.counting import Judged, ReplicateTotal, counts, totals
from seedbank.germination.tables.germination_tests import Count, find_test
from seedbank.kinds.kind_facts import facts_for
from seedbank.lots.show_lots import lot_entry
from seedbank.lots.tables.lots import Lot
from seedbank.verdicts.answers.test_outlook import TestOutlookAnswer
from seedbank.verdicts.test_outlook import look_out


def look_ahead(
    session: Session, number: int, rows: Sequence[CountRow], *, on: date, today: date
) -> TestOutlookAnswer:
    """The test as it stands with ``rows`` judged on a day, in place of what stood of that day.

    Nothing is written. Raises NotThere. TooManyCounted: more than a replicate's seeds.
    """
    test = find_test(session, number)
    entry = lot_entry(session, session.get_one(Lot, test.lot_id))
    facts = facts_for(session, entry.kind)
    typed = {row.replicate: judged_of(row) for row in rows}
    before = standing_on(session, number, on)
    replicates = [
        _with(one, typed.get(one.number), before.get(one.number))
        for one in totals(session, [number])[number]
    ]
    evaluation = None
    if not any(one.unjudged for one in replicates):
        standing = _counts_with(counts(session, [number])[number], replicates, typed, on)
        evaluation = evaluate(test, replicates, standing, entry.lot, facts)
    seeds = sum(one.seeds_set for one in replicates)
    unjudged = sum(one.unjudged for one in replicates)
    return TestOutlookAnswer(
        seeds=seeds,
        judged=seeds - unjudged,
        replicates=[_replicate(one) for one in replicates],
        interim=evaluate_so_far(replicates),
        evaluation=evaluation,
        outlook=look_out(session, test, replicates, today=today),
        sources=distinct(evaluation_sources(evaluation, facts)) if evaluation else [],
    )


def _with(one: ReplicateTotal, typed: Judged | None, before: Judged | None) -> ReplicateTotal:
    if typed is None:
        return one
    less = astuple(before or Judged())
    sums = zip(astuple(one.judged), astuple(typed), less, strict=True)
    together = replace(one, judged=Judged(*(had + new - old for had, new, old in sums)))
    if together.unjudged < 0:
        raise TooManyCounted(one.number, one.seeds_set, together.judged.total)
    return together


def _counts_with(
    standing: Sequence[Count],
    replicates: Sequence[ReplicateTotal],
    typed: dict[int, Judged],
    on: date,
) -> list[Count]:
    """The counts that would stand; those typed are rows of no session."""
    ids = {one.number: one.replicate_id for one in replicates}
    instead = {ids[number] for number in typed if number in ids}
    kept = [one for one in standing if one.on_date != on or one.replicate_id not in instead]
    new = [
        Count(
            replicate_id=ids[number],
            on_date=on,
            normal=judged.normal,
            abnormal=judged.abnormal,
            hard=judged.hard,
            fresh=judged.fresh,
            dead=judged.dead,
            recorded_at=datetime.combine(on, time(), UTC),
        )
        for number, judged in typed.items()
        if number in ids
    ]
    return [*kept, *new]


def _replicate(one: ReplicateTotal) -> ReplicateAnswer:
    return ReplicateAnswer(
        number=one.number,
        seeds_set=one.seeds_set,
        normal=one.judged.normal,
        abnormal=one.judged.abnormal,
        hard=one.judged.hard,
        fresh=one.judged.fresh,
        dead=one.judged.dead,
        unjudged=one.unjudged,
    )
