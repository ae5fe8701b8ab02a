"""Dates and sizes as their reader writes them, and what is typed kept in metric units.

Conversions: NIST Special Publication 811 (2008), appendix B.8: 1 ft = 0.3048 m, 1 in = 2.54 cm,
1 oz (avoirdupois) = 28.34952 g, °F = 1.8 °C + 32.
"""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seedbank.common.local_format import Local, local_from
from seedbank.settings import Units

METRIC, US = Local(), Local(Units.US, "en-US")


@pytest.mark.parametrize(
    ("reader", "shown"),
    [
        (METRIC, ["3.05 m", "3 cm", "28.3 g", "12 °C", "1.2 m²", "94 a metre"]),
        (US, ["10 ft", "0.98 in", "1 oz", "54 °F", "12.9 sq ft", "29 a foot"]),
    ],
    ids=["metric", "us"],
)
def test_sizes_are_written_as_the_reader_measures(reader: Local, shown: list[str]) -> None:
    assert [
        reader.size("m", 3.048),
        reader.size("cm", 2.5),
        reader.size("g", 28.349523125),
        reader.size("c", 12),
        reader.size("m2", 1.2),
        reader.size("per_m", 94),
    ] == shown


@pytest.mark.parametrize(
    ("dates", "shown"),
    [("en-GB", "20 Feb 2027"), ("en-US", "Feb 20, 2027"), ("iso", "2027-02-20")],
)
def test_dates_are_written_as_the_reader_writes_them(dates: str, shown: str) -> None:
    local = Local(dates=dates)
    assert local.day(date(2027, 2, 20)) == shown
    assert local.day(None) == "–"
    assert local.number(1234567.8, 1) == "1,234,567.8"


@pytest.mark.parametrize(
    ("field", "typed", "kept"),
    [
        ("row_m", 10.0, 3.048),
        ("row_spacing_cm", 12.0, 30.48),
        ("depth_mm", 1.0, 25.4),
        ("bed_m2", 10.0, 0.9290304),
        ("amount.grams", 1.0, 28.349523125),
        ("thousand_seed_weight_g", 1.0, 28.349523125),
        ("soil_temp_c", 50.0, 10.0),
        ("plants", 30.0, 30.0),
    ],
)
def test_what_is_typed_in_us_units_is_kept_in_metric(field: str, typed: float, kept: float) -> None:
    assert US.kept(field, typed) == pytest.approx(kept, rel=1e-12)
    assert METRIC.kept(field, typed) == typed
    assert float(US.shown(field, kept)) == pytest.approx(typed, rel=1e-3)


@given(
    field=st.sampled_from(["row_m", "depth_cm", "grams", "soil_temp_c", "bed_m2", "seeds"]),
    value=st.floats(0.01, 900),
    units=st.sampled_from(Units),
)
def test_a_figure_shown_and_sent_back_unchanged_stays_as_it_was(
    field: str, value: float, units: Units
) -> None:
    local = Local(units)
    again = local.kept(field, float(local.shown(field, value)))
    assert again == pytest.approx(value, rel=1e-3, abs=0.02)


@pytest.mark.parametrize(
    ("cookies", "languages", "found"),
    [
        ({}, "", ("metric", "en-GB")),
        ({}, "en-US,en;q=0.9", ("metric", "en-US")),
        ({}, "de-DE, en-US;q=0.5", ("metric", "en-GB")),
        ({"seedbank_units": "us", "seedbank_dates": "iso"}, "en-US", ("us", "iso")),
        ({"seedbank_units": "<b>", "seedbank_dates": "../etc"}, "", ("metric", "en-GB")),
    ],
)
def test_a_reader_is_known_by_their_browser(
    cookies: dict[str, str], languages: str, found: tuple[str, str]
) -> None:
    local = local_from(cookies, languages, Units.METRIC)
    assert (local.units.value, local.dates) == found


def test_the_service_may_start_in_feet_and_ounces() -> None:
    assert local_from({}, "", Units.US).size("m", 3.048) == "10 ft"
