"""Days and years as people write them: ``12/3/2019``, ``2019?``, ``'19``, ``spring 2018``.

Whether the day or the month comes first is decided by a whole column: one cell such as 25/12/2018
settles it for all. Where none does, the writer is asked.
"""

import re
from calendar import monthrange
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from seedbank.common.forms import EARLIEST
from seedbank.interchange.spreadsheet.answers import DayOrder, Sure, YearPairs
from seedbank.interchange.spreadsheet.cells import plain_form, quoted
from seedbank.interchange.spreadsheet.short_dates import (
    CENTURY,
    MONTH,
    YEAR_PAIR,
    full_year,
    month_number,
    short_date,
)
from seedbank.interchange.spreadsheet.words import day_in_english
from seedbank.science.quantities import Finding

# The middle of each season of the northern half of the world; its writer may say otherwise.
_SEASONS: Final = {"spring": 4, "summer": 7, "autumn": 10, "fall": 10, "winter": 1}
_RIPE: Final = (9, 15)  # month and day; mid-September, as where only a year is known
_YEAR = rf"(?P<year>{CENTURY}|'\d\d)"
_LATE = r"(?:early|mid|late|end of|start of|beginning of)[ -]"
_NUMBERS = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\2(\d{4}|\d{2})")
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[t ]\d{1,2}:\d\d(?::\d\d(?:\.\d+)?)?)?")
_DAY_MONTH = re.compile(
    rf"(?P<day>\d{{1,2}})(?:st|nd|rd|th)?[ -](?:of )?{MONTH}\.?,?[ -](?P<year>{CENTURY}|'?\d\d)"
)
_MONTH_DAY = re.compile(rf"{MONTH}\.? (?P<day>\d{{1,2}})(?:st|nd|rd|th)?,? (?P<year>{CENTURY})")
_MONTH_YEAR = re.compile(rf"(?P<late>{_LATE})?{MONTH}\.?,?[ /-]?(?P<year>{CENTURY}|'\d\d)")
_SEASON_YEAR = re.compile(
    rf"(?P<late>{_LATE})?(?P<season>spring|summer|autumn|fall|winter),? {_YEAR}"
)
_YEAR_ALONE = re.compile(rf"(?:in |harvest(?:ed)? |saved |crop )?{_YEAR}(?:\.0+| harvest| crop)?")
_BEFORE = re.compile(
    rf"(?:before|pre|until|by|packed)[ -]?{_YEAR}|(?:19|20)\d\d or (?:earlier|before|older)"
)
_DASHES = re.compile("[\u2010\u2011\u2012\u2212]")  # those that look like a hyphen
_BETWEEN = re.compile(rf"(?<=\d)\s*([-/.]|{_DASHES.pattern})\s*(?=['\d])")
# Days since 30 December 1899, as spreadsheets number them (ECMA-376-1, 18.17.4.1): 1949 to 2064.
_DAY_NUMBER = re.compile(r"(1[89]\d{3}|[2-5]\d{4})(?:\.\d+)?")
_DAY_NUMBERS_BEGIN: Final = date(1899, 12, 30)
_PROMISED = re.compile(
    r"^(?:please )?(?:(?:to be )?(?:sown?|used?|best)(?: it)? (?:by|before)|exp(?:iry|ires)?|bbe?)"
    r"(?: end)?(?: of)?:? ?"
)
_YEARS_AHEAD: Final = 20  # that a packet may say to sow by
_UNKNOWN: Final = ("unknown", "n/k", "nk", "n/a", "old", "very old")
_DOUBT = re.compile(r"\s*(?:\(\?+\)|\?+)$")
_ABOUT = re.compile(r"^(?:(?:approx(?:imately|\.)?|about|around|roughly|circa|ca\.?|c\.|maybe"
                    r"|perhaps|probably)\s*|[~≈]\s*)+")  # fmt: skip
_PROMISE = re.compile(r"\b(?:sow|use|best) (?:by|before)\b|\bexp(?:iry|ires)?\b|\bbbe?\b")


@dataclass(frozen=True, slots=True)
class DayRead:
    """A day or only its year, whether it was estimated, and what it was read from.

    ``choices`` are the answers to what is asked of this text alone, to be written in its place;
    ``span`` the month or season of which a day was taken.
    """

    said: Finding
    sure: Sure
    day: date | None = None
    year: int | None = None
    choices: tuple[str, ...] = ()
    span: Finding | None = None


@dataclass(frozen=True, slots=True)
class OrderRead:
    """Which comes first in a column's dates, and why; None where the column doesn't tell.

    ``asks`` is whether any of its dates could be read either way.
    """

    order: DayOrder | None
    asks: bool
    said: Finding | None = None


def order_of(cells: Iterable[tuple[int, str]]) -> OrderRead:
    """The order of day and month in a column, by its (line, text) cells taken together."""
    seen: dict[DayOrder, Finding] = {}
    open_to_both = ""
    for line, text in cells:
        found = _NUMBERS.fullmatch(_bare(_plain(text))[0])
        if found is None or _of_year_first(found, date.max) is not None:
            continue
        first, second = int(found[1]), int(found[3])
        cell = Finding("sheet-cell", {"text": quoted(text), "line": line})
        if first > 12 >= second:
            seen.setdefault(DayOrder.DAY_FIRST, cell)
        elif second > 12 >= first:
            seen.setdefault(DayOrder.MONTH_FIRST, cell)
        elif first != second:
            open_to_both = open_to_both or text
    if len(seen) == 2:
        mixed = Finding("sheet-orders-mixed", {"cells": tuple(seen.values())})
        return OrderRead(None, True, mixed)
    for order, cell in seen.items():
        said = Finding("sheet-order-shown", {"first": order.value, "cell": cell})
        return OrderRead(order, False, said)
    if open_to_both:
        return OrderRead(None, True, Finding("sheet-order-open", {"text": quoted(open_to_both)}))
    return OrderRead(None, False)


def year_pairs_of(cells: Iterable[str], today: date) -> YearPairs | None:
    """What ``2020-09`` and its like are in a column, shown by those that can be only one of them.

    None where none shows it, or they show both.
    """
    shown = set()
    for text in cells:
        bare = _bare(_plain(text))[0]
        short = short_date(bare, today) if YEAR_PAIR.fullmatch(bare) else None
        if short is not None and len(short.readings) == 1:
            shown.add(YearPairs.MONTH if short.readings[0].month else YearPairs.YEARS)
    return shown.pop() if len(shown) == 1 else None


def of_year_pair(text: str, pairs: YearPairs, today: date) -> str:
    """The reading of ``2009-10`` and its like that ``pairs`` says; any other text as it is."""
    bare = _bare(_plain(text))[0]
    short = short_date(bare, today) if YEAR_PAIR.fullmatch(bare) else None
    for one in short.readings if short is not None and len(short.readings) > 1 else ():
        if (one.month is None) == (pairs is YearPairs.YEARS):
            return str(one)
    return text


def is_year_pair(text: str) -> bool:
    return YEAR_PAIR.fullmatch(_bare(_plain(text))[0]) is not None


def date_choices(text: str, today: date) -> tuple[str, ...]:
    """What a date that may be read in more than one way can mean, or that nobody knows."""
    return read_day(text, None, today).choices


def is_unknown(text: str) -> bool:
    """Does the text say that the day isn't known?"""
    return _plain(text) in _UNKNOWN


def read_day(text: str, order: DayOrder | None, today: date) -> DayRead:
    """A day. Where only a month, season or year is written its middle is taken, and said so."""
    bare, doubtful = _bare(_plain(text))
    if not bare.strip(" -.") or bare in _UNKNOWN:
        return DayRead(Finding("sheet-day-not-known"), Sure.KEPT)
    read = _exact(bare, order, today) or _rough(bare, today)
    if read is None:
        return DayRead(Finding("sheet-day-misread", {"text": quoted(text)}), Sure.KEPT)
    if read.day is not None and not EARLIEST <= read.day <= today:
        return _out_of_time(Finding("sheet-day", {"day": read.day}), to_come=read.day > today)
    if doubtful and read.sure is Sure.WRITTEN:
        return DayRead(_in_doubt(read.said), Sure.ESTIMATED, read.day, read.year)
    return read


def _out_of_time(when: Finding, *, to_come: bool = True) -> DayRead:
    if to_come:
        return DayRead(Finding("sheet-day-to-come", {"when": when}), Sure.WRONG)
    said = Finding("sheet-day-too-early", {"when": when, "first_year": EARLIEST.year})
    return DayRead(said, Sure.WRONG)


def _in_doubt(when: Finding) -> Finding:
    return Finding("sheet-in-doubt", {"when": when})


def _in_year(year: int) -> Finding:
    return Finding("sheet-year", {"year": year})


def read_harvest(
    text: str, order: DayOrder | None, today: date, came: date | None = None
) -> DayRead:
    """The day or year of harvest; ``sure`` is estimated where the year itself is in doubt.

    Of a day to use it by the latest harvest is taken that it and the day it ``came`` allow.
    """
    bare, doubtful = _bare(_plain(text))
    if _PROMISE.search(bare):
        return _promised(bare, came or today)
    rough = _year(bare, today)
    if rough is None:
        read = read_day(text, order, today)
        if read.day is not None and read.sure is Sure.ESTIMATED and not doubtful:
            said = Finding("sheet-harvest-span", {"year": read.day.year, "span": read.span})
            return DayRead(said, Sure.WRITTEN, year=read.day.year)  # sure, whatever day is taken
        return read
    assert rough.year is not None
    if not EARLIEST.year <= rough.year <= today.year:
        return _out_of_time(_in_year(rough.year), to_come=rough.year > today.year)
    sure = Sure.ESTIMATED if doubtful else rough.sure
    said = _in_doubt(rough.said) if doubtful else rough.said
    return DayRead(said, sure, None, rough.year)


def _promised(bare: str, seen: date) -> DayRead:
    """The latest autumn, by the day the seed was ``seen``, before the year it is to be used by."""
    years = [int(found) for found in re.findall(CENTURY, bare)]
    if not years:
        return DayRead(Finding("sheet-no-harvest-told"), Sure.KEPT)
    by = max(years)
    latest = min(by - 1, seen.year - (seen < date(seen.year, *_RIPE)))
    said = Finding("sheet-latest-harvest", {"year": latest, "use_by_year": by})
    return DayRead(said, Sure.ESTIMATED, year=latest)


def _plain(text: str) -> str:
    """In lower case, and in English."""
    return day_in_english(plain_form(text))


def _bare(written: str) -> tuple[str, bool]:
    bare = _ABOUT.sub("", _DOUBT.sub("", written)).strip()
    return _BETWEEN.sub(lambda found: _DASHES.sub("-", found[1]), bare), bare != written


def _exact(bare: str, order: DayOrder | None, today: date) -> DayRead | None:
    iso = _ISO.fullmatch(bare)
    if iso is not None:
        return _day_of(int(iso[1]), int(iso[2]), int(iso[3]))
    number = _DAY_NUMBER.fullmatch(bare)
    if number is not None:
        then = _DAY_NUMBERS_BEGIN + timedelta(int(number[1]))
        return DayRead(Finding("sheet-day-number", {"day": then}), Sure.WRITTEN, then, then.year)
    found = _NUMBERS.fullmatch(bare)
    if found is not None:
        first, second = int(found[1]), int(found[3])
        if order is None and _of_year_first(found, today) is not None:
            return _which_comes_first(found, today)
        if order is None and first != second and max(first, second) <= 12:
            return DayRead(Finding("sheet-day-or-month-first"), Sure.ASKED)
        month_first = order is DayOrder.MONTH_FIRST or (order is None and second > 12)
        day, month = (second, first) if month_first else (first, second)
        return _day_of(full_year(found[4], today), month, day)
    named = _DAY_MONTH.fullmatch(bare) or _MONTH_DAY.fullmatch(bare)
    if named is None:
        return None
    return _day_of(full_year(named["year"], today), month_number(named["month"]), int(named["day"]))


def _of_year_first(found: re.Match[str], today: date) -> date | None:
    """The day that 19-03-12 is if its year comes first; None if there is none."""
    if found[2] != "-" or len(found[4]) == 4 or len(found[1]) == 1:
        return None
    day = _day_of(full_year(found[1], today), int(found[3]), int(found[4])).day
    return day if day is not None and day <= today else None


def _which_comes_first(found: re.Match[str], today: date) -> DayRead:
    """Asks whether day, month or year comes first in a date of three short numbers."""
    year, first, second = full_year(found[4], today), int(found[1]), int(found[3])
    either = (_day_of(year, second, first).day, _day_of(year, first, second).day)
    readings = dict.fromkeys((*either, _of_year_first(found, today)))
    days = tuple(one.isoformat() for one in readings if one is not None and one <= today)
    return _ask(days) if len(days) > 1 else _day_of(*map(int, days[0].split("-")))


def _ask(readings: tuple[str, ...], *besides: Finding) -> DayRead:
    said = Finding("sheet-may-be", {"readings": (*readings, *besides)})
    return DayRead(said, Sure.ASKED, choices=(*readings, "unknown"))


def read_last_day(text: str, order: DayOrder | None, today: date) -> DayRead:
    """A day that may be years ahead. Where only a month or year is written its last is taken."""
    latest = date(today.year + _YEARS_AHEAD, 12, 31)
    read = read_day(_PROMISED.sub("", _plain(text)), order, latest)
    if read.day is None or read.said.code not in ("sheet-day-taken", "sheet-month-day-taken"):
        return read
    month = 12 if read.said.code == "sheet-day-taken" else read.day.month
    return replace(read, day=date(read.day.year, month, monthrange(read.day.year, month)[1]))


def _rough(bare: str, today: date) -> DayRead | None:
    month = _MONTH_YEAR.fullmatch(bare)
    if month is not None:
        return _of_month(full_year(month["year"], today), month_number(month["month"]), today)
    season = _SEASON_YEAR.fullmatch(bare)
    if season is not None:
        year = full_year(season["year"], today)
        day = date(year, _SEASONS[season["season"]], 15)
        span = Finding("sheet-season", {"season": season["season"], "year": year})
        said = Finding("sheet-season-day-taken", {"span": span, "day": day})
        day = min(day, max(today, date(year, 1, 1)))
        return DayRead(said, Sure.ESTIMATED, day, year, span=span)
    read = _year(bare, today) or _short(bare, today)
    if read is None or read.year is None or read.day is not None:
        return read
    day = date(read.year, 7, 1)
    if read.year == today.year:
        day = min(day, today)
    span = Finding("sheet-only-year") if read.sure is Sure.WRITTEN else read.said
    said = Finding("sheet-day-taken", {"span": span, "day": day})
    return DayRead(said, Sure.ESTIMATED, day, read.year)


def _of_month(year: int, month: int, today: date) -> DayRead:
    """A month, of which the 15th is taken, or today where that is earlier in the same month."""
    day = date(year, month, 15)
    if (year, month) == (today.year, today.month):
        day = min(day, today)
    span = Finding("sheet-day-not-written", {"month": date(year, month, 1)})
    said = Finding("sheet-month-day-taken", {"span": span, "day": day})
    return DayRead(said, Sure.ESTIMATED, day, year, span=span)


def _short(bare: str, today: date) -> DayRead | None:
    """Two numbers, or a month and a number: what they can be, or a question where that is more."""
    short = short_date(bare, today)
    if short is None:
        return None
    if not short.readings:
        return DayRead(Finding("sheet-no-such-month"), Sure.WRONG)
    if short.asks:
        readings = tuple(map(str, short.readings))
        return _ask(readings, *([Finding("sheet-day-without-year")] if short.may_be_day else []))
    read = short.readings[0]
    if read.is_to_come(today):
        return _out_of_time(Finding("as-said", {"text": str(read)}))
    if read.month is not None:
        return _of_month(read.year, read.month, today)
    said = Finding("sheet-earlier-year", {"year": read.year})
    return DayRead(said, Sure.ESTIMATED, year=read.year)


def _year(bare: str, today: date) -> DayRead | None:
    alone = _YEAR_ALONE.fullmatch(bare)
    if alone is not None:
        year = full_year(alone["year"], today)
        return DayRead(_in_year(year), Sure.WRITTEN, year=year)
    before = _BEFORE.fullmatch(bare)
    if before is not None:
        named = re.search(_YEAR, bare)
        assert named is not None
        year = full_year(named["year"], today)
        year -= bare.startswith(("before", "pre"))
        return DayRead(Finding("sheet-or-earlier", {"year": year}), Sure.ESTIMATED, year=year)
    short = _short(bare, today)
    return short if short is not None and short.year is not None and short.day is None else None


def _day_of(year: int, month: int, day: int) -> DayRead:
    try:
        found = date(year, month, day)
    except ValueError:
        return DayRead(Finding("sheet-no-such-day"), Sure.WRONG)
    return DayRead(Finding("sheet-day", {"day": found}), Sure.WRITTEN, found, year)
