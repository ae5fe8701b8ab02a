"""The year, a line a crop: by the climate, seed crops first; another climate moves all of it."""

from datetime import date

import pytest
from sqlmodel import Session

from seedbank.climate.answers import SpanAnswer
from seedbank.climate.forms import ClimateStated
from seedbank.climate.state_climate import state_climate
from seedbank.climate.tables import Known
from seedbank.season.answers import CropLineAnswer, YearAnswer
from seedbank.season.show_year import show_year
from seedbank.verdicts.answers import When
from tests.use_cases.conftest import Garden

MONTHS = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]
RARE = {"other_keepers": "none", "breeding": "open-pollinated", "plants_wanted": 10}


def tell(garden: Garden, **told: object) -> None:
    state_climate(garden.session, ClimateStated(**told), site_id=None, expected=None)


def line(answer: YearAnswer, kind: str, *, for_seed: bool = False) -> CropLineAnswer:
    (found,) = (one for one in answer.crops if (one.kind, one.for_seed) == (kind, for_seed))
    return found


def asked(garden: Garden, on: date | None = None) -> YearAnswer:
    return show_year(garden.session, today=on or garden.today)


@pytest.fixture
def stocked(garden: Garden) -> Garden:
    for kind in ("carrot", "tomato", "common-bean"):
        garden.lot(600, variety_id=garden.variety(kind), acquired_on="2026-10-01")
    return garden


def test_kinds_in_stock_are_sown_and_ready_in_the_order_they_are_sown(stocked: Garden) -> None:
    tell(stocked, monthly_c=MONTHS, last_frost_day=121, first_frost_day=298)
    answer = asked(stocked)
    assert (answer.known, answer.remarks) == (Known.MONTHS, [])
    assert [one.kind for one in answer.crops] == ["tomato", "carrot", "common-bean"]
    carrot = line(answer, "carrot")
    assert (carrot.method, carrot.sow) == ("open", [SpanAnswer(from_day=76, to_day=208)])
    assert carrot.eat is not None
    assert carrot.grows == SpanAnswer(from_day=76, to_day=carrot.eat.from_day)
    # 60 to 95 days of 16 °C to a carrot: a good four months from a cold March, until growth ends.
    assert 180 <= carrot.eat.from_day <= 220
    assert carrot.eat.to_day > 300
    assert (line(answer, "tomato").method, line(answer, "tomato").when) == ("indoors", When.NOW)
    bean = line(answer, "common-bean")
    assert bean.eat is not None
    assert bean.eat.to_day <= 298  # the first frost ends it


def test_a_colder_garden_and_one_in_the_south_move_every_line(stocked: Garden) -> None:
    tell(stocked, monthly_c=MONTHS, last_frost_day=121, first_frost_day=298)
    here = asked(stocked)
    tell(stocked, monthly_c=[one - 4 for one in MONTHS], last_frost_day=145, first_frost_day=270)
    colder = asked(stocked)
    assert line(colder, "carrot").sow[0].from_day > line(here, "carrot").sow[0].from_day
    tell(stocked, monthly_c=MONTHS[6:] + MONTHS[:6], last_frost_day=303, first_frost_day=115)
    south = asked(stocked)
    for kind in ("carrot", "tomato", "common-bean"):
        off = line(south, kind).sow[0].from_day - line(here, kind).sow[0].from_day
        assert off % 365 == pytest.approx(182, abs=4)


def test_frost_dates_alone_move_the_calendar_and_nothing_known_is_said(stocked: Garden) -> None:
    nothing = asked(stocked)
    assert (nothing.crops, nothing.known) == ([], Known.NOTHING)
    assert [one.code for one in nothing.remarks] == ["season-roughly"]
    tell(stocked, last_frost_day=121)
    at = line(asked(stocked), "carrot").sow[0].from_day
    tell(stocked, last_frost_day=141)
    assert line(asked(stocked), "carrot").sow[0].from_day == at + 20


def test_what_is_to_be_grown_for_seed_comes_first_and_says_why(garden: Garden) -> None:
    tell(garden, monthly_c=MONTHS, last_frost_day=121, first_frost_day=298)
    garden.lot(
        600, variety_id=garden.variety("lettuce", **RARE), origin="self-saved",
        harvest_date="2022-09-01", acquired_on="2022-09-01",
    )  # fmt: skip
    answer = asked(garden)
    seed = answer.crops[0]
    assert (seed.kind, seed.for_seed, seed.seed_crop) == ("lettuce", True, None)
    assert seed.state is not None
    assert seed.reasons[0].text
    assert seed.keep_apart == seed.flowers
    assert seed.ripe is not None
    assert seed.flowers is not None
    assert seed.flowers.from_day < seed.ripe.from_day
    late = asked(garden, date(2027, 10, 20))
    assert late.crops
    assert {one.from_on.year for one in late.crops if one.from_on} == {2028}  # never this year


def test_a_seed_crop_under_way_is_kept_apart_a_week_before_it_flowers(
    demo_stock: Session,
) -> None:
    answer = show_year(demo_stock, today=date(2027, 2, 20))
    crops = [one for one in answer.crops if one.seed_crop is not None]
    assert crops
    assert answer.crops[: len(crops)] == crops
    for one in crops:
        assert one.keep_apart is not None
        assert one.flowers is not None
        assert one.flowers.from_day - one.keep_apart.from_day == 7
        assert one.reasons
