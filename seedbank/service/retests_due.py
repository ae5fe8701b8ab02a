"""When lots that were tested before are due for a test again, all at once."""

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from sqlmodel import Session, col, select

from seedbank.science.quantities import BoolArray
from seedbank.service.forecast import Forecast
from seedbank.service.judge_stock import judge_collection
from seedbank.service.kept import Kept
from seedbank.service.retest_day import FEWEST_SEEDS, LEAST_DAYS, next_tests, why
from seedbank.stock.collection import day_date
from seedbank.stock.germination_tests import GerminationTest
from seedbank.stock.queries import in_parts
from seedbank.stock.stamps import judged_stamp


@dataclass(frozen=True, slots=True)
class RetestDue:
    """A lot's next test; ``changed_at`` and ``revision`` are its last test's."""

    lot_id: int
    on: date
    tested_on: date
    text: str
    changed_at: datetime
    revision: int


_KEPT: Kept[tuple[RetestDue, ...]] = Kept()


def retests_due(session: Session, *, today: date) -> tuple[RetestDue, ...]:
    """Lots with seed, tested before and with no test open, by the genebank rule; kept in memory
    while nothing it rests on has changed.

    The rule is ``retest_day``'s. A lot that has probably fallen under the limit already has no
    day: it is due at once. One so near to it that it would be tested twice within ``LEAST_DAYS``
    has none either, nor one with too little seed to test.
    """
    return _KEPT.get(
        session,
        lambda asking: (today, *judged_stamp(asking)),
        lambda: tuple(_work_out(session, today)),
    )


def _work_out(session: Session, today: date) -> list[RetestDue]:
    seen = judge_collection(session, today=today).forecast
    lots = seen.collection
    if lots.size == 0:
        return []
    found = next_tests(seen)
    wanted = np.flatnonzero(
        np.isfinite(found.last)
        & (lots.balance >= FEWEST_SEEDS)
        & ~lots.open_test
        & (found.falls > seen.today)
        & (found.interval_days() >= LEAST_DAYS)
        & ~_fleeting(seen)
    )
    tests = _last_tests(session, lots.lot_id[wanted].tolist())
    due_tests = []
    for at in wanted.tolist():
        due = day_date(float(found.due[at]))
        test = tests.get(int(lots.lot_id[at]))
        if due is not None and test is not None:
            text = why(float(found.years[at]))
            due_tests.append(
                RetestDue(
                    test.lot_id, due, test.started_on, text, test.created_at, test.version - 1
                )
            )
    return due_tests


def _fleeting(seen: Forecast) -> BoolArray:
    """Lots whose seed can't be stored."""
    kinds = [number for number, facts in seen.facts.items() if facts.cannot_be_stored]
    return np.isin(seen.collection.kind_id, kinds)


def _last_tests(session: Session, lot_ids: list[int]) -> dict[int, GerminationTest]:
    """The test of each lot that was started last, of those finished."""
    query = (
        select(GerminationTest)
        .where(col(GerminationTest.finished_on).is_not(None))
        .order_by(col(GerminationTest.started_on), col(GerminationTest.id))
    )
    return {
        test.lot_id: test
        for part in in_parts(lot_ids)
        for test in session.exec(query.where(col(GerminationTest.lot_id).in_(part)))
    }
