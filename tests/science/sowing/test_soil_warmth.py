"""Outside checks: printed rows of Harrington & Minges 1954 (read, in the packaged table)."""

import csv
from importlib import resources

import numpy as np
import pytest
from scipy.optimize import isotonic_regression
from scipy.special import ndtr, ndtri

from seedbank.common.catalogue import text_of
from seedbank.science.sowing.soil_warmth import (
    SHIFT_AT_MINIMUM,
    TemperatureCurve,
    TemperatureRow,
    generic_curve,
    judge_soil,
    rising,
    temperature_curve,
)


def _rows(table: str) -> list[dict[str, str]]:
    text = resources.files("seedbank.facts").joinpath("tables", table).read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))


def printed(kind: str) -> list[TemperatureRow]:
    return [
        TemperatureRow(
            float(row["soil_temp_c"]),
            float(row["days"]) if row["days"] else None,
            float(row["emergence_pct"]) if row["emergence_pct"] else None,
        )
        for row in _rows("days_to_emergence_by_temperature.csv")
        if row["kind"] == kind
    ]


def curve_of(kind: str) -> TemperatureCurve:
    curve = temperature_curve(printed(kind))
    assert curve is not None
    return curve


def test_the_printed_percentage_comes_back_at_a_printed_temperature() -> None:
    # Harrington & Minges 1954: carrot 48 % at 5 C against 96 % at its best; 51 days.
    soil = judge_soil(curve_of("carrot"), 5.0)
    assert float(ndtr(ndtri(0.96) - soil.shift)) == pytest.approx(0.48, abs=1e-9)
    assert soil.days == pytest.approx(51.0)


def test_soil_at_which_nothing_came_is_refused() -> None:
    # Harrington & Minges 1954: cucumber none at 10 C, 95 % at 15 C; lettuce none at 35 C.
    cold, hot = judge_soil(curve_of("cucumber"), 10.0), judge_soil(curve_of("lettuce"), 35.0)
    assert (cold.verdict, cold.share_lost, cold.days) == ("cold", 1.0, None)
    assert hot.verdict == "hot"
    assert "do not sow" in text_of(cold.caution)


def test_the_best_temperature_loses_nothing() -> None:
    soil = judge_soil(curve_of("sweet corn"), 25.0)
    assert (soil.verdict, soil.shift, text_of(soil.caution)) == ("good", 0.0, "")
    assert soil.days == pytest.approx(4.0)


def test_smoothing_leaves_one_optimum() -> None:
    for kind in ("celery", "parsnip", "okra", "spinach"):
        shift = curve_of(kind).shift
        best = int(np.argmin(shift))
        assert np.all(np.diff(shift[: best + 1]) <= 1e-12)
        assert np.all(np.diff(shift[best:]) >= -1e-12)


def test_days_lie_between_the_printed_days() -> None:
    # Harrington & Minges 1954: pea 36 days at 5 C, 14 at 10 C.
    days = judge_soil(curve_of("pea"), 7.5).days
    assert days == pytest.approx(2 / (1 / 36 + 1 / 14))


def test_the_shift_at_the_minimum_is_the_median_of_the_tabled_kinds() -> None:
    shifts = []
    for row in _rows("sowing.csv"):
        rows = printed(row["kind"])
        curve = temperature_curve(rows) if rows and row["soil_min_c"] else None
        if curve is not None and float(row["soil_min_c"]) >= curve.temp_c[0]:
            shifts.append(float(np.interp(float(row["soil_min_c"]), curve.temp_c, curve.shift)))
    assert len(shifts) >= 15
    assert float(np.median(shifts)) == pytest.approx(SHIFT_AT_MINIMUM, abs=0.05)


def test_a_kind_with_only_a_minimum_and_an_optimum_still_gets_an_answer() -> None:
    curve = generic_curve(5.0, 20.0, 30.0)
    assert judge_soil(curve, 20.0).verdict == "good"
    assert judge_soil(curve, 12.5).shift == pytest.approx(SHIFT_AT_MINIMUM / 2)
    assert judge_soil(curve, 4.0).verdict == "cold"
    assert judge_soil(curve, 33.0).verdict == "hot"
    with pytest.raises(ValueError, match="minimum"):
        generic_curve(20.0, 10.0, None)


def test_soil_colder_than_any_tried_is_unknown_unless_the_minimum_is_known() -> None:
    assert judge_soil(curve_of("parsley"), 6.0).verdict == "unknown"
    known = temperature_curve(printed("parsley"), 4.0)
    assert judge_soil(known, 6.0).verdict == "slow"
    assert judge_soil(known, 2.0).verdict == "cold"


def test_without_a_temperature_or_a_table_it_says_what_is_missing() -> None:
    assert "soil temperature" in text_of(judge_soil(curve_of("pea"), None).caution)
    assert judge_soil(None, 12.0).verdict == "unknown"


def test_the_fit_that_never_falls_is_isotonic_regression() -> None:
    rng = np.random.default_rng(4)
    for size in (1, 2, 5, 9):
        values = rng.normal(size=size)
        assert rising(values) == pytest.approx(isotonic_regression(values).x, abs=1e-12)
