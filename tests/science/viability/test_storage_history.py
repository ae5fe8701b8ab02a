import numpy as np
import pytest
from scipy.integrate import quad

from seedbank.science.viability.decline import (
    DAYS_PER_YEAR,
    Isotherm,
    ViabilityConstants,
    YearlyConditions,
    sigma_days,
    yearly_dose,
)
from seedbank.science.viability.storage_history import StorageHistory, storage_history

ONION = ViabilityConstants(6.975, 3.470, 0.040, 0.000428)
PLACES = [
    YearlyConditions(2.0, 26.0, 80.0, 55.0),
    YearlyConditions(18.0, 22.0, 50.0, 50.0),
    YearlyConditions(4.0, 4.0, 40.0, 40.0, sealed=True, seed_moisture_pct=6.0),
]
TABLE = np.stack([yearly_dose(ONION, Isotherm(0.22), place) for place in PLACES])


def _history() -> StorageHistory:
    # lot 0: shed, then house, then jar; lot 1: jar all along; lot 2: house, then shed
    lot = np.array([2, 0, 0, 1, 0, 2])
    start = np.array([9000.0, 8000.0, 9500.0, 8200.0, 8400.0, 9100.0])
    row = np.array([1, 0, 2, 2, 1, 0])
    return storage_history(lot, start, row, TABLE)


def _rate(place: YearlyConditions, day: float) -> float:
    swing = np.cos(2 * np.pi * (day - 20) / DAYS_PER_YEAR)
    half = 0.5 * (place.temp_winter_c - place.temp_summer_c)
    temp = np.array([0.5 * (place.temp_winter_c + place.temp_summer_c) + half * swing])
    faster = 1.0
    if place.seed_moisture_pct is not None:
        moisture = np.array([place.seed_moisture_pct])
    else:
        half = 0.5 * (place.rh_winter_pct - place.rh_summer_pct)
        rh = 0.5 * (place.rh_winter_pct + place.rh_summer_pct) + half * swing
        moisture = Isotherm(0.22).moisture_pct(np.array([rh]), temp)
        # Faster where damp (66 to 78 %) and warm (10 to 26.7 C): e^0.8 at most.
        damp, warm = min(max(rh - 66, 0) / 12, 1), min(max(temp[0] - 10, 0) / 16.7, 1)
        faster = float(np.exp(0.8 * damp * warm))
    return float(faster / sigma_days(ONION, moisture, temp)[0])


def _integral(place: YearlyConditions, start: float, end: float) -> float:
    total, step = 0.0, 120.0
    while start < end:
        stop = min(start + step, end)
        part, _ = quad(lambda day: _rate(place, day), start, stop, epsabs=1e-12)
        total, start = total + part, stop
    return total


def test_a_dose_is_the_sum_of_the_stays_integrated_one_by_one() -> None:
    got = _history().dose_at(np.array([0, 0, 0, 2]), np.array([8200.0, 9000.0, 9900.0, 9700.0]))
    shed, house, jar = PLACES
    expected = [
        _integral(shed, 8000, 8200),
        _integral(shed, 8000, 8400) + _integral(house, 8400, 9000),
        _integral(shed, 8000, 8400) + _integral(house, 8400, 9500) + _integral(jar, 9500, 9900),
        _integral(house, 9000, 9100) + _integral(shed, 9100, 9700),
    ]
    assert got == pytest.approx(expected, rel=2e-4)


def test_no_dose_is_taken_up_before_the_history_begins() -> None:
    assert _history().dose_at(np.array([0, 1]), np.array([7000.0, 8200.0])).tolist() == [0.0, 0.0]


def test_dose_never_falls_with_time() -> None:
    days = np.arange(7900.0, 10500.0, 7.0)
    for lot in range(3):
        dose = _history().dose_at(np.full(days.size, lot), days)
        assert np.all(np.diff(dose) >= 0)


def test_the_day_of_a_dose_is_the_day_it_is_reached() -> None:
    history = _history()
    lots = np.arange(3)
    goal = history.dose_at(lots, np.full(3, 9800.0)) + np.array([0.02, 0.01, 0.3])
    day = history.day_of_dose(goal)
    assert history.dose_at(lots, day) == pytest.approx(goal, rel=1e-6)


def test_a_lot_without_a_stay_is_named() -> None:
    with pytest.raises(ValueError, match="lot 1 has no stay"):
        storage_history(np.array([0, 2]), np.zeros(2), np.zeros(2, dtype=np.int64), TABLE)


def test_a_dose_reached_in_an_earlier_stay_gives_the_day_it_was_reached() -> None:
    history = _history()
    lots = np.arange(3)
    for day in (8350.0, 9000.0, 9490.0):
        goal = history.dose_at(lots, np.full(3, day))
        begun = history.start_day[history.first]
        expected = np.where(goal > 0, day, begun)
        assert history.day_of_dose(goal) == pytest.approx(expected, abs=0.01)


def test_lots_that_age_twice_as_fast_take_up_twice_the_dose_of_every_day() -> None:
    lot, start = np.array([0, 1, 1]), np.array([0.0, 10.0, 400.0])
    table = np.vstack([np.linspace(0.0, 1.0, 367), np.linspace(0.0, 3.0, 367)])
    history = storage_history(lot, start, np.array([0, 0, 1]), table)
    hastened = history.hastened(np.array([False, True]), 2.0)
    both, days = np.array([0, 1]), np.array([700.0, 700.0])
    assert hastened.dose_at(both, days) == pytest.approx([1.0, 2.0] * history.dose_at(both, days))
    dose = history.dose_at(both, days)
    assert hastened.day_of_dose(dose * [1.0, 2.0]) == pytest.approx(days)
    assert history.hastened(np.array([False, False]), 2.0) is history
