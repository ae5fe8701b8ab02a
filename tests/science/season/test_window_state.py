"""How a window stands on a day."""

from datetime import date

import pytest

from seedbank.science.season.sowing_windows import ALL_YEAR, Span
from seedbank.science.season.window_state import State, day_number, window_state

SPRING, AUTUMN = Span(102, 154), Span(305, 334)  # 12 April to 3 June, November


@pytest.mark.parametrize(
    ("on", "state", "until", "opens"),
    [
        ("2027-04-11", State.OPENS, None, "2027-04-12"),
        ("2027-04-12", State.OPEN, "2027-06-03", None),
        ("2027-06-03", State.OPEN, "2027-06-03", None),
        ("2027-06-04", State.OVER, None, "2028-04-12"),
        ("2028-02-29", State.OPENS, None, "2028-04-12"),
        ("2027-12-31", State.OVER, None, "2028-04-12"),
    ],
)
def test_before_in_and_after_a_window(
    on: str, state: State, until: str | None, opens: str | None
) -> None:
    found = window_state([SPRING], date.fromisoformat(on), year_from=1)
    assert found.state is state
    assert found.until == (until and date.fromisoformat(until))
    assert found.opens_on == (opens and date.fromisoformat(opens))


def test_a_second_window_of_the_year_opens_yet() -> None:
    found = window_state([SPRING, AUTUMN], date(2027, 7, 1))
    assert (found.state, found.opens_on) == (State.OPENS, date(2027, 11, 1))


def test_new_year_inside_a_window() -> None:
    south = Span(335, 40)  # 1 December to 9 February
    assert window_state([south], date(2027, 12, 20), year_from=200).until == date(2028, 2, 9)
    assert window_state([south], date(2028, 1, 20), year_from=200).until == date(2028, 2, 9)
    assert window_state([south], date(2028, 3, 1), year_from=200).state is State.OVER
    assert window_state([south], date(2028, 8, 1), year_from=200).state is State.OPENS


def test_all_the_year_and_never() -> None:
    assert window_state([ALL_YEAR], date(2027, 1, 1)).until is None
    assert window_state([ALL_YEAR], date(2027, 1, 1)).state is State.OPEN
    assert window_state([], date(2027, 1, 1)).state is State.NEVER


def test_every_day_of_a_leap_year_has_its_number() -> None:
    assert (day_number(date(2028, 2, 29)), day_number(date(2028, 3, 1))) == (59, 60)
    assert day_number(date(2028, 12, 31)) == 365
