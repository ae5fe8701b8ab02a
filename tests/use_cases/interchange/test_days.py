"""Days and years as people write them."""

from datetime import date

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from seedbank.common.catalogue import text_of
from seedbank.interchange.spreadsheet.answers import DayOrder, Sure
from seedbank.interchange.spreadsheet.days import order_of, read_day, read_harvest

TODAY = date(2027, 2, 20)
W, E, K, A, X = Sure.WRITTEN, Sure.ESTIMATED, Sure.KEPT, Sure.ASKED, Sure.WRONG


@pytest.mark.parametrize(
    ("text", "year", "sure"),
    [
        ("2019", 2019, W), ("'19", 2019, W), ("’98", 1998, W), ("'27", 2027, W), ("'28", 1928, W),
        ("spring 2018", 2018, W), ("Sept 2020", 2020, W), ("harvest 2020", 2020, W),
        ("2019?", 2019, E), ("2019 (?)", 2019, E), ("~2016", 2016, E), ("spring 2018?", 2018, E),
        ("2018-2019", 2018, E), ("2018/19", 2018, E), ("2017 or 2018", 2017, E),
        ("before 2015", 2014, E), ("2015 or earlier", 2015, E), ("packed 2019", 2019, E),
        ("25/12/2018", 2018, W), ("12 Mar 2019", 2019, W), ("2019-03-12 00:00:00", 2019, W),
        ("sow by 2021", 2020, E), ("best before 12/2022", 2021, E), ("use by 2031", 2026, E),
        ("sow by", None, K), ("?", None, K), ("old", None, K), ("19", None, K),
        ("2031", None, X), ("1850", None, X), ("31/2/2019", None, X), ("12/3/2019", None, A),
    ],
)  # fmt: skip
def test_a_harvest_is_a_year_and_in_doubt_where_it_says_so(
    text: str, year: int | None, sure: Sure
) -> None:
    read = read_harvest(text, None, TODAY)
    assert (read.year, read.sure) == (year, sure)


def test_seed_to_be_used_by_a_year_is_as_young_as_that_and_its_coming_allow() -> None:
    came = date(2017, 5, 1)
    assert read_harvest("sow by 2019", None, TODAY, came).year == 2016  # before that autumn
    assert read_harvest("sow by 2019", None, TODAY, date(2017, 11, 1)).year == 2017
    read = read_harvest("sow by 2019", None, TODAY)
    assert text_of(read.said) == "2018, the latest that seed to be used by 2019 can be"


@pytest.mark.parametrize(
    ("text", "day", "sure"),
    [
        ("2019-03-12", date(2019, 3, 12), W), ("12.3.19", date(2019, 3, 12), W),
        ("12/3/2019", date(2019, 3, 12), W), ("12th of March 2019", date(2019, 3, 12), W),
        ("March 12, 2019", date(2019, 3, 12), W), ("12-Mar-19", date(2019, 3, 12), W),
        ("12/3/2019?", date(2019, 3, 12), E), ("March 2019", date(2019, 3, 15), E),
        ("spring 2018", date(2018, 4, 15), E), ("2018", date(2018, 7, 1), E),
        ("2027", TODAY, E), ("Feb 2027", date(2027, 2, 15), E), ("21/2/2027", None, X),
        ("", None, K), ("last year", None, K),
    ],
)  # fmt: skip
def test_a_day_is_read_and_its_middle_taken_where_only_a_month_or_year_stands(
    text: str, day: date | None, sure: Sure
) -> None:
    read = read_day(text, DayOrder.DAY_FIRST, TODAY)
    assert (read.day, read.sure) == (day, sure)


def test_one_cell_settles_the_order_of_a_whole_column() -> None:
    read = order_of([(2, "12/3/2019"), (3, "2018"), (4, "25/12/2018")])
    assert read.order is DayOrder.DAY_FIRST
    assert read.said is not None
    assert "“25/12/2018” on line 4" in text_of(read.said)
    assert order_of([(2, "12/3/2019"), (3, "3/25/18")]).order is DayOrder.MONTH_FIRST


def test_a_column_that_does_not_tell_or_tells_both_is_asked_about() -> None:
    open_to_both = order_of([(2, "12/3/2019"), (3, "4/4/2019")])
    assert (open_to_both.order, open_to_both.asks) == (None, True)
    both = order_of([(2, "13/3/2019"), (3, "3/13/2019")])
    assert (both.order, both.asks) == (None, True)
    assert both.said is not None
    assert "“13/3/2019” on line 2 and “3/13/2019” on line 3" in text_of(both.said)
    assert order_of([(2, "4/4/2019"), (3, "2019-03-12")]).asks is False


@pytest.mark.parametrize("order", DayOrder)
def test_the_order_decides_what_may_be_either(order: DayOrder) -> None:
    month = 3 if order is DayOrder.DAY_FIRST else 12
    assert read_day("12/3/2019", order, TODAY).day == date(2019, month, 15 - month)


_PIECES = st.sampled_from(
    ["12", "/", "3", "2019", "'19", "?", "~", "spring", "Mar", "-", ".", " ", "0000", "before",
     "99", "or earlier", "13", "31", "feb", "c.", "\u202e", "٣"]
)  # fmt: skip
_TEXTS = st.text(max_size=30) | st.lists(_PIECES, max_size=7).map("".join)


@given(
    _TEXTS, st.none() | st.sampled_from(DayOrder), st.dates(date(1950, 1, 1), date(2199, 12, 31))
)
@example("mar 0000", None, TODAY)
@example("99/99/9999", None, TODAY)
@example("winter 1900", None, date(1950, 1, 1))
def test_whatever_is_written_gives_a_day_that_has_been_or_none(
    text: str, order: DayOrder | None, today: date
) -> None:
    assert order_of([(2, text)]).order in (None, *DayOrder)
    for read in (read_day(text, order, today), read_harvest(text, order, today)):
        assert text_of(read.said)
        assert read.day is None or date(1900, 1, 1) <= read.day <= today
        if read.sure in (K, A, X):
            assert read.day is None
    harvest = read_harvest(text, order, today)
    assert harvest.year is None or 1900 <= harvest.year <= today.year
    assert (harvest.year is not None) == (harvest.sure in (W, E))
