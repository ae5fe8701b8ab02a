"""A kind's year in a garden: dates that follow its climate, and weeks where none is known."""

from datetime import date
from typing import Any

import pytest

from seedbank.climate.answers import KindSeasonAnswer
from seedbank.climate.forms import ClimateStated
from seedbank.climate.garden_year import garden_years
from seedbank.climate.kind_season import SeasonAsked, kind_season, sowing_state
from seedbank.climate.state_climate import state_climate
from seedbank.facts.kinds import kind_facts
from seedbank.facts.variety_season import VarietySeason
from seedbank.saving.climate_of_sites import variety_season_at
from seedbank.saving.edit_flowerings import show_window
from seedbank.saving.edit_sites import add_site
from seedbank.saving.forms import SiteCreate
from seedbank.science.season.sowing_windows import Method
from seedbank.science.season.window_state import State
from tests.use_cases.conftest import Garden

MONTHS = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]
APRIL = SeasonAsked(on=date(2027, 4, 20))


def tell(garden: Garden, site: int | None = None, **told: Any) -> None:
    form = ClimateStated.model_validate(told)
    state_climate(garden.session, form, site_id=site, expected=None)


def ask(garden: Garden, kind: str = "carrot", asked: SeasonAsked = APRIL) -> KindSeasonAnswer:
    return kind_season(garden.session, kind, asked)


def opens(answer: KindSeasonAnswer, method: Method = Method.OPEN) -> int:
    return next(one for one in answer.sow if one.method is method).windows[0].from_day


def test_without_a_climate_times_are_told_in_weeks_and_it_is_said(garden: Garden) -> None:
    answer = ask(garden)
    assert answer.sow == []
    assert (answer.flowers, answer.ripe) == (None, None)
    assert answer.sow_in_weeks is not None
    assert answer.sow_in_weeks.text == (
        "Sow in the open from 9 weeks before to 13 weeks after the last frost."
    )
    assert answer.findings[0].code == "season-roughly"
    assert "tell its monthly temperatures" in answer.findings[0].text


def test_frost_dates_alone_make_days_of_the_weeks(garden: Garden) -> None:
    tell(garden, last_frost_day=121)
    assert ask(garden).sow_in_weeks is not None
    early = ask(garden)
    tell(garden, last_frost_day=141)
    late = ask(garden)
    assert early.flowers is not None
    assert late.flowers is not None
    assert late.flowers.from_day - early.flowers.from_day == 20
    assert early.sow_in_weeks is not None
    assert early.sow_in_weeks.code == "sow-by-frost"


def test_a_known_climate_gives_windows_days_and_chances(garden: Garden) -> None:
    tell(garden, monthly_c=MONTHS, last_frost_day=121, first_frost_day=298)
    answer = ask(garden)
    assert [one.method for one in answer.sow] == list(Method)
    bed = answer.sow[0]
    assert bed.text.startswith("In the open: ")
    assert (bed.state, bed.until) == (State.OPEN, date(2027, 7, 27))
    assert bed.days_to_half == pytest.approx(16, abs=3)
    assert bed.days_to_most == pytest.approx(1.4 * (bed.days_to_half or 0), abs=0.2)
    assert 0.5 < (bed.chance or 0) <= 0.9
    assert answer.flowers is not None
    assert answer.ripe is not None
    june = ask(garden, asked=SeasonAsked(on=date(2027, 6, 15))).sow[0]
    assert (june.days_to_half or 99) < (bed.days_to_half or 0)


def test_six_months_on_or_four_degrees_colder_every_date_moves(garden: Garden) -> None:
    tell(garden, monthly_c=MONTHS, last_frost_day=121, first_frost_day=298)
    here = ask(garden, "pea")
    tell(garden, monthly_c=MONTHS[6:] + MONTHS[:6], last_frost_day=303, first_frost_day=115)
    south = ask(garden, "pea")
    tell(garden, monthly_c=[t - 4.0 for t in MONTHS], last_frost_day=141, first_frost_day=278)
    cold = ask(garden, "pea")
    for method in (Method.OPEN, Method.FLEECE, Method.TUNNEL, Method.INDOORS):
        assert (opens(south, method) - opens(here, method)) % 365 == pytest.approx(182, abs=5)
        assert opens(cold, method) > opens(here, method)
    for part in ("flowers", "ripe"):
        one, two, three = (getattr(a, part).from_day for a in (here, south, cold))
        assert (two - one) % 365 == pytest.approx(182, abs=6)
        assert three > one


def test_flowering_windows_of_the_crossing_check_follow_the_climate(garden: Garden) -> None:
    before = show_window(garden.session, "carrot")
    tell(garden, monthly_c=[t - 3.0 for t in MONTHS])
    after = show_window(garden.session, "carrot")
    assert after.from_day > before.from_day
    tell(garden, hemisphere="south")
    turned = show_window(garden.session, "carrot")
    assert (turned.from_day - before.from_day) % 365 == 182
    assert turned.source.confidence == "computed"


def test_a_site_may_have_a_climate_of_its_own(garden: Garden) -> None:
    site = add_site(garden.session, SiteCreate(name="Up the hill")).id
    tell(garden, monthly_c=MONTHS, last_frost_day=121, first_frost_day=298)
    there = SeasonAsked(on=APRIL.on, site_id=site)
    assert opens(ask(garden, asked=there)) == opens(ask(garden))
    tell(garden, site, monthly_c=[t - 3.0 for t in MONTHS], last_frost_day=135)
    assert opens(ask(garden, asked=there)) > opens(ask(garden))
    tell(garden, site)  # nothing known of it any more: the garden's holds
    assert opens(ask(garden, asked=there)) == opens(ask(garden))


def test_a_variety_is_told_by_the_season_it_is_for(garden: Garden) -> None:
    tell(garden, monthly_c=MONTHS, last_frost_day=121, first_frost_day=298)
    last = [
        variety_season_at(garden.session, garden.variety("carrot", season=season), APRIL)
        .sow[0]
        .windows[0]
        .to_day
        for season in (VarietySeason.WINTER, None, VarietySeason.EARLY)
    ]
    assert last == sorted(set(last))


def test_what_verdicts_will_ask_is_answered_on_any_day(garden: Garden) -> None:
    carrot = kind_facts("carrot")
    unknown = garden_years(garden.session).at(None)
    assert sowing_state(carrot, unknown, Method.OPEN, APRIL.on) is None
    tell(garden, monthly_c=MONTHS, last_frost_day=121, first_frost_day=298)
    year = garden_years(garden.session).at(None)
    days = (date(2027, 2, 1), date(2027, 5, 1), date(2027, 10, 15))
    states = [sowing_state(carrot, year, Method.OPEN, day) for day in days]
    assert [one and one.state for one in states] == [State.OPENS, State.OPEN, State.OVER]
    assert states[2] is not None
    assert (states[2].opens_on or days[0]).year == 2028


def test_poisonous_kinds_and_hot_water_come_with_their_cautions(garden: Garden) -> None:
    told = {one: " ".join(c.text for c in ask(garden, one).cautions) for one in (
        "foxglove", "cabbage", "parsnip", "squash-pepo", "sweet-pea",
    )}  # fmt: skip
    assert "poisonous" in told["foxglove"]
    assert "52 C 30 min" in told["cabbage"]
    assert "52 C 30 min" not in told["parsnip"]
    assert "sap" in told["parsnip"]
    assert "cucurbitacins" in told["squash-pepo"]
    assert "edible pea" in told["sweet-pea"]


def test_signs_of_ripe_seed_carry_their_sources(garden: Garden) -> None:
    answer = ask(garden, "tomato")
    assert any("ferment" in one.text for one in answer.harvest)
    assert any("days after flowering" in one.text for one in answer.harvest)
    assert all(one.source.text for one in [*answer.harvest, *answer.drying])
    assert answer.sources
