"""Lots of unknown age and sealed places that may not close, as a gardener has them."""

from datetime import date

import numpy as np
import pytest

from seedbank.viability.forecast_viability import Forecast
from seedbank.viability.show_viability import show_viability
from tests.use_cases.conftest import Garden
from tests.use_cases.viability.test_forecast_viability import band, place, put, record, see, width

JAR = {
    "temp_winter_c": 12.0,
    "temp_summer_c": 22.0,
    "rh_winter_pct": 20.0,
    "rh_summer_pct": 20.0,
    "sealed": True,
}
HARVESTED = {"harvest_date": "2019-09-01", "acquired_on": "2019-10-01"}


def in_jar(garden: Garden, jar: int, kind: str = "onion") -> str:
    code = garden.lot(kind=kind, **HARVESTED).code
    put(garden, code, jar, "2019-10-01")
    return code


def chance_open(seen: Forecast, at: int = 0) -> float:
    told = np.zeros(seen.storage.place[[at]].shape)
    return float(seen.garden.places.chance(seen.storage.place[[at]], told)[0, 0])


def test_a_jar_may_not_close_and_the_answer_says_what_then(garden: Garden) -> None:
    code = in_jar(garden, place(garden, "Tall jar", **JAR))
    seen = see(garden, code)
    assert seen.storage.weight[0] == pytest.approx([0.98, 0.02])
    closed, opened = seen.dose_on(seen.today)[0]
    assert opened > 1.5 * closed
    answer = show_viability(garden.session, code, today=garden.today)
    [told] = [one for one in answer.reasons if one.code == "viability-if-open"]
    assert told.names["place"] == "Tall jar"
    assert told.numbers["chance"] == pytest.approx(0.02)
    assert told.numbers["low_pct"] < answer.now.low_90_pct
    assert told.numbers["high_pct"] < answer.now.high_90_pct
    assert "Tall jar" in told.text


def test_what_comes_to_little_for_one_lot_is_told_by_all_the_lots_in_the_jar(
    garden: Garden,
) -> None:
    jar = place(garden, "Jar", **JAR)
    codes = [in_jar(garden, jar) for _ in range(6)]
    elsewhere = in_jar(garden, place(garden, "Other jar", **JAR))
    before = see(garden, *codes, elsewhere)
    assert chance_open(before) == pytest.approx(0.02)
    for code in codes[:5]:
        record(garden, code, "2027-02-01", (2, 25))
    after = see(garden, *codes, elsewhere)
    assert chance_open(after) > 0.3
    assert chance_open(after, 6) < 0.1
    untested, other = band(after, garden.today, 5), band(after, garden.today, 6)
    assert untested[2] < other[2]
    assert untested[0] < band(before, garden.today, 5)[0]


def test_good_tests_clear_a_jar_for_those_not_tested(garden: Garden) -> None:
    jar = place(garden, "Jar", **JAR)
    codes = [in_jar(garden, jar) for _ in range(5)]
    for code in codes[:4]:
        record(garden, code, "2027-02-01", (24, 25))
    assert chance_open(see(garden, *codes)) < 0.01


def test_a_lot_of_unknown_age_is_known_less_well_and_its_age_is_told(garden: Garden) -> None:
    known = garden.lot(kind="leek", harvest_date="2022-03-01", acquired_on="2025-03-01").code
    unknown = garden.lot(kind="leek", origin="gift", acquired_on="2025-03-01").code
    seen = see(garden, known, unknown)
    assert seen.ages.harvest_day[1] == pytest.approx(seen.ages.harvest_day[0], abs=2)
    assert np.count_nonzero(seen.storage.weight, axis=1).tolist() == [1, 7]
    for day in (garden.today, date(2030, 1, 1)):
        assert width(seen, day, 1) > width(seen, day, 0)
    record(garden, unknown, "2027-02-01", (40, 50))
    answer = show_viability(garden.session, unknown, today=garden.today)
    [told] = [one for one in answer.reasons if one.code == "viability-age-doubted"]
    assert 2.0 < told.numbers["low_years"] < 4.5 < told.numbers["high_years"]


def test_one_test_teaches_an_old_lot_its_age_and_no_band_rises_with_time(garden: Garden) -> None:
    code = garden.lot(kind="leek", origin="gift", acquired_on="2025-03-01").code
    jar = place(garden, "Jar", **JAR)
    put(garden, code, jar, "2025-06-01")
    record(garden, code, "2026-02-01", (3, 40))
    seen = see(garden, code)
    days = [date(year, month, 1) for year in range(2023, 2034) for month in (1, 7)]
    ends = np.array([band(seen, day) for day in days])
    assert np.all(np.diff(ends, axis=0) <= 1e-6)
    assert np.all(np.diff(ends, axis=1) >= 0.0)
