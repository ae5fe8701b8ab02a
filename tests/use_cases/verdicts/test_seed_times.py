"""Seed crops are begun where their seed can still ripen, whatever is sown for the kitchen."""

from datetime import date, timedelta

import numpy as np
import pytest
from scipy.special import ndtr

from seedbank.climate.forms import ClimateStated
from seedbank.climate.garden_year import garden_years
from seedbank.climate.state_climate import state_climate
from seedbank.facts.kinds import kind_facts
from seedbank.verdicts.answers import When
from seedbank.verdicts.judge_lots import Judgement, judge_collection
from seedbank.verdicts.surroundings import LONGEST_TO_FLOWER_DAYS, SowingTime, Surroundings
from seedbank.viability.tables.stock_columns import day_number
from tests.use_cases.conftest import Garden

MONTHS = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]


def times(garden: Garden, kind: str, on: date) -> tuple[SowingTime, SowingTime]:
    """When it is sown for rows, and when for seed."""
    form = ClimateStated(monthly_c=MONTHS, last_frost_day=121, first_frost_day=298)
    if garden_years(garden.session).at(None).climate is None:
        state_climate(garden.session, form, site_id=None, expected=None)
    around = Surroundings(garden_years(garden.session).at(None))
    kinds = {1: kind_facts(kind)}
    return around.times(kinds, on)[1], around.seed_times(kinds, on)[1]


def test_spinach_of_late_summer_is_for_the_kitchen_and_no_seed_crop(garden: Garden) -> None:
    row, seed = times(garden, "spinach", date(2027, 8, 15))
    assert row.when is When.NOW
    assert seed.when is When.NEXT_YEAR
    assert seed.opens_on is not None
    assert date(2028, 1, 1) <= seed.opens_on <= date(2028, 4, 30)


def test_broad_beans_that_stand_the_winter_may_be_sown_for_seed_in_november(
    garden: Garden,
) -> None:
    _, seed = times(garden, "broad-bean", date(2027, 11, 15))
    assert seed.when is When.NOW


@pytest.mark.parametrize("kind", ["carrot", "beet", "parsnip", "onion"])
def test_what_flowers_in_its_second_year_is_sown_for_seed_as_for_rows(
    garden: Garden, kind: str
) -> None:
    for month in range(1, 13):
        row, seed = times(garden, kind, date(2027, month, 15))
        assert row == seed


@pytest.mark.parametrize("kind", ["spinach", "lettuce", "radish", "pea", "cucumber", "tomato"])
def test_a_seed_crop_is_never_begun_long_before_it_flowers(garden: Garden, kind: str) -> None:
    flowers = kind_facts(kind).flowering
    assert flowers is not None
    for month in range(1, 13):
        _, seed = times(garden, kind, date(2027, month, 15))
        first = date(seed.sown_on.year, 1, 1) + timedelta(flowers.value.from_day - 1)
        if first < seed.sown_on:
            first = first.replace(year=first.year + 1)
        # The garden's own flowering may lie some weeks from the printed one.
        assert (first - seed.sown_on).days <= LONGEST_TO_FLOWER_DAYS + 45


def test_an_annual_is_judged_as_seed_parent_for_the_season_its_seed_crop_is_sown_in(
    garden: Garden,
) -> None:
    summer = date(2027, 8, 10)
    row, seed = times(garden, "lettuce", summer)
    assert (row.when, seed.when) == (When.NOW, When.NEXT_YEAR)
    rare = {"other_keepers": "none", "breeding": "open-pollinated", "plants_wanted": 10}
    code = garden.lot(
        40, variety_id=garden.variety("lettuce", **rare), origin="self-saved",
        harvest_date="2021-09-01", acquired_on="2021-09-01",
    ).code  # fmt: skip

    def judged(on: date) -> tuple[Judgement, int]:
        found = judge_collection(garden.session, today=on)
        return found, found.forecast.collection.code.index(code)

    (now, at), (then, again) = judged(summer), judged(seed.sown_on)
    assert now.verdicts.parent[at]
    assert now.first_day[at] == day_number(seed.sown_on)
    chance, later = (one.verdicts.inputs.p_parents_now for one in (now, then))
    assert chance[at] == pytest.approx(later[again], abs=0.02)
    # And for rows it is as alive as it is now, which is more.
    rows, crop = now.prospects.row_alive[at], now.prospects.alive[at]
    assert (rows > crop + 0.02).all()
    assert np.median(ndtr(rows)) == pytest.approx(now.viability.median[at], abs=0.02)
