"""Days to come up: fitted to a trial, and added up over a warming spring."""

import csv
from collections import defaultdict
from importlib import resources

import numpy as np
import pytest

from seedbank.science.season.climate import YEAR
from seedbank.science.season.thermal_time import (
    NEVER,
    ThermalTime,
    day_warmth,
    days_to_emergence,
    fit_thermal_time,
)


def _trials() -> dict[str, list[tuple[float, float]]]:
    text = resources.files("seedbank.facts").joinpath(
        "tables", "days_to_emergence_by_temperature.csv"
    )
    found: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for row in csv.DictReader(text.read_text("utf-8").splitlines()):
        if row["days"] and row["result"] == "emerged":
            found[row["kind"]].append((float(row["soil_temp_c"]), float(row["days"])))
    return found


@pytest.mark.parametrize(
    ("kind", "base", "total"), [("carrot", 2.5, 128), ("onion", -0.9, 135), ("cucumber", 10.6, 57)]
)
def test_the_base_and_sum_worked_out_before_come_back(kind: str, base: float, total: float) -> None:
    need = fit_thermal_time(*zip(*_trials()[kind], strict=True))
    assert need is not None
    assert need.base_c == pytest.approx(base, abs=0.15)
    assert need.sum_c_d == pytest.approx(total, abs=1.5)


def test_printed_days_come_back_between_ten_degrees_and_the_fastest() -> None:
    off = []
    for rows in _trials().values():
        need = fit_thermal_time(*zip(*rows, strict=True))
        fastest = min(rows, key=lambda row: row[1])[0]
        for temp, days in rows:
            if need is not None and 10 <= temp <= fastest:
                off.append(abs(need.sum_c_d / (temp - need.base_c) - days) / days)
    print(f"{len(off)} printed rows: median off by {np.median(off):.0%}")
    assert np.mean(np.array(off) <= 0.35) >= 0.9


def test_exact_rates_come_back_exactly() -> None:
    temp = [5.0, 10.0, 15.0, 20.0]
    need = fit_thermal_time(temp, [120 / (t - 2) for t in temp])
    assert need is not None
    assert (need.base_c, need.sum_c_d) == (pytest.approx(2.0), pytest.approx(120.0))


def test_too_few_rows_fit_nothing() -> None:
    assert fit_thermal_time([10.0, 20.0], [12.0, 6.0]) is None
    assert fit_thermal_time([10.0, 15.0, 20.0], [6.0, 9.0, 12.0]) is None


def test_a_days_warmth_is_its_mean_over_the_day() -> None:
    hours = np.linspace(0, 2 * np.pi, 100_001)
    for mean in (-1.0, 2.0, 5.0, 6.9, 7.1, 12.0):
        counted = np.maximum(mean + 3.0 * np.sin(hours) - 4.0, 0.0)[:-1].mean()
        assert float(day_warmth(np.array([mean]), 4.0)[0]) == pytest.approx(counted, abs=1e-4)


def test_days_are_counted_one_by_one() -> None:
    soil = 8.0 - 6.0 * np.cos(2 * np.pi * np.arange(YEAR) / YEAR)
    need = ThermalTime(3.0, 100.0)
    days, a_day = days_to_emergence(soil, need), day_warmth(soil, 3.0)
    for start in (0, 60, 120, 300, 364):
        total, n = 0.0, 0
        while total < 100.0:
            total += a_day[(start + n) % YEAR]
            n += 1
        assert n - 1 <= days[start] <= n


def test_soil_never_warm_enough_never_brings_it_up() -> None:
    assert (days_to_emergence(np.full(YEAR, -2.0), ThermalTime(4.0, 100.0)) == NEVER).all()
