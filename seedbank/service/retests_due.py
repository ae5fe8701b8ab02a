"""When lots that were tested before are due for a test again, all at once."""

from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from sqlmodel import Session, col, select

from seedbank.science.decline import DAYS_PER_YEAR
from seedbank.science.regeneration import regeneration_viability, retest_interval_years
from seedbank.service.judge_stock import judge_collection
from seedbank.service.kept import Kept
from seedbank.stock.collection import day_date
from seedbank.stock.germination_tests import GerminationTest
from seedbank.stock.stamps import judged_stamp

LEAST_DAYS = 183
"""A lot tested less long ago isn't tested again: it would only use up seed. Our choice."""
_LASTS = "A third of the {years:.1f} years until it falls to 85 % of its initial viability."


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

    The rule as in ``show_viability``: FAO Genebank Standards 2014, 4.3.3 (from memory). A lot
    that has probably fallen under the limit already has no day: it is due at once. One so near
    to it that it would be tested twice within ``LEAST_DAYS`` has none either.
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
    initial = seen.posterior.quantile((0.5,), np.zeros(lots.size))[:, 0]
    crossing = seen.posterior.crossing_dose(regeneration_viability(initial), (0.5,))[:, 0]
    left = (seen.history.day_of_dose(crossing) - seen.today) / DAYS_PER_YEAR
    interval = retest_interval_years(np.maximum(left, 0.0))
    last = np.full(lots.size, -np.inf)
    np.maximum.at(last, lots.tests.lot, lots.tests.day)
    wanted = np.flatnonzero(
        np.isfinite(last)
        & (lots.balance > 0)
        & ~lots.open_test
        & (left > 0)
        & (interval * DAYS_PER_YEAR >= LEAST_DAYS)
    )
    tests = _last_tests(session, lots.lot_id[wanted].tolist())
    found = []
    for at in wanted.tolist():
        due = day_date(float(last[at] + DAYS_PER_YEAR * interval[at]))
        test = tests.get(int(lots.lot_id[at]))
        if due is not None and test is not None:
            text = _LASTS.format(years=float(left[at]))
            found.append(
                RetestDue(
                    test.lot_id, due, test.started_on, text, test.created_at, test.version - 1
                )
            )
    return found


def _last_tests(session: Session, lot_ids: list[int]) -> dict[int, GerminationTest]:
    """The test of each lot that was started last, of those finished."""
    rows = session.exec(
        select(GerminationTest)
        .where(
            col(GerminationTest.finished_on).is_not(None), col(GerminationTest.lot_id).in_(lot_ids)
        )
        .order_by(col(GerminationTest.started_on), col(GerminationTest.id))
    )
    return {test.lot_id: test for test in rows}
