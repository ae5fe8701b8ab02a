"""When lots that were tested before are due for a test again, all at once."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np
from sqlalchemy import select
from sqlmodel import Session, col

from seedbank.common.answers import VarietyBrief
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import changes, notes_of
from seedbank.database.lanes import JUDGEMENTS
from seedbank.database.queries import in_parts
from seedbank.database.transaction import let_go
from seedbank.germination.tables import GerminationTest
from seedbank.lots.tables.ledger import balances
from seedbank.science.quantities import BoolArray, Finding
from seedbank.verdicts.judge_lots import judge_collection
from seedbank.viability.forecast_viability import KEPT_LOTS, Forecast
from seedbank.viability.retest_day import FEWEST_SEEDS, LEAST_DAYS, next_tests, why
from seedbank.viability.tables.change_topics import ALIVE, JUDGED
from seedbank.viability.tables.stock_columns import day_date

_LIKELY_UNDER = 0.6
"""A chance of being under the limit by now from which a lot's day isn't looked for.

What is due from today on falls twice ``LEAST_DAYS`` from now at the earliest, and has fallen from a
chance of 0.5. The verdicts' chance takes the start of a lot at its mean probit, not at its median:
0.012 apart at most among 10,000 made lots."""


@dataclass(frozen=True, slots=True)
class RetestDue:
    """A lot's next test; ``changed_at`` and ``revision`` are its last test's."""

    lot_id: int
    code: str
    variety: VarietyBrief
    on: date
    tested_on: date
    why: Finding
    changed_at: datetime
    revision: int


_DUE: CacheRegion[tuple[RetestDue, ...]] = CacheRegion(lane=JUDGEMENTS)
_FORESEEN: CacheRegion[tuple[RetestDue, ...]] = CacheRegion(lane=JUDGEMENTS)
_REVISIONS = (notes_of(GerminationTest),)  # how often a test was edited, its notes included


def retests_due(session: Session, *, today: date, first: date, last: date) -> tuple[RetestDue, ...]:
    """Lots with seed, tested before and with no test open, that the genebank rule gives a day from
    ``first`` to ``last``; kept in memory while nothing it rests on has changed.

    The rule is ``retest_day``'s. A lot that has probably fallen under the limit already has no
    day: it is due at once. One so near to it that it would be tested twice within ``LEAST_DAYS``
    has none either, nor one with too little seed to test.
    """
    days = (today, first, last)
    # The days change with what is known of the lots alone: taking seed only leaves some out.
    return _DUE.get(
        session,
        (*days, *changes(session, (*JUDGED, *_REVISIONS))),
        lambda: tuple(
            _testable(
                session,
                _FORESEEN.get(
                    session,
                    (*days, *changes(session, (*ALIVE, *_REVISIONS))),
                    lambda: tuple(_foreseen(session, *days)),
                ),
            )
        ),
    )


def _testable(session: Session, found: tuple[RetestDue, ...]) -> Iterator[RetestDue]:
    """Those of lots with seed enough and no test open."""
    running = col(GerminationTest.finished_on).is_(None)
    being_tested = set(session.scalars(select(col(GerminationTest.lot_id)).where(running)))
    for part in in_parts(found):
        held = balances(session, [one.lot_id for one in part])
        for one in part:
            if held[one.lot_id].has(FEWEST_SEEDS) and one.lot_id not in being_tested:
                yield one


def _foreseen(session: Session, today: date, first: date, last: date) -> Iterator[RetestDue]:
    """Days of lots whatever they hold."""
    judged = judge_collection(session, today=today)
    forecast, lots = judged.forecast, judged.forecast.collection
    if lots.size == 0:
        return
    tested = np.isin(np.arange(lots.size), lots.tests.sound.lot)
    asked = tested & ~_fleeting(forecast)
    asked &= judged.verdicts.inputs.p_below_regeneration < _LIKELY_UNDER
    let_go(session)
    # What is kept of a small collection answers for all of it at once.
    found = next_tests(forecast, None if lots.size <= KEPT_LOTS else np.flatnonzero(asked))
    asked &= (found.falls > forecast.today) & (found.interval_days() >= LEAST_DAYS)
    due = {
        at: on
        for at in np.flatnonzero(asked).tolist()
        if (on := day_date(float(found.due[at]))) is not None and first <= on <= last
    }
    tests = _last_tests(session, lots.lot_id[list(due)].tolist())
    for at, on in due.items():
        lot_id = int(lots.lot_id[at])
        if lot_id not in tests:
            continue
        variety = VarietyBrief(
            id=int(lots.variety_id[at]), name=lots.variety[at], kind=forecast.facts_of(at).slug
        )
        rule = why(float(found.years[at]))
        yield RetestDue(
            lot_id, lots.code[at], variety, on, tests[lot_id][0], rule, *tests[lot_id][1:]
        )


def _fleeting(forecast: Forecast) -> BoolArray:
    """Lots of planting stock, and of seed that can't be stored."""
    kinds = [number for number, facts in forecast.facts.items() if facts.cannot_be_stored]
    return np.isin(forecast.collection.kind_id, kinds) | forecast.planting_stock


def _last_tests(session: Session, lot_ids: Iterable[int]) -> dict[int, tuple[date, datetime, int]]:
    """Of each lot's sound test that was started last, of those finished: when it was, when it was
    entered, and how often it was edited since."""
    test = GerminationTest
    query = (
        select(col(test.lot_id), col(test.started_on), col(test.created_at), col(test.version))
        .where(col(test.finished_on).is_not(None), col(test.fault).is_(None))
        .order_by(col(test.started_on), col(test.id))
    )
    return {
        lot_id: (started_on, created_at, version - 1)
        for part in in_parts(lot_ids)
        for lot_id, started_on, created_at, version in session.execute(
            query.where(col(test.lot_id).in_(part))
        )
    }
