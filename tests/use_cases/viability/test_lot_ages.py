"""How old a lot is believed to be, from whatever is on record of it."""

from datetime import date
from typing import Any

import pytest

from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.lots.forms import LotChange, StayCreate
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.places import Place
from seedbank.lots.take_in_lots import change_lot, move_lot_to
from seedbank.viability.lot_records import (
    ESTIMATED_SD,
    SHOP_SD,
    UNKNOWN_LOG_SD,
    YEAR_SD,
    LotAges,
    lot_ages,
)
from seedbank.viability.tables.stock_columns import day_number, read_collection
from tests.use_cases.conftest import Garden

YEAR = 365.25


def ages(garden: Garden, today: date | None = None) -> LotAges:
    return lot_ages(read_collection(garden.session), day_number(today or garden.today))


def aged(garden: Garden, **more: Any) -> tuple[float, float, bool]:
    """Age in years, its spread in years, and whether it is known, of one lot."""
    garden.lot(**more)
    seen = ages(garden)
    age = (day_number(garden.today) - float(seen.harvest_day[-1])) / YEAR
    return age, float(seen.log_sd[-1]) * max(age, 0.5), bool(seen.known[-1])


def undated(garden: Garden, **more: Any) -> str:
    """A lot entered without the day it came."""
    code = garden.lot(**more).code
    change = LotChange.model_validate({"acquired_on": None})
    change_lot(garden.session, code, change, expected=None, today=garden.today)
    return code


def put(garden: Garden, code: str, day: date) -> None:
    place = Place(name=f"Shelf of {code}")
    garden.session.add(place)
    garden.session.commit()
    form = StayCreate.model_validate({"place_id": place.id, "from_date": day})
    move_lot_to(garden.session, code, form, today=garden.today)


def test_a_harvest_date_is_taken_as_it_is(garden: Garden) -> None:
    age, sd, known = aged(garden, harvest_date="2024-08-20", acquired_on="2024-09-01")
    assert age == pytest.approx((garden.today - date(2024, 8, 20)).days / YEAR)
    assert (sd, known) == (0.0, True)


def test_a_harvest_year_stands_for_mid_september_of_it(garden: Garden) -> None:
    age, sd, known = aged(garden, harvest_year=2023, acquired_on="2023-12-01")
    assert age == pytest.approx((garden.today - date(2023, 9, 15)).days / YEAR, abs=2 / YEAR)
    assert sd == pytest.approx(YEAR_SD)
    assert known


def test_an_estimated_year_or_date_is_a_year_either_way(garden: Garden) -> None:
    for harvest in ({"harvest_year": 2020}, {"harvest_date": "2020-09-01"}):
        _, sd, known = aged(garden, **harvest, harvest_estimated=True, acquired_on="2021-02-01")
        assert sd == pytest.approx(ESTIMATED_SD)
        assert known


def test_seed_of_unknown_harvest_is_a_year_older_than_its_purchase(garden: Garden) -> None:
    age, sd, known = aged(garden, acquired_on="2025-03-01")
    assert age == pytest.approx(3.0, abs=0.01)
    assert sd == pytest.approx(SHOP_SD)
    assert not known


def test_a_lot_of_which_nothing_is_known_is_three_years_older_than_its_entry(
    garden: Garden,
) -> None:
    undated(garden)
    seen = ages(garden)
    assert (day_number(garden.today) - seen.harvest_day[0]) / YEAR == pytest.approx(3.0)
    assert seen.log_sd[0] == UNKNOWN_LOG_SD
    assert not seen.known[0]


def test_no_lot_is_harvested_after_today_and_doubt_is_bounded(garden: Garden) -> None:
    garden.lot(harvest_year=2027)
    garden.lot(harvest_date="2027-03-01", harvest_estimated=True)
    seen = ages(garden, date(2027, 3, 1))
    assert seen.harvest_day.tolist() == [day_number(garden.today)] * 2
    assert seen.log_sd[0] == pytest.approx(YEAR_SD / 0.5)
    assert seen.log_sd[1] == UNKNOWN_LOG_SD


def test_a_guessed_day_gives_way_to_seed_got_put_away_or_tested_before_it(garden: Garden) -> None:
    got = garden.lot(harvest_year=2024, acquired_on="2024-07-20").code
    kept = undated(garden, harvest_year=2024)
    put(garden, kept, date(2024, 7, 22))
    tested = undated(garden)
    record_test(
        garden.session,
        TestRecord.model_validate(
            {
                "lot": tested,
                "started_on": "2019-03-01",
                "finished_on": "2019-03-15",
                "confirmed": True,  # long before it came here
                "replicates": [{"seeds_set": 20, "normal": 15}],
            }
        ),
        **garden.when,
    )
    lots = read_collection(garden.session)
    found = dict(zip(lots.code, ages(garden).harvest_day.tolist(), strict=True))
    assert found[got] == day_number(date(2024, 7, 20))
    assert found[kept] == day_number(date(2024, 7, 22))
    assert found[tested] == day_number(date(2019, 3, 1))


def test_a_stated_year_or_date_stands_against_a_stay_from_before_it(garden: Garden) -> None:
    year = garden.lot(harvest_year=2024, acquired_on="2024-12-01").code
    day = garden.lot(harvest_date="2024-08-20", acquired_on="2024-12-01").code
    guess = garden.lot(harvest_year=2024, harvest_estimated=True, acquired_on="2024-12-01").code
    for code in (year, day, guess):
        put(garden, code, date(2022, 5, 1))
    found = ages(garden).harvest_day.tolist()
    assert found[0] == pytest.approx(day_number(date(2024, 1, 1)), abs=1)
    assert found[1:] == [day_number(date(2024, 8, 20)), day_number(date(2022, 5, 1))]


def test_the_day_a_lot_was_entered_bounds_its_guessed_harvest_too(garden: Garden) -> None:
    undated(garden, harvest_year=2026)
    lot = garden.session.get_one(Lot, 1)
    lot.created_at = garden.now.replace(year=2026, month=8, day=1)
    garden.session.add(lot)
    garden.session.commit()
    assert ages(garden).harvest_day[0] == day_number(date(2026, 8, 1))
