"""Climates told and read."""

from datetime import date, timedelta

import numpy as np
import pytest

from seedbank.climate.forms import ClimateStated, ReadingsSent
from seedbank.climate.state_climate import read_climate, show_climate, state_climate
from seedbank.common.errors import Refused, StaleVersion
from seedbank.saving.edit_sites import add_site, delete_site
from seedbank.saving.forms import SiteCreate
from tests.use_cases.conftest import Garden


def readings(years: int = 2, *, soil: bool = False) -> str:
    lines = ["date,min_c,max_c,soil_c,soil_depth_cm"]
    for n in range(365 * years):
        on = date(2024, 1, 1) + timedelta(n)
        mean = 10.0 - 8.0 * np.cos(2 * np.pi * (on.timetuple().tm_yday - 15) / 365.25)
        warm = f"{mean + 2.0:.2f},0" if soil and n % 10 == 0 else ","
        lines.append(f"{on},{mean - 4:.2f},{mean + 4:.2f},{warm}")
    return "\n".join(lines)


def test_nothing_told_is_told_as_nothing(garden: Garden) -> None:
    answer = show_climate(garden.session)
    assert (answer.known.value, answer.own, answer.version) == ("nothing", False, 1)
    assert "weeks from the last frost" in answer.remarks[0].text


def test_what_is_told_is_kept_whole_and_stale_editors_are_refused(garden: Garden) -> None:
    form = ClimateStated(monthly_c=[10.0] * 12, source="the parish almanac")
    first = state_climate(garden.session, form, site_id=None, expected={1})
    assert (first.monthly_c, first.source, first.version) == ([10.0] * 12, form.source, 2)
    with pytest.raises(StaleVersion):
        state_climate(garden.session, form, site_id=None, expected={1})
    again = state_climate(
        garden.session, ClimateStated(last_frost_day=120), site_id=None, expected={2}
    )
    assert (again.monthly_c, again.known.value) == (None, "frost-dates")


def test_frost_nobody_told_of_is_said_to_be_reckoned(garden: Garden) -> None:
    months = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]
    answer = state_climate(
        garden.session, ClimateStated(monthly_c=months), site_id=None, expected=None
    )
    assert [one.code for one in answer.remarks] == ["climate-known", "frost-reckoned"]


def test_daily_readings_make_a_climate(garden: Garden) -> None:
    sent = ReadingsSent(csv=readings(), source="shed thermometer")
    answer = read_climate(garden.session, sent, site_id=None, expected=None)
    assert answer.monthly_c is not None
    assert answer.monthly_c[6] == pytest.approx(18.0, abs=0.2)
    assert answer.last_frost_day == pytest.approx(15 + 365 / 8 - 4, abs=20)
    assert answer.source == "shed thermometer"
    assert answer.soil_shift_c == 0.0


def test_own_soil_readings_shift_the_soil(garden: Garden) -> None:
    sent = ReadingsSent(csv=readings(soil=True))
    answer = read_climate(garden.session, sent, site_id=None, expected=None)
    # Two degrees over the air, less the mean of the sun's 0.8 cos over half a year: 0.25.
    assert answer.soil_shift_c == pytest.approx(2.0 - 0.8 / np.pi, abs=0.1)


def test_months_not_read_are_asked_for_unless_they_were_told(garden: Garden) -> None:
    spring = "date,mean_c\n" + "\n".join(f"2026-04-{d:02},11.5" for d in range(1, 21))
    with pytest.raises(Refused, match="11 months"):
        read_climate(garden.session, ReadingsSent(csv=spring), site_id=None, expected=None)
    state_climate(garden.session, ClimateStated(monthly_c=[8.0] * 12), site_id=None, expected=None)
    answer = read_climate(garden.session, ReadingsSent(csv=spring), site_id=None, expected=None)
    assert answer.monthly_c == [8.0, 8.0, 8.0, 11.5, *[8.0] * 8]


@pytest.mark.parametrize(
    ("csv", "line"),
    [("date,mean_c\n2026-04-01,warm", "2"), ("date,mean_c\n2026-04-01,9\n1 April,9", "3")],
)
def test_a_line_that_cannot_be_read_is_named(garden: Garden, csv: str, line: str) -> None:
    with pytest.raises(Refused, match=f"Line {line}"):
        read_climate(garden.session, ReadingsSent(csv=csv), site_id=None, expected=None)
    with pytest.raises(Refused, match="no reading"):
        read_climate(garden.session, ReadingsSent(csv="date\n"), site_id=None, expected=None)


def test_a_climate_goes_with_its_site(garden: Garden) -> None:
    site = add_site(garden.session, SiteCreate(name="Up the hill"))
    form = ClimateStated(last_frost_day=140)
    told = state_climate(garden.session, form, site_id=site.id, expected=None)
    assert (told.own, told.site_id) == (True, site.id)
    assert show_climate(garden.session).known.value == "nothing"
    delete_site(garden.session, site.id, expected=None)
    assert show_climate(garden.session, site.id).own is False
