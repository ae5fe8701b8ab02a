"""Forecasts of tests: kept as they were, scored, and gone with a test that is taken back."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from sqlmodel import Session, select

from seedbank.database.find import row_id
from seedbank.germination.forms import (
    CountsCorrect,
    CountsCreate,
    DayCounts,
    TestFinish,
    TestRecord,
    TestStart,
)
from seedbank.germination.run_tests import correct_counts, record_counts, record_test, start_test
from seedbank.lots.tables.lots import lot_by_code
from seedbank.science.quantities import INTERVAL_ENDS
from seedbank.sowing.judge_forecasts import judge_forecasts
from seedbank.sowing.record_sowing import delete_test
from seedbank.viability.forecast_viability import forecast, forecast_of
from seedbank.viability.foretell_tests import (
    KEPT_DAYS,
    finish_test_foretold,
    read_foretold_tests,
    record_test_foretold,
    save_day_counts_foretold,
)
from seedbank.viability.judge_foretold_tests import judge_foretold_tests
from seedbank.viability.tables.forecasts import ViabilityForecast
from seedbank.viability.tables.stock_columns import day_number, read_collection
from tests.use_cases.conftest import DEMO_TODAY, Garden

SET_ON = date(2027, 2, 6)


def recorded(garden: Garden, code: str, normal: int, *, ago: int = 0, seeds: int = 50) -> int:
    """A whole test of that lot, recorded with its forecast."""
    end = garden.today - timedelta(days=ago)
    form = TestRecord.model_validate(
        {
            "lot": code, "started_on": end - timedelta(days=14), "finished_on": end,
            "replicates": [{"seeds_set": seeds, "normal": normal}], "confirmed": True,
        }
    )  # fmt: skip
    return record_test_foretold(garden.session, form, today=garden.today, now=garden.now).id


def number_of(garden: Garden, code: str) -> int:
    return row_id(lot_by_code(garden.session, code).id)


def kept(garden: Garden) -> list[ViabilityForecast]:
    return list(garden.session.exec(select(ViabilityForecast)))


def test_what_was_believed_before_is_kept_as_it_was(garden: Garden) -> None:
    neighbour, lot = garden.lot(900), garden.lot(900)
    recorded(garden, neighbour.code, 48)
    before = forecast(garden.session, today=garden.today, lot_ids=[number_of(garden, lot.code)])
    dose = before.dose_on(day_number(garden.today - timedelta(days=14)))
    low, median, high = before.posterior.quantile((INTERVAL_ENDS[0], 0.5, 0.95), dose)[0]
    number = recorded(garden, lot.code, 31)
    row = kept(garden)[-1]
    assert (row.test_id, row.made_on, row.seeds, row.viable_at_end) == (
        number,
        garden.today,
        50,
        31,
    )
    assert (row.low_90_pct, row.median_pct, row.high_90_pct) == pytest.approx(
        [100 * low, 100 * median, 100 * high], abs=0.01
    )
    assert row.low_90 <= row.low_50 <= row.expected <= row.high_50 <= row.high_90 <= 50
    assert row.alone_low_90_pct < row.low_90_pct  # a good neighbour taught it
    as_kept = row.model_dump()
    recorded(garden, neighbour.code, 2)
    assert kept(garden)[1].model_dump() == as_kept


def test_every_way_to_finish_keeps_one(garden: Garden) -> None:
    codes = [garden.lot(900).code for _ in range(3)]
    recorded(garden, codes[0], 40)
    for code, by_page in ((codes[1], False), (codes[2], True)):
        form = TestStart.model_validate({"lot": code, "started_on": SET_ON, "replicates": [20]})
        number = start_test(garden.session, form, today=garden.today, now=garden.now).id
        row = {"replicate": 1, "normal": 15, "dead": 5}
        day = SET_ON + timedelta(days=10)
        if by_page:
            save = DayCounts.model_validate({"on_date": day, "counts": [row], "finish": True})
            save_day_counts_foretold(
                garden.session, number, save, today=garden.today, now=garden.now
            )
        else:
            count = CountsCreate.model_validate({"on_date": day, "counts": [row]})
            record_counts(garden.session, number, count, today=garden.today, now=garden.now)
            assert len(kept(garden)) == 1  # a count alone finishes nothing
            end = TestFinish.model_validate({"finished_on": day})
            finish_test_foretold(garden.session, number, end, today=garden.today, now=garden.now)
    assert [row.viable_at_end for row in kept(garden)] == [40, 15, 15]


def test_history_is_not_called_a_forecast(garden: Garden) -> None:
    lot = garden.lot(900)
    recorded(garden, lot.code, 40, ago=KEPT_DAYS + 1)
    recorded(garden, lot.code, 40)
    recorded(garden, lot.code, 40, ago=10)  # a later test is on record already
    assert len(kept(garden)) == 1
    items = read_foretold_tests(garden.session, today=garden.today)
    assert sorted(one.afterwards for one in items) == [False, True, True]


def test_a_test_of_the_past_is_foretold_from_earlier_years_alone(garden: Garden) -> None:
    lot = garden.lot(900, harvest_year=2022)
    for year, normal in ((2024, 45), (2026, 20)):
        form = TestRecord.model_validate(
            {
                "lot": lot.code, "started_on": date(year, 2, 1), "finished_on": date(year, 2, 15),
                "replicates": [{"seeds_set": 50, "normal": normal}], "confirmed": True,
            }
        )  # fmt: skip
        record_test(garden.session, form, today=garden.today, now=garden.now)
    late, early = read_foretold_tests(garden.session, today=garden.today)
    with_both = read_collection(garden.session)
    first = np.flatnonzero(with_both.tests.day < day_number(date(2026, 1, 1)))
    for item, tests in ((early, first[:0]), (late, first)):
        there = with_both.tests.take(tests)
        seen = forecast_of(
            garden.session, replace(with_both, tests=there), today=garden.today, ahead_years=0.0
        )
        dose = seen.dose_on(day_number(item.started_on))
        ends = 100 * seen.posterior.quantile((0.05, 0.5, 0.95), dose)[0]
        assert [item.low_90_pct, item.median_pct, item.high_90_pct] == pytest.approx(ends, abs=0.02)


def test_a_test_taken_back_leaves_the_score_and_a_corrected_one_its_log(garden: Garden) -> None:
    first, second = (recorded(garden, garden.lot(900).code, 40) for _ in range(2))
    answer = judge_foretold_tests(garden.session, today=garden.today)
    assert answer.tests == 2
    assert answer.log_score is not None
    row = {"replicate": 1, "normal": 5, "dead": 45}
    put_right = CountsCorrect.model_validate(
        {"on_date": garden.today, "counts": [row], "why": "wrong towel"}
    )
    correct_counts(garden.session, first, put_right, now=garden.now)
    delete_test(garden.session, second, expected=None, today=garden.today, now=garden.now)
    answer = judge_foretold_tests(garden.session, today=garden.today)
    assert answer.tests == 1
    assert (answer.items[0].viable, answer.items[0].viable_at_end) == (5, 40)
    assert answer.inside_90 is not None
    assert answer.inside_90.pct == 0.0  # by the count that stands
    assert answer.log_score is None
    assert len(kept(garden)) == 1


def test_both_sorts_are_told_and_the_demonstration_holds_what_it_promises(
    demo_stock: Session,
) -> None:
    answer = judge_forecasts(demo_stock, today=DEMO_TODAY)
    assert [one.code for one in answer.by_sort] == ["tests-afterwards", "forecasts-of-sowings"]
    assert sum(one.forecasts for one in answer.by_sort) == answer.forecasts >= 200
    tests, sowings = answer.by_sort
    assert tests.inside_90 is not None
    assert sowings.inside_90 is not None
    assert sowings.forecasts >= 100
    assert 86.0 <= sowings.inside_90.pct <= 94.0
    assert tests.inside_90.pct >= 86.0
    seen = answer.viability
    assert seen.last is not None
    assert seen.last.text.startswith("Your last 20 tests: ")
    assert seen.log_score is not None
    assert seen.alone_log_score is not None
    assert seen.log_score > seen.alone_log_score  # what other lots taught was worth having


def test_nothing_tested_is_nothing_judged(garden: Garden) -> None:
    answer = judge_foretold_tests(garden.session, today=garden.today)
    assert (answer.tests, answer.inside_90, answer.last, answer.items) == (0, None, None, [])
