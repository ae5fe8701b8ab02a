"""Whether counting on can still change what to do with a lot: the verdict at either end."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np
from sqlmodel import Session, col, select

from seedbank.database.find import row_id
from seedbank.facts.tolerances import tolerance_table
from seedbank.germination.tables.counting import ReplicateTotal
from seedbank.germination.tables.germination_tests import GerminationTest, TestFilter, find_tests
from seedbank.lots.tables.lots import Lot
from seedbank.science.reasons import weightiest
from seedbank.science.verdicts.verdict import Verdict
from seedbank.science.viability.test_evidence import weigh_test
from seedbank.verdicts.answers.test_outlook import OutlookAnswer
from seedbank.verdicts.judge_lots import judge_forecast
from seedbank.viability.forecast_viability import forecast_of
from seedbank.viability.tables.stock_columns import Collection, Tests, day_number, read_collection

_AHEAD_YEARS = 2.0  # as verdicts look


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
    lot = session.get_one(Lot, test.lot_id)
    fellows = session.exec(select(Lot.id).where(col(Lot.variety_id) == lot.variety_id)).all()
    collection = read_collection(session, [number for number in fellows if number])
    at = int(np.flatnonzero(collection.lot_id == row_id(lot.id))[0])
    others = find_tests(session, TestFilter(lot_id=row_id(lot.id), is_open=True), limit=2).items
    still_open = any(other.id != test.id for other in others)
    ends: list[tuple[Verdict, str]] = []
    fleeting = False
    for all_sprout in (False, True) if any(one.unjudged for one in replicates) else (True,):
        known = _with_test(collection, at, test, replicates, all_sprout, still_open)
        seen = forecast_of(session, known, today=today, ahead_years=_AHEAD_YEARS)
        judged = judge_forecast(seen).verdicts
        verdict = judged.verdict(at)
        if verdict is None:
            return None
        ends.append((verdict, weightiest(judged.reasons(at))))
        fleeting = seen.facts_of(at).cannot_be_stored
    (if_none, why_if_none), (if_all, why_if_all) = ends[0], ends[-1]
    return OutlookAnswer(
        settled=if_none is if_all,
        if_none=if_none,
        if_all=if_all,
        why_if_none=why_if_none,
        why_if_all=why_if_all,
        fleeting=fleeting,
    )


def _with_test(
    collection: Collection,
    at: int,
    test: GerminationTest,
    replicates: Sequence[ReplicateTotal],
    all_sprout: bool,
    still_open: bool,
) -> Collection:
    """The collection with the test finished: every seed still unjudged dead, or a seedling."""
    rest = [one.unjudged if all_sprout else 0 for one in replicates]
    viable = [one.judged.viable + more for one, more in zip(replicates, rest, strict=True)]
    normal = sum(one.judged.normal for one in replicates) + sum(rest)
    worth = weigh_test(viable, [one.seeds_set for one in replicates], tolerance_table())
    tests = collection.tests
    place = int(np.searchsorted(tests.lot, at, side="right"))
    added = Tests(
        lot=np.insert(tests.lot, place, at),
        day=np.insert(tests.day, place, day_number(test.started_on)),
        normal=np.insert(tests.normal, place, normal),
        viable=np.insert(tests.viable, place, worth.viable),
        seeds=np.insert(tests.seeds, place, worth.seeds),
        correlation=np.insert(tests.correlation, place, worth.correlation),
    )
    being_tested = collection.open_test.copy()
    being_tested[at] = still_open
    return replace(collection, tests=added, open_test=being_tested)
