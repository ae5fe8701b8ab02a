"""Tests that went wrong, as the gardener says, and tests that contradict each other."""

from typing import Any

from sqlmodel import select

from seedbank.germination.answers import TestAnswer
from seedbank.germination.forms import CountsCorrect, TestChange, TestRecord
from seedbank.germination.run_tests import change_test, correct_counts, record_test
from seedbank.germination.tables import TestFault
from seedbank.science.viability.failed_tests import MORE_SEEDS
from seedbank.viability.answers import ViabilityAnswer
from seedbank.viability.foretell_tests import record_test_foretold
from seedbank.viability.garden_keeping import garden_keeping
from seedbank.viability.judge_foretold_tests import judge_foretold_tests
from seedbank.viability.readiness import read_readiness
from seedbank.viability.show_viability import show_viability
from seedbank.viability.tables.forecasts import ViabilityForecast
from seedbank.viability.tables.stock_columns import day_number
from tests.use_cases.conftest import Garden

BOUGHT = {"harvest_year": 2025, "acquired_on": "2026-01-10"}
CODE = "tests-contradict"


def record(garden: Garden, code: str, day: str, viable: int, seeds: int, **more: Any) -> TestAnswer:
    form = TestRecord.model_validate(
        {
            "lot": code, "started_on": day, "finished_on": day, "confirmed": True,
            "replicates": [{"seeds_set": seeds, "normal": viable}], **more,
        }
    )  # fmt: skip
    return record_test(garden.session, form, **garden.when)


def shown(garden: Garden, code: str) -> ViabilityAnswer:
    return show_viability(garden.session, code, today=garden.today)


def marked(garden: Garden, test: TestAnswer, fault: TestFault | None) -> None:
    change_test(garden.session, test.id, TestChange(fault=fault), expected=None)


def test_a_test_that_went_wrong_tells_only_the_least_alive(garden: Garden) -> None:
    lot = garden.lot(**BOUGHT).code
    before = shown(garden, lot).now
    test = record(garden, lot, "2026-02-01", 3, 20)
    taken = shown(garden, lot).now
    marked(garden, test, TestFault.TOO_COLD)
    wrong = shown(garden, lot)
    assert taken.median_pct < 40.0 < wrong.now.median_pct <= before.median_pct + 1e-6
    assert [one.went_wrong for one in wrong.tests] == [True]
    assert "viability-tests-wrong" in [one.code for one in wrong.reasons]
    marked(garden, test, None)
    assert shown(garden, lot).now == taken


def test_many_alive_of_a_test_that_went_wrong_raise_the_low_end(garden: Garden) -> None:
    lot = garden.lot(**BOUGHT).code
    before = shown(garden, lot).now
    record(garden, lot, "2026-02-01", 48, 50, fault="mould")
    assert shown(garden, lot).now.low_90_pct > before.low_90_pct + 5.0


def test_fewer_sprouted_of_a_test_that_went_wrong_never_raise_belief(garden: Garden) -> None:
    lot = garden.lot(**BOUGHT, kind="lettuce").code
    test = record(garden, lot, "2026-02-01", 0, 20, fault="old-paper")
    medians = [shown(garden, lot).now.median_pct]
    for alive in (1, 2, 5, 10, 19, 20):
        row = {"replicate": 1, "normal": alive, "dead": 20 - alive}
        told = {"on_date": "2026-02-01", "counts": [row], "why": "a miscount", "confirmed": True}
        form = CountsCorrect.model_validate(told)
        correct_counts(garden.session, test.id, form, now=garden.now)
        medians.append(shown(garden, lot).now.median_pct)
    assert medians == sorted(medians)
    assert medians[-1] > medians[0] + 3.0


def test_it_teaches_nothing_of_how_tests_vary_and_is_no_last_test(garden: Garden) -> None:
    lot = garden.lot(**BOUGHT)
    record(garden, lot.code, "2026-02-01", 45, 50)
    good = shown(garden, lot.code).retest
    test = record(garden, lot.code, "2026-03-01", 2, 50, fault="dried-out")
    keeping = garden_keeping(garden.session, "now", day_number(garden.today))
    assert keeping.tests == 1
    assert keeping.rho_evidence == {}
    assert shown(garden, lot.code).retest.code == good.code
    nearest = read_readiness(garden.session, [1]).on(1, garden.today).test
    assert nearest is not None
    assert nearest.normal == 45
    marked(garden, test, None)
    assert garden_keeping(garden.session, "later", day_number(garden.today)).tests == 2


def test_two_tests_that_contradict_each_other_show_both_readings(garden: Garden) -> None:
    lot = garden.lot(**BOUGHT).code
    record(garden, lot, "2026-02-01", 47, 50)
    low = record(garden, lot, "2026-03-01", 12, 50)
    seen = shown(garden, lot)
    assert seen.contradiction is not None
    found = seen.contradiction
    assert found.code == CODE
    assert found.failed_started_on == low.started_on
    assert found.if_both_hold == seen.now
    assert found.if_one_failed.median_pct > found.if_both_hold.high_90_pct
    assert 0.9 < found.failed_chance <= 1.0
    assert found.more_seeds == MORE_SEEDS
    assert seen.to_narrow[0].code == "record-test-again"
    marked(garden, low, TestFault.TOO_COLD)
    settled = shown(garden, lot)
    assert settled.contradiction is None
    assert settled.now.median_pct > found.if_both_hold.median_pct


def test_tests_that_agree_or_age_apart_contradict_nothing(garden: Garden) -> None:
    agreeing, old = garden.lot(**BOUGHT).code, garden.lot(harvest_year=2010, kind="onion").code
    record(garden, agreeing, "2026-02-01", 44, 50)
    record(garden, agreeing, "2026-03-01", 39, 50)
    record(garden, old, "2011-03-01", 45, 50)
    record(garden, old, "2026-03-01", 3, 50)
    assert shown(garden, agreeing).contradiction is None
    assert shown(garden, old).contradiction is None


def test_ten_seeds_more_settle_it(garden: Garden) -> None:
    lot = garden.lot(**BOUGHT).code
    record(garden, lot, "2026-02-01", 19, 20)
    record(garden, lot, "2026-02-20", 9, 20)
    unsure = shown(garden, lot).contradiction
    assert unsure is not None
    record(garden, lot, "2026-03-10", 10, 10)
    told = shown(garden, lot).contradiction
    assert told is not None
    assert told.failed_chance > unsure.failed_chance


def test_its_forecast_is_kept_out_of_the_record(garden: Garden) -> None:
    lot = garden.lot(**BOUGHT).code
    day = garden.today.isoformat()
    told = {"lot": lot, "started_on": day, "finished_on": day, "confirmed": True}
    good, wrong = (
        TestRecord.model_validate(
            {**told, "replicates": [{"seeds_set": 20, "normal": k}], "fault": fault}
        )
        for k, fault in ((17, None), (2, "mould"))
    )
    first = record_test_foretold(garden.session, good, **garden.when)
    record_test_foretold(garden.session, wrong, **garden.when)
    kept = garden.session.exec(select(ViabilityForecast.test_id)).all()
    assert kept == [first.id]
    assert judge_foretold_tests(garden.session, today=garden.today).tests == 1
    marked(garden, first, TestFault.OTHER)
    assert judge_foretold_tests(garden.session, today=garden.today).tests == 0
