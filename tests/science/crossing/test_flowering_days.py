"""Flowering windows against days counted one by one."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seedbank.common.catalogue import text_of
from seedbank.common.local_format import Local
from seedbank.science.crossing.flowering_days import (
    WHOLE_YEAR,
    YEAR_DAYS,
    DayWindow,
    cut_before,
    gap_days,
    shared_windows,
    windows_found,
)

windows = st.builds(DayWindow, st.integers(1, YEAR_DAYS), st.integers(1, YEAR_DAYS))


def _days(window: DayWindow) -> set[int]:
    found, day = {window.from_day}, window.from_day
    while day != window.to_day:
        day = day % YEAR_DAYS + 1
        found.add(day)
    return found


@settings(max_examples=500, deadline=None)
@given(windows, windows)
def test_shared_windows_hold_exactly_the_days_both_flower(first, second):
    together = _days(first) & _days(second)
    found = shared_windows(first, second)
    listed = [day for window in found for day in _days(window)]
    assert sorted(listed) == sorted(together)
    assert len(found) <= 2
    assert first.days == len(_days(first))


@settings(max_examples=300, deadline=None)
@given(windows, windows)
def test_the_gap_is_the_fewest_flowerless_days_from_one_to_the_other(first, second):
    def walk(a: DayWindow, b: DayWindow) -> int:
        day, steps = a.to_day, 0
        while (day := day % YEAR_DAYS + 1) != b.from_day:
            steps += 1
        return steps

    together = _days(first) & _days(second)
    expected = 0 if together else min(walk(first, second), walk(second, first))
    assert gap_days(first, second) == expected


def test_windows_that_meet_on_one_day_share_one_day_and_neighbours_share_none():
    assert shared_windows(DayWindow(100, 120), DayWindow(120, 140)) == (DayWindow(120, 120),)
    assert shared_windows(DayWindow(100, 120), DayWindow(121, 140)) == ()
    assert gap_days(DayWindow(100, 120), DayWindow(121, 140)) == 0
    assert gap_days(DayWindow(121, 140), DayWindow(100, 118)) == 2


def test_a_window_over_new_year_meets_both_ends_of_the_year():
    assert shared_windows(DayWindow(350, 20), DayWindow(10, 360)) == (
        DayWindow(350, 360),
        DayWindow(10, 20),
    )
    assert shared_windows(WHOLE_YEAR, DayWindow(350, 20)) == (DayWindow(350, 20),)
    assert shared_windows(WHOLE_YEAR, WHOLE_YEAR) == (WHOLE_YEAR,)


def test_a_window_round_the_whole_year_begins_nowhere_wherever_it_is_said_to_begin():
    for start in range(1, YEAR_DAYS + 1):
        assert DayWindow(start, (start - 2) % YEAR_DAYS + 1) == WHOLE_YEAR
    # 31 December is day 365 of most years
    assert DayWindow(1, 365) == WHOLE_YEAR
    assert shared_windows(DayWindow(2, 1), DayWindow(100, 99)) == (WHOLE_YEAR,)
    assert shared_windows(DayWindow(2, 1), DayWindow(5, 3)) == (DayWindow(5, 3),)


def test_a_cut_leaves_the_days_before_it_and_nothing_of_what_had_not_begun():
    assert cut_before(DayWindow(100, 120), 110) == DayWindow(100, 109)
    assert cut_before(DayWindow(100, 120), 100) is None
    assert cut_before(DayWindow(350, 20), 5) == DayWindow(350, 4)
    assert cut_before(DayWindow(350, 20), 1) == DayWindow(350, 366)
    for day in (99, 121):  # outside it: all or nothing can't be told from a day of the year
        with pytest.raises(ValueError, match="in flower"):
            cut_before(DayWindow(100, 120), day)
    assert cut_before(WHOLE_YEAR, 100) == DayWindow(1, 99)
    assert cut_before(WHOLE_YEAR, 1) is None


@pytest.mark.parametrize("day", [0, 367, -1])
def test_a_day_outside_the_year_is_refused(day):
    with pytest.raises(ValueError, match="366"):
        DayWindow(day, 100)
    if day < 1:
        return
    with pytest.raises(ValueError, match="366"):
        DayWindow(100, day)


def test_days_are_told_as_the_calendar_of_a_year_without_29_february():
    for number in range(1, 366):
        day = date(2023, 1, 1) + timedelta(days=number - 1)
        told = text_of(windows_found([DayWindow(number, number)]), Local(dates="en-US"))
        assert told == f"{day:%b} {day.day} to {day:%b} {day.day}"
    assert text_of(windows_found([DayWindow(366, 366)])) == "31 Dec to 31 Dec"
    assert text_of(windows_found((DayWindow(166, 184), DayWindow(200, 201)))) == (
        "15 Jun to 3 Jul and 19 Jul to 20 Jul"
    )
