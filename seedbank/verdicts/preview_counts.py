"""An open test with counts only being typed: what it says so far, and whether more can change
what to do.
"""

from collections.abc import Sequence
from dataclasses import astuple, replace
from datetime import UTC, date, datetime, time
from functools import partial

import numpy as np
from sqlmodel import Session, col, select

from seedbank.common.answers import FindingAnswer, distinct
from seedbank.common.errors import TooManyCounted
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import changes
from seedbank.database.find import row_id
from seedbank.database.queries import Paging
from seedbank.facts.methods import tolerance_table
from seedbank.germination.answers import ReplicateAnswer
from seedbank.germination.evaluate_tests import (
    evaluate,
    evaluate_so_far,
    evaluation_sources,
)
from seedbank.germination.forms import CountRow
from seedbank.germination.record_day_counts import standing_on
from seedbank.germination.tables import (
    Count,
    GerminationTest,
    Judged,
    ReplicateTotal,
    TestFilter,
    counts,
    find_test,
    find_tests,
    totals,
)
from seedbank.kinds.edit_kinds import facts_for
from seedbank.lots.show_lots import lot_entry
from seedbank.lots.tables.lots import Lot
from seedbank.science.germination.germination import VIABLE
from seedbank.science.quantities import Finding, weightiest
from seedbank.science.verdicts.verdict import Verdict
from seedbank.science.viability.test_evidence import weigh_test
from seedbank.verdicts.answers import OutlookAnswer, TestOutlookAnswer
from seedbank.verdicts.change_topics import judged_by
from seedbank.verdicts.judge_lots import AHEAD_YEARS, judge_forecast
from seedbank.verdicts.surroundings import read_surroundings
from seedbank.viability.forecast_viability import forecast_of
from seedbank.viability.tables.stock_columns import Collection, Tests, day_number, read_collection

_END: CacheRegion[tuple[Verdict, Finding] | None] = CacheRegion(most=64)
"""How tests may end: one more seed sprouted is what was foreseen if all do, so that is at hand."""


def look_out(
    session: Session,
    test: GerminationTest,
    replicates: Sequence[ReplicateTotal],
    *,
    today: date,
) -> OutlookAnswer | None:
    """The lot's verdict if none of the seeds still unjudged sprout, and if all of them do.

    None where nothing is left of the lot.
    """
    state = changes(session, judged_by())
    lot = session.get_one(Lot, test.lot_id)
    fellows = session.exec(select(Lot.id).where(col(Lot.variety_id) == lot.variety_id)).all()
    collection = read_collection(session, [number for number in fellows if number])
    at = int(np.flatnonzero(collection.lot_id == row_id(lot.id))[0])
    others = find_tests(session, TestFilter(lot=lot.code, open=True), Paging(2)).items
    still_open = any(other.id != test.id for other in others)
    ends: list[tuple[Verdict, FindingAnswer]] = []
    for all_sprout in (False, True) if any(one.unjudged for one in replicates) else (True,):
        tests = _with_test(collection, at, test, replicates, all_sprout)
        end = _END.get(
            session,
            (today, still_open, *state),
            partial(_judged, session, replace(collection, tests=tests), at, still_open, today),
            asked=(test.id, *(one.tobytes() for one in astuple(tests.take(tests.lot == at)))),
        )
        if end is None:
            return None
        ends.append((end[0], FindingAnswer.of(end[1])))
    (if_none, why_if_none), (if_all, why_if_all) = ends[0], ends[-1]
    return OutlookAnswer(
        settled=if_none is if_all,
        if_none=if_none,
        if_all=if_all,
        why_if_none=why_if_none,
        why_if_all=why_if_all,
    )


def _with_test(
    collection: Collection,
    at: int,
    test: GerminationTest,
    replicates: Sequence[ReplicateTotal],
    all_sprout: bool,
) -> Tests:
    """The lots' tests, this one finished: every seed still unjudged dead, or a seedling."""
    rest = [one.unjudged if all_sprout else 0 for one in replicates]
    viable = [one.judged.seeds(*VIABLE) + more for one, more in zip(replicates, rest, strict=True)]
    normal = sum(one.judged.normal for one in replicates) + sum(rest)
    worth = weigh_test(viable, [one.seeds_set for one in replicates], tolerance_table())
    tests = collection.tests
    place = int(np.searchsorted(tests.lot, at, side="right"))
    return Tests(
        lot=np.insert(tests.lot, place, at),
        day=np.insert(tests.day, place, day_number(test.started_on)),
        normal=np.insert(tests.normal, place, normal),
        viable=np.insert(tests.viable, place, worth.viable),
        seeds=np.insert(tests.seeds, place, worth.seeds),
        correlation=np.insert(tests.correlation, place, worth.correlation),
        faulty=np.insert(tests.faulty, place, test.fault is not None),
    )


def _judged(
    session: Session, known: Collection, at: int, still_open: bool, today: date
) -> tuple[Verdict, Finding] | None:
    """The verdict on a lot if these were its tests, and its weightiest reason."""
    being_tested = known.open_test.copy()
    being_tested[at] = still_open
    known = replace(known, open_test=being_tested)
    forecast = forecast_of(session, known, today=today, ahead_years=AHEAD_YEARS)
    judged = judge_forecast(read_surroundings(session), forecast).verdicts
    verdict = judged.verdict(at)
    return None if verdict is None else (verdict, weightiest(judged.reasons(at)))


def look_ahead(
    session: Session, number: int, rows: Sequence[CountRow], *, on: date, today: date
) -> TestOutlookAnswer:
    """The test as it stands with ``rows`` judged on a day, in place of what stood of that day.

    Nothing is written. Raises NotThere. TooManyCounted: more than a replicate's seeds.
    """
    test = find_test(session, number)
    entry = lot_entry(session, session.get_one(Lot, test.lot_id))
    facts = facts_for(session, entry.kind)
    typed = {row.replicate: Judged.of(row) for row in rows}
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
        replicates=[ReplicateAnswer.of(one) for one in replicates],
        interim=evaluate_so_far(replicates),
        evaluation=evaluation,
        outlook=look_out(session, test, replicates, today=today),
        sources=distinct(evaluation_sources(evaluation, facts)) if evaluation else [],
    )


def _with(one: ReplicateTotal, typed: Judged | None, before: Judged | None) -> ReplicateTotal:
    if typed is None:
        return one
    judged = one.judged.with_more(typed, less=before)
    together = replace(one, judged=judged)
    if together.unjudged < 0:
        raise TooManyCounted(one.number, one.seeds_set, together.judged.seeds())
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
    unchanged = [one for one in standing if one.on_date != on or one.replicate_id not in instead]
    new = [
        Count(
            replicate_id=ids[number],
            on_date=on,
            recorded_at=datetime.combine(on, time(), UTC),
        ).sqlmodel_update(judged.by_class())
        for number, judged in typed.items()
        if number in ids
    ]
    return [*unchanged, *new]
