"""What is known of a garden's year, as science takes it; a site's own before the garden's."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from sqlmodel import Session

from seedbank.climate.tables import GardenClimate, Hemisphere, Known, all_climates
from seedbank.facts.kinds import KindFacts
from seedbank.facts.season_facts import course_of, sowing_needs
from seedbank.facts.sources import Confidence, Fact
from seedbank.science.crossing.flowering_days import DayWindow
from seedbank.science.season.climate import YEAR, Climate, fit_climate
from seedbank.science.season.flowering_and_ripening import Course, seasons
from seedbank.science.season.sowing_windows import (
    REFERENCE,
    SowingNeeds,
    Span,
    first_open_day,
)

HALF_A_YEAR, MONTHS = 182, 12


@dataclass(frozen=True, slots=True)
class GardenYear:
    """A garden's year: its climate, or no more than its last frost, its half of the world or
    nothing. ``turned_days`` is how far the reference garden's days are moved where no monthly
    temperatures are known."""

    known: Known
    climate: Climate | None = None
    last_frost: int | None = None
    turned_days: int = 0


UNKNOWN_YEAR = GardenYear(Known.NOTHING)


@dataclass(frozen=True, slots=True)
class GardenYears:
    """The garden's year and those of sites with a climate of their own; None: the garden's."""

    by_site: Mapping[int | None, GardenYear]

    def at(self, site_id: int | None) -> GardenYear:
        """The year at a site."""
        return self.by_site.get(site_id) or self.by_site.get(None, UNKNOWN_YEAR)


def garden_years(session: Session) -> GardenYears:
    """Every climate told of, in one query."""
    rows = all_climates(session)
    return GardenYears(
        {site: year_of(row) for site, row in rows.items() if site is None or not row.tells_nothing}
    )


def year_of(row: GardenClimate) -> GardenYear:
    """What a row tells."""
    told = (row.last_frost_day, row.first_frost_day)
    last, first = (None if day is None else min(day, YEAR) for day in told)
    if row.monthly_c is not None and len(row.monthly_c) == MONTHS:  # an archive may hold others
        climate = _climate(tuple(row.monthly_c), last, first, row.soil_shift_c)
        return GardenYear(Known.MONTHS, climate, last)
    south = row.hemisphere is Hemisphere.SOUTH
    if last is not None:
        there = REFERENCE.last_frost or 0
        return GardenYear(Known.FROST_DATES, None, last, (last - there + 150) % YEAR - 150)
    if row.hemisphere is not None:
        return GardenYear(Known.HEMISPHERE, turned_days=HALF_A_YEAR if south else 0)
    return UNKNOWN_YEAR


@lru_cache(maxsize=256)
def _climate(
    monthly_c: tuple[float, ...], last: int | None, first: int | None, soil_shift_c: float
) -> Climate:
    return fit_climate(monthly_c, last, first, soil_shift_c)


def flowering_at(facts: KindFacts, year: GardenYear) -> Fact[DayWindow] | None:
    """When a kind flowers in a year: published days carried over by warmth, or turned with the
    last frost or the hemisphere. None: nobody says, or it does not come to flower there."""
    course = course_of(facts)
    printed = facts.flowering
    if course is None or printed is None or year.known is Known.NOTHING:
        return printed
    if year.climate is None:
        if not year.turned_days:
            return printed
        window = turned(printed.value, year.turned_days)
        return replace(printed, value=window, confidence=Confidence.COMPUTED)
    span = _flowering(course, sowing_needs(facts), year.climate)
    if span is None:
        return None
    window = DayWindow(span.from_day, span.to_day)
    return replace(printed, value=window, confidence=Confidence.COMPUTED)


def relative_at(flowering: DayWindow, year: GardenYear) -> DayWindow:
    """When a wild plant or field crop flowers in a year, published for the reference garden."""
    if year.climate is None:
        return turned(flowering, year.turned_days) if year.turned_days else flowering
    course = Course(_span(flowering), stands_winter=True, tender=False)
    span = seasons(course, year.climate, None, None).flowering
    return flowering if span is None else DayWindow(span.from_day, span.to_day)


def turned(window: DayWindow, days: int) -> DayWindow:
    """A window so many days later in the year, or (negative) earlier."""
    ends = (window.from_day, window.to_day)
    if window.days >= YEAR:
        return window
    first, last = ((min(day, YEAR) - 1 + days) % YEAR + 1 for day in ends)
    return DayWindow(first, last)


def _span(window: DayWindow) -> Span:
    return Span(min(window.from_day, YEAR), min(window.to_day, YEAR))


@lru_cache(maxsize=4096)
def _flowering(course: Course, needs: SowingNeeds, climate: Climate) -> Span | None:
    here, there = (first_open_day(needs, one) for one in (climate, REFERENCE))
    return seasons(course, climate, here, there).flowering
