"""A year from monthly means, soil under it, and readings of one's own."""

from datetime import date, timedelta

import numpy as np
import pytest

from seedbank.science.season.climate import (
    MID_MONTH,
    MONTH_DAYS,
    YEAR,
    air_c,
    coldest_day,
    fit_climate,
    frost_span,
    is_southern,
    soil_c,
)
from seedbank.science.season.readings import DayRead, climate_from_readings
from tests.science.season.gardens import EVERYWHERE, GARDENS


def test_a_pure_sine_comes_back_from_its_months() -> None:
    angle = 2 * np.pi * (np.array(MID_MONTH) - 20.0) / YEAR
    climate = fit_climate((10.0 - 8.0 * np.cos(angle)).tolist())
    days = np.arange(YEAR) + 0.5
    wanted = 10.0 - 8.0 * np.cos(2 * np.pi * (days - 20.0) / YEAR)
    assert np.abs(air_c(climate) - wanted).max() < 1e-9


@pytest.mark.parametrize("name", sorted(GARDENS))
def test_the_fit_meets_the_monthly_means_within_half_a_degree(name: str) -> None:
    # The day's curve averaged over each month, against the harmonics at its middle.
    climate = GARDENS[name]
    ends = np.cumsum(MONTH_DAYS)
    means = [air_c(climate)[end - n : end].mean() for end, n in zip(ends, MONTH_DAYS, strict=True)]
    middles = np.interp(MID_MONTH, np.arange(YEAR) + 0.5, air_c(climate))
    assert np.abs(np.array(means) - middles).max() < 0.5


@pytest.mark.parametrize("name", sorted(GARDENS))
def test_deeper_soil_lags_and_swings_less(name: str) -> None:
    climate = GARDENS[name]
    swings, lags = [], []
    for depth in (0.0, 0.1, 0.3, 1.0, 2.0):
        soil = soil_c(climate, depth)
        swings.append(soil.max() - soil.min())
        lags.append((int(np.argmin(soil)) - coldest_day(climate) + 30) % YEAR)
    assert swings == sorted(swings, reverse=True)
    assert lags == sorted(lags)
    assert lags[-1] > lags[0] + 20


def test_the_years_wave_dies_to_a_third_at_the_printed_damping_depth() -> None:
    # A year's damping depth at 0.5e-6 m2/s is sqrt(2 k / w) = 2.24 m (Hillel 1982).
    climate = fit_climate((10.0 - 8.0 * np.cos(2 * np.pi * np.array(MID_MONTH) / YEAR)).tolist())
    soil = soil_c(climate, 2.24) - soil_c(fit_climate([0.0] * 12), 2.24)
    assert (soil.max() - soil.min()) / 16.0 == pytest.approx(np.exp(-1.0), abs=0.02)


def test_own_soil_readings_move_every_day_alike() -> None:
    months = [5.0, 5.0, 7.0, 9.0, 12.0, 15.0, 17.0, 17.0, 14.0, 11.0, 7.0, 5.0]
    apart = soil_c(fit_climate(months, soil_shift_c=1.5), 0.05) - soil_c(fit_climate(months), 0.05)
    assert np.allclose(apart, 1.5)


def test_the_south_is_known_by_its_warm_january() -> None:
    assert {name: is_southern(one) for name, one in EVERYWHERE.items()} == {
        name: "south" in name for name in EVERYWHERE
    }


def test_frost_nobody_told_of_is_taken_from_ten_degrees() -> None:
    mild = fit_climate([12.0, 12.5, 14, 16, 18, 21, 23, 23, 21, 18, 15, 12.5])
    never = fit_climate([-3.0, -2, 0, 2, 4, 6, 8, 7, 5, 2, 0, -2])
    temperate = fit_climate([4.0, 4, 6, 9, 12, 15, 17, 17, 14, 11, 7, 5])
    assert frost_span(mild) is None
    last, first = frost_span(never) or (0, 1)
    assert last == first
    last, first = frost_span(temperate) or (0, 0)
    air = np.roll(air_c(temperate), -coldest_day(temperate))
    assert air[last] >= 10.0 > air[last - 1]
    assert air[first - 1] >= 10.0 > air[first]


def _year_of(year: int, low: float = 10.0, *, southern: bool = False) -> list[DayRead]:
    found = []
    for n in range(365):
        wave = np.cos(2 * np.pi * (n - 15) / 365) * (1 if southern else -1)
        mean = 10.0 + low * wave
        found.append(DayRead(date(year, 1, 1) + timedelta(n), mean, mean - 5.0))
    return found


def test_readings_give_months_and_frost_dates() -> None:
    read = climate_from_readings([one for y in range(2020, 2026) for one in _year_of(y)])
    assert read.monthly_c[6] == pytest.approx(20.0, abs=0.2)
    # The minimum is 0 °C where the mean is 5: cos = 1/2, a sixth of a year from mid-January.
    assert read.last_frost == pytest.approx(16 + 365 / 6, abs=2)
    assert read.first_frost == pytest.approx(16 + 365 * 5 / 6, abs=2)
    assert (read.days, read.years) == (6 * 365, 6)


def test_a_month_counts_from_twenty_days_on() -> None:
    days = [DayRead(date(2025, 5, d), 12.0) for d in range(1, 21)]
    assert climate_from_readings(days).monthly_c[4] == 12.0
    assert climate_from_readings(days[:19]).monthly_c[4] is None


def test_southern_readings_have_their_frost_in_the_southern_winter() -> None:
    read = climate_from_readings(
        [one for y in range(2020, 2026) for one in _year_of(y, southern=True)]
    )
    assert read.last_frost == pytest.approx((16 + 182 + 365 / 6), abs=3)
    assert read.first_frost == pytest.approx((16 + 182 + 365 * 5 / 6) % 365, abs=3)


def test_four_springs_of_five_are_frost_free_after_the_last_frost_told() -> None:
    # Five springs with their last frost on days 90, 95, 100, 105 and 110 of the year.
    readings = []
    for year, last in zip(range(2020, 2025), (90, 95, 100, 105, 110), strict=True):
        for n in range(365):
            on = date(year, 1, 1) + timedelta(n)
            cold = n + 1 <= last or n > 300
            readings.append(DayRead(on, 2.0 if cold else 14.0, -1.0 if cold else 5.0))
    read = climate_from_readings(readings)
    assert read.last_frost == pytest.approx(106, abs=1)
