"""Lots of unknown age and sealed places that may not close, as a gardener has them."""

from datetime import date

import numpy as np
import pytest

from seedbank.common.errors import Refused
from seedbank.lots.forms import StayCreate
from seedbank.lots.take_in_lots import move_lot_to
from seedbank.science.viability.circumstances import RESEALED
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


def sealed_anew(garden: Garden, code: str, jar: int, day: str) -> None:
    form = StayCreate.model_validate({"place_id": jar, "from_date": day, "sealed_anew": True})
    move_lot_to(garden.session, code, form, today=garden.today)


def suspected(garden: Garden) -> tuple[int, list[str]]:
    """A jar of six lots, five of which were tested badly."""
    jar = place(garden, "Jar", **JAR)
    codes = [in_jar(garden, jar) for _ in range(6)]
    for code in codes[:5]:
        record(garden, code, "2025-02-01", (2, 25))
    return jar, codes


def test_a_jar_sealed_anew_starts_anew_for_all_that_lies_in_it(garden: Garden) -> None:
    jar, codes = suspected(garden)
    assert chance_open(see(garden, *codes)) > 0.3
    sealed_anew(garden, codes[0], jar, "2025-03-01")
    after = see(garden, *codes)
    chances = after.garden.places.chance(after.storage.place, np.zeros(after.storage.place.shape))
    since, before = chances.T
    assert since == pytest.approx(np.full(6, 0.01))
    assert np.all(before > 0.3)
    # The sixth, which nobody touched or tested, has aged as little since as a tight jar lets it.
    dose = after.storage.doses_at(np.full(2, 5), np.array([9190.0, 9900.0]))  # 2025-03-01, 2027
    gain = dose[1] - dose[0]
    still_closed = ~after.storage.is_open[5, :, 0]
    assert gain[~still_closed].min() > 2.0 * gain[still_closed].max()


def test_bad_tests_since_it_was_sealed_anew_speak_of_that_sealing(garden: Garden) -> None:
    jar = place(garden, "Jar", **JAR)
    codes = [in_jar(garden, jar) for _ in range(5)]
    for code in codes:
        record(garden, code, "2021-02-01", (23, 25))
    sealed_anew(garden, codes[0], jar, "2021-03-01")
    for code in codes:
        record(garden, code, "2027-02-01", (4, 25))
    seen = see(garden, *codes)
    since, before = seen.garden.places.chance(seen.storage.place, np.zeros((5, 2)))[0]
    assert before < 0.05
    assert since > 3.0 * before


def test_sealing_anew_told_before_or_since_and_a_day_to_come_is_a_plan(garden: Garden) -> None:
    jar, codes = suspected(garden)
    sealed_anew(garden, codes[0], jar, "2025-03-01")
    answer = show_viability(garden.session, codes[5], today=garden.today)
    told = [one.names["when"] for one in answer.reasons if one.code == "viability-if-open"]
    assert "before" in told
    assert "before it was sealed anew" in " ".join(one.text for one in answer.reasons)
    earlier = see(garden, *codes, today=date(2025, 2, 28))
    assert earlier.storage.place.shape[1] == 1


def test_sealed_anew_twice_are_two_more_sealings_and_the_last_two_are_asked(
    garden: Garden,
) -> None:
    jar, codes = suspected(garden)
    for day in ("2025-03-01", "2026-03-01"):
        sealed_anew(garden, codes[0], jar, day)
    seen = see(garden, *codes)
    assert seen.storage.place[3].tolist() == [jar + 2 * RESEALED, jar + RESEALED]


def test_a_lot_read_alone_is_as_it_is_among_all(garden: Garden) -> None:
    jar, codes = suspected(garden)
    sealed_anew(garden, codes[0], jar, "2025-03-01")
    everything = show_viability(garden.session, codes[5], today=garden.today).now
    seen = see(garden, *codes)
    low, *_, high = band(seen, garden.today, 5)
    assert 100 * low == pytest.approx(everything.low_90_pct, abs=0.02)
    assert 100 * high == pytest.approx(everything.high_90_pct, abs=0.02)


def test_only_a_sealed_place_is_sealed_anew(garden: Garden) -> None:
    shelf = place(garden, "Shelf", sealed=False)
    code = garden.lot(**HARVESTED).code
    with pytest.raises(Refused) as refused:
        sealed_anew(garden, code, shelf, "2025-03-01")
    assert refused.value.field == "sealed_anew"
