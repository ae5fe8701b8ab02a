"""How alive a lot is through time: its curve, its thresholds, when to look again, what to mend."""

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from sqlmodel import Session, select

from seedbank.common.errors import NotThere
from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import LotChange, PlaceCreate, StayCreate
from seedbank.lots.tables.lot_codes import code_for
from seedbank.lots.tables.lots import Lot
from seedbank.lots.take_in_lots import change_lot, move_lot_to
from seedbank.viability.answers import ViabilityAnswer
from seedbank.viability.forecast_viability import forecast
from seedbank.viability.show_viability import show_viability
from seedbank.viability.tables.stock_columns import day_number
from tests.use_cases.conftest import DEMO_TODAY, Garden

HARVESTED = {"harvest_date": "2023-09-10", "acquired_on": "2023-10-01"}


def shown(garden: Garden, code: str, **more: Any) -> ViabilityAnswer:
    return show_viability(garden.session, code, today=garden.today, **more)


def put(garden: Garden, code: str, day: str, **conditions: Any) -> None:
    form = PlaceCreate.model_validate({"name": f"For {code} {day}", **conditions})
    place = add_place(garden.session, form)
    stay = StayCreate.model_validate({"place_id": place.id, "from_date": day})
    move_lot_to(garden.session, code, stay, today=garden.today)


def record(garden: Garden, code: str, day: str, *replicates: tuple[int, int]) -> None:
    form = TestRecord.model_validate(
        {
            "lot": code,
            "started_on": day,
            "finished_on": day,
            "confirmed": True,  # set and counted on one day
            "replicates": [{"seeds_set": n, "normal": k} for k, n in replicates],
        }
    )
    record_test(garden.session, form, **garden.when)


@pytest.fixture(scope="module")
def demo_answers(demo_stock: Session) -> list[ViabilityAnswer]:
    lots = demo_stock.exec(select(Lot.code).order_by(Lot.code)).all()
    return [
        show_viability(demo_stock, code, today=DEMO_TODAY, thresholds_pct=[50.0])
        for code in lots[::3]
    ]


def test_the_curve_falls_from_harvest_through_today_to_ten_years_ahead(
    demo_answers: list[ViabilityAnswer],
) -> None:
    for answer in demo_answers:
        days = [point.on for point in answer.curve]
        assert days == sorted(set(days))
        assert days[0] == answer.at_harvest.on
        assert DEMO_TODAY in days
        assert days[-1] == DEMO_TODAY + timedelta(days=3652)
        medians = [point.median_pct for point in answer.curve]
        assert all(a >= b - 0.02 for a, b in pairwise(medians))
        assert medians[0] > medians[-1]
        assert answer.curve[0] == answer.at_harvest
        assert answer.now.on == DEMO_TODAY
        today = answer.curve[days.index(DEMO_TODAY)]
        assert today.median_pct == pytest.approx(answer.now.median_pct, abs=0.02)
        for point in answer.curve:
            band = [
                point.low_90_pct, point.low_50_pct, point.median_pct, point.high_50_pct,
                point.high_90_pct,
            ]  # fmt: skip
            assert band == sorted(band)


def test_crossings_come_in_order_and_agree_with_the_chance_today(
    demo_answers: list[ViabilityAnswer],
) -> None:
    ever = date(9000, 1, 1)
    for answer in demo_answers:
        names = [threshold.name for threshold in answer.thresholds]
        assert names[-2:] == ["85 % of initial", "50 % as asked"]
        for one in answer.thresholds:
            early, middle, late = (
                day or ever
                for day in (
                    one.crossed_by_5_in_100, one.crossed_by_median, one.crossed_by_95_in_100,
                )
            )  # fmt: skip
            assert answer.at_harvest.on <= early <= middle <= late
            chance, slack = one.probability_at_least, 0.002
            week = timedelta(days=7)
            for day, below in ((early, 0.05), (middle, 0.5), (late, 0.95)):
                if day + week < DEMO_TODAY:
                    assert chance <= 1 - below + slack
                elif day > DEMO_TODAY + week:
                    assert chance >= 1 - below - slack


def test_a_thresholds_chance_is_the_posteriors_own(garden: Garden) -> None:
    code = garden.lot(kind="onion", **HARVESTED).code
    record(garden, code, "2026-02-01", (40, 50))
    on = date(2029, 6, 1)
    answer = shown(garden, code, on=on, thresholds_pct=[50.0, 33.5])
    seen = forecast(garden.session, today=garden.today)
    dose = seen.dose_on(day_number(on))
    initial = float(seen.posterior.quantile((0.5,), 0.0 * dose)[0, 0])
    assert answer.at_harvest.median_pct == pytest.approx(100 * initial, abs=0.02)
    minimum = seen.facts_of(0).minimum_germination_pct
    assert minimum is not None
    wanted = {
        "legal minimum": minimum.value,
        "85 % of initial": 85 * initial,
        "50 % as asked": 50.0,
        "33.5 % as asked": 33.5,
    }
    assert {t.name: t.threshold_pct for t in answer.thresholds} == pytest.approx(wanted, abs=0.01)
    chances = {
        name: float(seen.posterior.probability_at_least(pct / 100, dose)[0])
        for name, pct in wanted.items()
    }
    assert {t.name: t.probability_at_least for t in answer.thresholds} == pytest.approx(
        chances, abs=2e-4
    )
    half = next(t for t in answer.thresholds if t.name == "50 % as asked")
    assert half.crossed_by_median is not None
    crossing = seen.dose_on(day_number(half.crossed_by_median))
    assert float(seen.posterior.probability_at_least(0.5, crossing)[0]) == pytest.approx(
        0.5, abs=1e-3
    )
    assert answer.now.on == on
    assert answer.age_years == pytest.approx((on - date(2023, 9, 10)).days / 365.25, abs=0.01)
    assert answer.dose == pytest.approx(float(dose[0, 0]), abs=1e-3)


def test_a_threshold_crossed_in_an_earlier_store_is_dated_there(garden: Garden) -> None:
    code = garden.lot(kind="onion", harvest_date="2010-09-01", acquired_on="2010-09-01").code
    put(garden, code, "2010-09-01", temp_summer_c=25.0, rh_summer_pct=65.0)
    put(garden, code, "2024-01-01", temp_summer_c=-18.0, rh_summer_pct=40.0)
    half = shown(garden, code, thresholds_pct=[50.0]).thresholds[-1]
    assert half.crossed_by_median is not None
    assert date(2010, 9, 1) < half.crossed_by_median < date(2020, 1, 1)


def test_a_lot_should_be_looked_at_again_after_a_third_of_its_time(garden: Garden) -> None:
    code = garden.lot(
        kind="tomato", harvest_date="2026-09-10", acquired_on="2026-10-01", origin="self-saved"
    ).code
    put(garden, code, "2026-10-01", temp_summer_c=12.0, rh_summer_pct=35.0)
    untested = shown(garden, code)
    # FAO Genebank Standards 2014, 4.3.1 (read): a first test at latest 12 months after receipt.
    assert untested.retest.due_on == date(2027, 9, 10)
    assert "never tested" in untested.retest.text
    record(garden, code, "2026-12-01", (49, 50))
    tested = shown(garden, code)
    crossing = next(t for t in tested.thresholds if t.name == "85 % of initial")
    assert crossing.crossed_by_median is not None
    third = (crossing.crossed_by_median - date(2026, 12, 1)) / 3
    assert tested.retest.due_on is not None
    assert abs(tested.retest.due_on - (date(2026, 12, 1) + third)) <= timedelta(days=1)


def test_the_day_to_test_again_stands_still_while_nothing_is_learned(garden: Garden) -> None:
    tested = garden.lot(kind="tomato", **HARVESTED).code
    record(garden, tested, "2024-02-01", (48, 50))
    never = garden.lot(kind="onion", harvest_date="2025-09-10", acquired_on="2025-10-01").code
    for code in (tested, never):
        days = {
            show_viability(
                garden.session, code, today=garden.today + timedelta(later)
            ).retest.due_on
            for later in (0, 90, 400)
        }
        assert len(days) == 1
        assert None not in days


def test_no_lot_is_to_be_tested_decades_ahead(demo_answers: list[ViabilityAnswer]) -> None:
    days = [one.retest.due_on for one in demo_answers if one.retest.due_on is not None]
    assert days
    assert max(days) < DEMO_TODAY + timedelta(days=366 * 10)


def test_a_lot_fallen_under_its_limit_since_its_test_is_tested_before_it_is_relied_on(
    garden: Garden,
) -> None:
    code = garden.lot(kind="onion", harvest_date="2012-09-10", acquired_on="2012-10-01").code
    record(garden, code, "2012-12-01", (48, 50))
    retest = shown(garden, code).retest
    assert retest.due_on is not None
    assert retest.due_on < garden.today
    assert "test it before you rely on it" in retest.text


@pytest.mark.parametrize(
    ("kind", "seeds", "said"),
    [
        ("tomato", 0, "No seed is left"),
        ("tomato", 9, "9 seeds left are too few to test"),
        ("chayote", 40, "doesn't keep"),
    ],
)
def test_no_test_is_asked_of_seed_that_is_gone_too_little_or_fleeting(
    garden: Garden, kind: str, seeds: int, said: str
) -> None:
    code = garden.lot(seeds, kind=kind, harvest_date="2026-09-10").code
    retest = shown(garden, code).retest
    assert retest.due_on is None
    assert said in retest.text


def test_a_deep_frozen_lot_is_told_ten_years_not_endless_ones(garden: Garden) -> None:
    code = garden.lot(kind="tomato", **HARVESTED).code
    put(
        garden, code, "2023-09-10",
        temp_winter_c=-20.0, temp_summer_c=-20.0, seed_moisture_pct=3.0, sealed=True,
    )  # fmt: skip
    record(garden, code, "2026-12-01", (49, 50))
    answer = shown(garden, code)
    # 10 years at most: our choice, within the 40 of FAO Genebank Standards 2014, 4.3.3
    # (from memory)
    assert answer.retest.due_on is not None
    assert abs((answer.retest.due_on - date(2026, 12, 1)).days / 365.25 - 10) < 0.01
    assert "inf" not in answer.retest.text
    assert "10 years" in answer.retest.text
    assert answer.thresholds[0].crossed_by_95_in_100 is None


def test_figures_from_memory_are_marked_so_and_choices_are_not_passed_off_as_the_gardeners(
    garden: Garden,
) -> None:
    answer = shown(garden, garden.lot(kind="onion", **HARVESTED).code)
    marks = {source.confidence for source in answer.sources}
    assert {"memory", "computed"} <= marks
    assert "own" not in marks
    assert len(answer.sources) == len(set(answer.sources))
    ellis = [s.confidence for s in answer.sources if "Ellis & Roberts 1980" in s.text]
    assert "memory" in ellis


@pytest.mark.parametrize(
    ("conditions", "word"),
    [
        ({"temp_summer_c": 20.0, "seed_moisture_pct": 28.0}, "moister than 25 %"),
        ({"temp_summer_c": 20.0, "rh_summer_pct": 90.0}, "mould and heating"),
        ({"temp_summer_c": 20.0, "rh_summer_pct": 40.0, "rh_winter_pct": 92.0}, "mould"),
        ({"temp_summer_c": 20.0, "seed_moisture_pct": 1.5}, "drier than 2 %"),
        ({"temp_winter_c": -20.0, "temp_summer_c": 10.0, "rh_summer_pct": 40.0}, "-13 °C"),
    ],
)
def test_a_store_outside_what_the_equation_was_fitted_to_is_warned_of(
    garden: Garden, conditions: dict[str, float], word: str
) -> None:
    code = garden.lot(kind="onion", **HARVESTED).code
    put(garden, code, "2023-10-01", **conditions)
    said = shown(garden, code).warnings
    assert len(said) == 1
    assert word in said[0].text


def test_an_ordinary_store_is_not_warned_of_nor_a_jar_that_evens_the_air_out(
    garden: Garden,
) -> None:
    fine = garden.lot(kind="onion", **HARVESTED).code
    assert shown(garden, fine).warnings == []
    jar = garden.lot(kind="onion", **HARVESTED).code
    swing = {"temp_summer_c": 20.0, "rh_summer_pct": 30.0, "rh_winter_pct": 90.0}
    put(garden, jar, "2023-10-01", **swing, sealed=True)
    assert shown(garden, jar).warnings == []
    put(garden, jar, "2023-10-02", **swing)
    assert "mould" in shown(garden, jar).warnings[0].text


def test_seed_that_does_not_survive_drying_and_kinds_unknown_are_warned_of(
    garden: Garden,
) -> None:
    chayote = shown(garden, garden.lot(kind="chayote", **HARVESTED).code)
    assert any("doesn't keep" in said.text for said in chayote.warnings)
    assert not chayote.now.reckoned
    assert not any("probit" in said.text for said in chayote.reasons)


def test_what_is_missing_is_asked_for_and_what_is_on_record_is_not(garden: Garden) -> None:
    code = garden.lot(kind="onion", acquired_on="2025-01-10").code
    asked = " ".join(one.text for one in shown(garden, code).to_narrow)
    for word in ("germination test", "harvest year", "where it is kept"):
        assert word in asked
    change = LotChange.model_validate({"harvest_year": 2024, "harvest_estimated": True})
    change_lot(garden.session, code, change, expected=None, today=garden.today)
    put(garden, code, "2025-02-01")
    record(garden, code, "2026-02-01", (45, 50))
    asked = " ".join(one.text for one in shown(garden, code).to_narrow)
    assert "germination test" not in asked
    assert "where it is kept" not in asked
    assert "estimate" in asked
    assert "temperature and humidity of the place" in asked
    change = LotChange.model_validate({"harvest_estimated": False})
    change_lot(garden.session, code, change, expected=None, today=garden.today)
    put(garden, code, "2025-02-02", temp_summer_c=15.0, rh_summer_pct=50.0)
    assert shown(garden, code).to_narrow == []


def test_each_finished_test_is_shown_with_what_it_is_worth(garden: Garden) -> None:
    code = garden.lot(kind="onion", **HARVESTED).code
    record(garden, code, "2025-02-01", (45, 50))
    record(garden, code, "2026-02-01", (5, 25), (24, 25))
    answer = shown(garden, code)
    assert [(t.viable_seeds, t.judged_seeds) for t in answer.tests] == [(45, 50), (29, 50)]
    assert answer.tests[0].worth_seeds == pytest.approx(50 / 1.49, abs=0.05)
    assert answer.tests[1].worth_seeds < 12
    assert answer.tests[0].viability.pct == 90
    assert any("100 seeds" in said.text for said in answer.reasons)
    assert sum("disagreed" in said.text for said in answer.reasons) == 1


def test_a_lot_harvested_today_or_tested_before_its_harvest_is_still_answered(
    garden: Garden,
) -> None:
    today = garden.lot(harvest_date="2027-03-01").code
    answer = shown(garden, today)
    assert answer.curve[0].on == answer.now.on == garden.today
    assert answer.age_years == 0
    guess = {"harvest_date": "2026-09-01", "harvest_estimated": True}
    early = garden.lot(acquired_on="2026-09-01", **guess).code
    record(garden, early, "2020-02-01", (10, 20))
    assert shown(garden, early).dose > 0
    assert shown(garden, early, on=date(1900, 1, 1)).dose == 0
    assert shown(garden, early, on=date(2199, 12, 31)).now.median_pct < 1


def test_no_lot_of_that_code_is_said(garden: Garden) -> None:
    with pytest.raises(NotThere):
        shown(garden, code_for(4711))
