"""Short dates: every form two numbers are written in is read the one way it can be, or asked."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seedbank.common.catalogue import text_of
from seedbank.interchange.spreadsheet.answers import DayOrder, Sure
from seedbank.interchange.spreadsheet.days import order_of, read_day, read_harvest

TODAY = date(2027, 2, 20)
W, E, K, A, X = Sure.WRITTEN, Sure.ESTIMATED, Sure.KEPT, Sure.ASKED, Sure.WRONG
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip

# A month of a year: the harvest is of that year, and the day it came is the middle of the month.
MONTH = {
    "2020-09": (2020, 9), "2020/09": (2020, 9), "2020.09": (2020, 9), "2020 09": (2020, 9),
    "2020–09": (2020, 9), "2020 - 09": (2020, 9), "2020−09": (2020, 9), "2020-9": (2020, 9),
    "2012-11": (2012, 11), "2012-12": (2012, 12), "2020-12": (2020, 12), "2019.5": (2019, 5),
    "2018-5": (2018, 5), "2012-01": (2012, 1), "2026-12": (2026, 12), "2027-01": (2027, 1),
    "09/2020": (2020, 9), "9/2020": (2020, 9), "9-2020": (2020, 9), "09.2020": (2020, 9),
    "9 2020": (2020, 9), "12 / 2019": (2019, 12), "11/2012": (2012, 11), "09/'20": (2020, 9),
    "'20-09": (2020, 9), "Sept 2020": (2020, 9), "Sep-2020": (2020, 9), "sep/2020": (2020, 9),
    "Sep '20": (2020, 9), "2020 September": (2020, 9), "2020-Sep": (2020, 9),
    "Sep-98": (1998, 9), "98-Sep": (1998, 9), "Dec 00": (2000, 12),
}  # fmt: skip

# Years from one to another: the earlier is taken, and marked as estimated.
YEARS = {
    "2019/20": 2019, "2019-20": 2019, "2019–20": 2019, "2019 / 20": 2019, "2020-21": 2020,
    "2018-2020": 2018, "2018/2019": 2018, "2018 2019": 2018, "2020-2018": 2018, "2026/27": 2026,
    "2017 or 2018": 2017, "2017 or 18": 2017, "2012 or 11": 2011, "1999 or 00": 1999,
    "2009 to 2010": 2009, "2009 to 10": 2009, "1999/00": 1999, "1999-2000": 1999, "1998/99": 1998,
    "'19/'20": 2019, "'19-20": 2019, "2027/28": 2027,
}  # fmt: skip

# More than one of these, or a day without a year: its writer is asked, and shown what it may be.
ASKED = {
    "2009-10": {"October 2009", "2009 to 2010"}, "2009/10": {"October 2009", "2009 to 2010"},
    "2009–10": {"October 2009", "2009 to 2010"}, "2009 10": {"October 2009", "2009 to 2010"},
    "2011/12": {"December 2011", "2011 to 2012"}, "2005-09": {"September 2005", "2005 to 2009"},
    "1995-06": {"June 1995", "1995 to 2006"}, "'11/12": {"December 2011", "2011 to 2012"},
    "1999-01": {"January 1999", "1999 to 2001"}, "40/50": {"1940 to 1950"},
    "2017/8": {"August 2017", "2017 to 2018"}, "2020-1": {"January 2020", "2020 to 2021"},
    "2020.1": {"January 2020", "October 2020"},
    "11/12": {"November 2012", "December 2011", "2011 to 2012"},
    "11-12": {"November 2012", "December 2011", "2011 to 2012"},
    "05/19": {"May 2019", "2005 to 2019"}, "9/20": {"September 2020"}, "25/12": {"December 2025"},
    "19/20": {"2019 to 2020"}, "98/99": {"1998 to 1999"}, "18-20": {"2018 to 2020"},
    "Sep-20": {"September 2020"}, "Sept 20": {"September 2020"}, "20-Sep": {"September 2020"},
    "19-03-12": {"2012-03-19", "2019-03-12"}, "25-12-18": {"2018-12-25", "2025-12-18"},
    "05-06-07": {"2007-06-05", "2007-05-06", "2005-06-07"},
}  # fmt: skip

# No month, no span of years, or still to come: refused, never taken for a year near by.
WRONG = (
    "2020-13", "2020/13", "2020.13", "2020-19", "2020-00", "13/2020", "00/2020", "2019-18",
    "2027-09", "09/2027", "2027-03", "2028/29", "2028-2030", "2018-2035", "2020-35", "2031",
    "2020-13-01", "2019-02-30", "31/2/2019", "Sep 2027", "2028-01", "1850-09",
)  # fmt: skip

# Not a date as anybody would know it: kept in the notes, and said not to be understood.
KEPT = (
    "19", "202009", "20200912", "1/2", "3.5", "2.50", "1 200", "5000-09", "1980-2019",
    "20/19", "50/13", "2019.5.5.5", "2020-", "-2020-09", "1/2/3/2020", "2020-123", "mar 5",
)  # fmt: skip


@pytest.mark.parametrize(("text", "month"), MONTH.items(), ids=MONTH)
def test_a_month_is_never_taken_for_a_year(text: str, month: tuple[int, int]) -> None:
    harvest, came = read_harvest(text, None, TODAY), read_day(text, None, TODAY)
    assert (harvest.year, harvest.day, harvest.sure) == (month[0], None, W)
    assert (came.day, came.sure) == (date(*month, 15), E)
    assert MONTHS[month[1] - 1] in text_of(came.said)
    doubted = read_harvest(f"{text}?", None, TODAY)
    assert (doubted.year, doubted.sure) == (month[0], E)


@pytest.mark.parametrize(("text", "year"), YEARS.items(), ids=YEARS)
def test_of_two_years_the_earlier_is_taken_and_marked(text: str, year: int) -> None:
    harvest = read_harvest(text, None, TODAY)
    assert (harvest.year, harvest.day, harvest.sure) == (year, None, E)
    assert f"{year}, the earlier" in text_of(harvest.said)


@pytest.mark.parametrize(("text", "readings"), ASKED.items(), ids=ASKED)
def test_what_may_be_read_two_ways_is_asked_and_every_answer_is_understood(
    text: str, readings: set[str]
) -> None:
    for read in (read_harvest(text, None, TODAY), read_day(text, None, TODAY)):
        assert (read.year, read.day, read.sure) == (None, None, A)
        assert set(read.choices) == {*readings, "unknown"}
        assert all(one in text_of(read.said) for one in readings)
    for one in readings:
        assert read_harvest(one, None, TODAY).sure in (W, E)
        assert read_day(one, None, TODAY).sure in (W, E)


@pytest.mark.parametrize("text", WRONG)
def test_what_cannot_be_is_refused(text: str) -> None:
    for read in (read_harvest(text, None, TODAY), read_day(text, None, TODAY)):
        assert (read.year, read.day, read.sure) == (None, None, X)
        assert "mend it" in text_of(read.said)


@pytest.mark.parametrize("text", KEPT)
def test_other_numbers_are_only_kept(text: str) -> None:
    for read in (read_harvest(text, None, TODAY), read_day(text, None, TODAY)):
        assert (read.year, read.day, read.sure) == (None, None, K)


def test_what_is_still_to_come_is_no_reading() -> None:
    earlier = read_harvest("2011-12", None, date(2011, 6, 1)).said
    assert (earlier.code, earlier.numbers) == ("sheet-earlier-year", {"year": 2011})
    assert read_day("2005-09", None, date(2005, 9, 3)).day == date(2005, 9, 3)
    assert read_harvest("2009-10", None, date(2008, 6, 1)).sure is X


def test_a_number_that_a_spreadsheet_made_of_a_year_is_that_year() -> None:
    assert read_harvest("2019.0", None, TODAY).year == 2019


def test_a_year_of_two_figures_that_may_come_first_settles_no_order() -> None:
    assert order_of([(2, "19-03-12"), (3, "25-12-18")]).order is None
    assert read_day("19-03-12", DayOrder.DAY_FIRST, TODAY).day == date(2012, 3, 19)
    assert order_of([(2, "25/12/18")]).order is DayOrder.DAY_FIRST
    assert read_day("03-04-2020", None, TODAY).sure is A
    assert order_of([(2, "03-04-2020")]).asks


@given(st.integers(1900, 2026), st.integers(0, 99), st.sampled_from("-/. –"), st.booleans())
def test_a_year_and_a_number_are_that_month_of_that_year_or_asked_or_refused(
    year: int, number: int, sign: str, padded: bool
) -> None:
    text = f"{year}{sign}{number:02}" if padded else f"{year}{sign}{number}"
    read = read_day(text, None, TODAY)
    if read.day is not None and "the earlier" not in text_of(read.said):
        assert (read.day.year, read.day.month) == (year, number or 7)  # 2020.0 is 2020
    if read.year is not None:
        assert read.year == year  # never a year that isn't written
