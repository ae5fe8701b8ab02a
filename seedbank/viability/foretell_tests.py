"""Tests finished, with what was believed of the lot before kept beside each; and tests of the past
foretold afterwards.

A forecast is kept where it was one: the test was finished within ``KEPT_DAYS``, and no later test
of the lot is on record. A test that went wrong is left out of the record, also if that is told
later. What was believed before a test of long ago nobody can say for sure: it is
worked out, whenever it is asked for, from the tests of earlier years alone, and told apart.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

import numpy as np
from sqlalchemy import select
from sqlmodel import Session, col

from seedbank.database.find import row_id
from seedbank.database.transaction import let_go, transaction
from seedbank.germination.answers import TestAnswer
from seedbank.germination.forms import DayCounts, TestFinish, TestRecord
from seedbank.germination.record_day_counts import save_day_counts
from seedbank.germination.run_tests import finish_test, record_test
from seedbank.germination.tables import GerminationTest, find_test
from seedbank.lots.tables.lots import lot_named
from seedbank.science.viability.test_forecast import TestForecast, forecast_tests
from seedbank.viability.answers import ForetoldTestAnswer
from seedbank.viability.forecast_viability import Forecast, forecast
from seedbank.viability.garden_keeping import GardenKeeping, learn_from
from seedbank.viability.lot_records import LotRecords, records_of
from seedbank.viability.tables.forecasts import ForecastFields, ViabilityForecast
from seedbank.viability.tables.stock_columns import day_number, read_collection

KEPT_DAYS: Final = 31
"""A test entered later than this after its end is history: our choice."""
MOST_AFTERWARDS: Final = 300
"""Of so many tests, the latest, forecasts are worked out afterwards: our choice."""


def record_test_foretold(
    session: Session, form: TestRecord, *, today: date, now: datetime
) -> TestAnswer:
    """As ``record_test``, the forecast kept."""
    with transaction(session):
        lot = row_id(lot_named(session, form.lot, field="lot").id)
        return _kept(
            session, lot, lambda: record_test(session, form, today=today, now=now), today=today
        )


def finish_test_foretold(
    session: Session, number: int, form: TestFinish, *, today: date, now: datetime
) -> TestAnswer:
    """As ``finish_test``, the forecast kept."""
    with transaction(session):
        lot = find_test(session, number).lot_id
        return _kept(
            session,
            lot,
            lambda: finish_test(session, number, form, today=today, now=now),
            today=today,
        )


def save_day_counts_foretold(
    session: Session, number: int, form: DayCounts, *, today: date, now: datetime
) -> TestAnswer:
    """As ``save_day_counts``, the forecast kept if that finishes the test."""

    def save() -> TestAnswer:
        return save_day_counts(session, number, form, today=today, now=now)

    with transaction(session):
        if not form.finish:
            return save()
        return _kept(session, find_test(session, number).lot_id, save, today=today)


def _kept(
    session: Session, lot_id: int, finish: Callable[[], TestAnswer], *, today: date
) -> TestAnswer:
    """``finish`` a test, after the lot was foretold without it."""
    seen = forecast(session, today=today, lot_ids=[lot_id], ahead_years=0.0)
    answer = finish()
    test = session.get_one(GerminationTest, answer.id)
    if _is_news(test, seen, today):
        told = _foretold(test, seen)
        session.add(ViabilityForecast(**told.model_dump(), test_id=answer.id, made_on=today))
        session.flush()
    return answer


def _is_news(test: GerminationTest, seen: Forecast, today: date) -> bool:
    """Whether what is believed now was believed before the test."""
    if test.finished_on is None or (today - test.finished_on).days > KEPT_DAYS:
        return False
    if test.fault is not None:  # it says nothing of how well it was foretold
        return False
    later = seen.collection.tests.day > day_number(test.started_on)
    return seen.reckoned(0) and not np.any(later)


def _foretold(test: GerminationTest, seen: Forecast) -> ForecastFields:
    dose, rho = seen.dose_on(day_number(test.started_on)), seen.garden.rho
    seeds = np.array([test.judged_seeds])
    [told], [alone] = (
        forecast_tests(priors, seen.observations, dose, seeds, rho)
        for priors in (seen.priors, seen.alone)
    )
    return _figures(test.viable_seeds or 0, told, alone)


def _figures(viable: int, told: TestForecast, alone: TestForecast) -> ForecastFields:
    counts, of_alone = told.counts, alone.counts
    return ForecastFields(
        seeds=told.chance.size - 1,
        viable_at_end=viable,
        median_pct=round(100.0 * told.median, 2),
        low_90_pct=round(100.0 * told.low, 2),
        high_90_pct=round(100.0 * told.high, 2),
        expected=round(counts.mean, 2),
        low_90=int(counts.range.low),
        low_50=int(counts.likely.low),
        high_50=int(counts.likely.high),
        high_90=int(counts.range.high),
        log_score=round(told.log_score(viable), 4),
        alone_median_pct=round(100.0 * alone.median, 2),
        alone_low_90_pct=round(100.0 * alone.low, 2),
        alone_high_90_pct=round(100.0 * alone.high, 2),
        alone_low_90=int(of_alone.range.low),
        alone_high_90=int(of_alone.range.high),
        alone_log_score=round(alone.log_score(viable), 4),
    )


@dataclass(frozen=True, slots=True)
class _Finished:
    """A finished test as it is on record; ``at`` is its lot's position among all."""

    number: int
    at: int
    started_on: date
    finished_on: date
    seeds: int
    viable: int


def read_foretold_tests(session: Session, *, today: date) -> list[ForetoldTestAnswer]:
    """Every test whose forecast was kept, and the latest of the others, the latest first.

    May take seconds; the connection is let go of before any is worked out.
    """
    records = records_of(session, read_collection(session, amounts=False), day_number(today))
    kept = {
        one.test_id: ForecastFields(**one.model_dump(include=set(ForecastFields.model_fields)))
        for one in session.scalars(select(ViabilityForecast))
    }
    tests = [one for one in _finished(session, records) if records.reckoned(one.at)]
    let_go(session)
    others = [one for one in tests if one.number not in kept][:MOST_AFTERWARDS]
    known = _afterwards(records, others) | kept
    return [
        _answer(records, one, known[one.number], afterwards=one.number not in kept)
        for one in tests
        if one.number in known
    ]


def _answer(
    records: LotRecords, test: _Finished, told: ForecastFields, *, afterwards: bool
) -> ForetoldTestAnswer:
    return ForetoldTestAnswer(
        **told.model_dump(),
        test=test.number,
        lot=records.collection.code[test.at],
        kind=records.facts_of(test.at).slug,
        started_on=test.started_on,
        finished_on=test.finished_on,
        viable=test.viable,
        afterwards=afterwards,
    )


def _finished(session: Session, records: LotRecords) -> list[_Finished]:
    test = GerminationTest
    query = (
        select(
            col(test.id), col(test.lot_id), col(test.started_on), col(test.finished_on),
            col(test.judged_seeds), col(test.viable_seeds),
        )
        .where(
            col(test.finished_on).is_not(None),
            col(test.judged_seeds) > 0,
            col(test.fault).is_(None),
        )
        .order_by(col(test.finished_on).desc(), col(test.id).desc())
    )  # fmt: skip
    at = {lot: place for place, lot in enumerate(records.collection.lot_id.tolist())}
    return [_Finished(number, at[lot], *rest) for number, lot, *rest in session.execute(query)]


def _afterwards(records: LotRecords, tests: Sequence[_Finished]) -> dict[int, ForecastFields]:
    """Each foretold from the tests of the years before its own."""
    found: dict[int, ForecastFields] = {}
    garden: GardenKeeping | None = None
    for year in sorted({one.started_on.year for one in tests}):
        own = [one for one in tests if one.started_on.year == year]
        before = _until(records, day_number(date(year, 1, 1)))
        garden = learn_from(before, before=garden)
        for test, told, alone in zip(own, *_both(before, garden, own), strict=True):
            found[test.number] = _figures(test.viable, told, alone)
    return found


def _until(records: LotRecords, day: float) -> LotRecords:
    """The same lots with the tests begun before a day alone."""
    tests = records.collection.tests
    earlier = tests.take(np.flatnonzero(tests.day < day))
    return replace(records, collection=replace(records.collection, tests=earlier))


def _both(
    records: LotRecords, garden: GardenKeeping, tests: Sequence[_Finished]
) -> tuple[list[TestForecast], list[TestForecast]]:
    """Forecasts with what other lots taught, and without."""
    lots = np.array([one.at for one in tests])
    days = np.array([day_number(one.started_on) for one in tests])
    dose = records.storage.doses_at(lots, days)
    seeds = np.array([one.seeds for one in tests])
    sown = garden.sown.evidence(records)
    observed = records.evidence(garden.rho, records.lots).and_those(sown)
    told, alone = (
        forecast_tests(priors.take(lots), seen.take(lots), dose, seeds, garden.rho)
        for priors, seen in (
            (garden.priors(records), observed.weighed(garden.storage(records).weight)),
            (records.alone, observed),
        )
    )
    return told, alone
