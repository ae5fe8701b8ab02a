"""How old a lot is believed to be, from whatever is on record of it."""

from datetime import date
from typing import Any

import numpy as np
import pytest

from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.lots.forms import LotChange, StayCreate
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.places import Place
from seedbank.lots.take_in_lots import change_lot, move_lot_to
from seedbank.viability.lot_ages import (
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
    """Age in years, middle and spread, and whether it is known, of one lot."""
    garden.lot(**more)
    seen = ages(garden)
    age = (day_number(garden.today) - float(seen.harvest_day[-1])) / YEAR
    return age, sd_years(seen), bool(seen.known[-1])


def sd_years(seen: LotAges, lot: int = -1) -> float:
    day, weight = seen.possible.day[lot] / YEAR, seen.possible.weight[lot]
    return float(np.sqrt(weight @ (day - weight @ day) ** 2))


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
    age, sd, known = aged(garden, harvest_year=2023, acquired_on="2024-03-01")
    assert age == pytest.approx((garden.today - date(2023, 9, 15)).days / YEAR, abs=4 / YEAR)
    assert sd == pytest.approx(YEAR_SD, rel=0.1)
    assert known


def test_an_estimated_year_or_date_is_a_year_either_way(garden: Garden) -> None:
    for harvest in ({"harvest_year": 2020}, {"harvest_date": "2020-09-01"}):
        _, sd, known = aged(garden, **harvest, harvest_estimated=True, acquired_on="2026-02-01")
        assert sd == pytest.approx(ESTIMATED_SD)
        assert known


def test_seed_of_unknown_harvest_is_a_year_older_than_its_purchase(garden: Garden) -> None:
    age, sd, known = aged(garden, acquired_on="2025-03-01")
    # None was harvested after it was bought: the fourteenth part that would be is cut off.
    assert age == pytest.approx(3.05, abs=0.02)
    assert 0.85 * SHOP_SD < sd < SHOP_SD
    assert not known


def test_a_lot_of_which_nothing_is_known_is_three_years_older_than_its_entry(
    garden: Garden,
) -> None:
    undated(garden)
    seen = ages(garden)
    ages_years = (day_number(garden.today) - seen.possible.day[0]) / YEAR
    assert (day_number(garden.today) - seen.harvest_day[0]) / YEAR == pytest.approx(3.0)
    logs, weight = np.log(ages_years), seen.possible.weight[0]
    assert weight @ logs == pytest.approx(np.log(3.0), abs=1e-6)
    assert weight @ (logs - np.log(3.0)) ** 2 == pytest.approx(UNKNOWN_LOG_SD**2, abs=1e-6)
    assert not seen.known[0]


def test_no_lot_is_harvested_after_today(garden: Garden) -> None:
    garden.lot(harvest_year=2027)
    garden.lot(harvest_date="2027-03-01", harvest_estimated=True)
    seen = ages(garden, date(2027, 3, 1))
    day = day_number(date(2027, 3, 1))
    assert np.all(seen.possible.day <= day)
    assert day_number(date(2027, 1, 1)) - 1 <= seen.possible.day[0].min()
    assert sd_years(seen, 0) < 0.5 * YEAR_SD
    assert 0.3 * ESTIMATED_SD < sd_years(seen, 1) < ESTIMATED_SD


def test_seed_to_be_sown_by_a_day_was_harvested_one_to_five_septembers_before(
    garden: Garden,
) -> None:
    day, age = date(2019, 12, 31), garden.today
    undated(garden, sow_by=day)
    seen = ages(garden)
    assert seen.harvest_day[0] == pytest.approx(day_number(date(2016, 9, 15)), abs=2)
    assert not seen.known[0]
    by_year = {
        round(2000 + (one - 258) / YEAR): chance
        for one, chance in zip(seen.possible.day[0], seen.possible.weight[0], strict=True)
        if chance > 0
    }
    assert by_year == pytest.approx({2018: 0.1, 2017: 0.25, 2016: 0.3, 2015: 0.25, 2014: 0.1})
    assert age > day
    early = garden.lot(sow_by=day, acquired_on="2016-03-01").code
    lots = read_collection(garden.session)
    at = lots.code.index(early)
    seen = ages(garden)
    weight = seen.possible.weight[at]
    assert np.all(seen.possible.day[at][weight > 0] < day_number(date(2016, 3, 1)))
    assert weight.sum() == pytest.approx(1.0)


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
    possible = ages(garden).possible
    latest = dict(zip(lots.code, possible.day.max(axis=1).tolist(), strict=True))
    assert day_number(date(2024, 6, 1)) < latest[got] <= day_number(date(2024, 7, 20))
    assert day_number(date(2024, 6, 1)) < latest[kept] <= day_number(date(2024, 7, 22))
    assert latest[tested] <= day_number(date(2019, 3, 1))


def test_a_stated_year_or_date_stands_against_a_stay_from_before_it(garden: Garden) -> None:
    year = garden.lot(harvest_year=2024, acquired_on="2024-12-01").code
    day = garden.lot(harvest_date="2024-08-20", acquired_on="2024-12-01").code
    guess = garden.lot(harvest_year=2024, harvest_estimated=True, acquired_on="2024-12-01").code
    for code in (year, day, guess):
        put(garden, code, date(2022, 5, 1))
    seen = ages(garden)
    assert seen.harvest_day[0] == pytest.approx(day_number(date(2024, 1, 1)), abs=1)
    assert seen.harvest_day[1] == day_number(date(2024, 8, 20))
    assert np.all(seen.possible.day[2] <= day_number(date(2022, 5, 1)))


def test_the_day_a_lot_was_entered_bounds_its_guessed_harvest_too(garden: Garden) -> None:
    undated(garden, harvest_year=2026)
    lot = garden.session.get_one(Lot, 1)
    lot.created_at = garden.now.replace(year=2026, month=8, day=1)
    garden.session.add(lot)
    garden.session.commit()
    possible = ages(garden).possible
    assert np.all(possible.day[0] <= day_number(date(2026, 8, 1)))
    assert np.all(possible.day[0] >= day_number(date(2026, 1, 1)) - 1)
