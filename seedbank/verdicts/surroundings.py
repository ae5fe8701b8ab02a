"""What a verdict must know besides the lots: the garden's sowing windows, and what is begun."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from sqlmodel import Session

from seedbank.climate.garden_year import (
    UNKNOWN_YEAR,
    GardenYear,
    flowering_at,
    garden_years,
    turned,
)
from seedbank.climate.kind_season import sowing_state
from seedbank.database.references import ids_begun
from seedbank.facts.kinds import KindFacts
from seedbank.kinds.tables import Variety
from seedbank.science.crossing.flowering_days import WHOLE_YEAR, DayWindow
from seedbank.science.season.climate import YEAR
from seedbank.science.season.sowing_windows import Method, Span
from seedbank.science.season.window_state import State, WindowState, day_number, window_state
from seedbank.verdicts.answers import When

_WAYS = (Method.OPEN, Method.INDOORS)
_SPRING = (60, 181)  # March to June, in the north: common practice
_A_DAY = timedelta(days=1)
LONGEST_TO_FLOWER_DAYS = 210
"""Seed of a kind that flowers in its first year is sown for seed so long before its flowering at
most: over winter in autumn, but not in late summer, from which nothing would ripen. Our choice."""


@dataclass(frozen=True, slots=True)
class SowingTime:
    """When a kind can be sown: ``until`` the window open now closes, or ``opens_on`` a day.

    ``sown_on`` is the day of the next sowing, today where it can be sown now, and ``again_on`` when
    the season after that begins; both are reckoned from a usual spring where the garden's windows
    aren't known.
    """

    when: When
    sown_on: date
    again_on: date
    until: date | None = None
    opens_on: date | None = None

    def season(self, seasons: int) -> date:
        """The first day of the sowing time so many seasons (1 or more) after the next one."""
        return in_year(self.again_on, self.again_on.year + seasons - 1)


@dataclass(frozen=True, slots=True)
class Surroundings:
    """The garden's year, and the varieties of which a seed crop is under way."""

    year: GardenYear = UNKNOWN_YEAR
    begun: frozenset[int] = frozenset()

    def times(self, kinds: Mapping[int, KindFacts], today: date) -> dict[int, SowingTime]:
        """When each kind can be sown, by its id."""
        return {number: self._time(facts, today) for number, facts in kinds.items()}

    def seed_times(self, kinds: Mapping[int, KindFacts], today: date) -> dict[int, SowingTime]:
        """The same for seed crops, which must flower and ripen."""
        return {number: self._seed_time(facts, today) for number, facts in kinds.items()}

    def _seed_time(self, facts: KindFacts, today: date) -> SowingTime:
        time = self._time(facts, today)
        flowers = None if facts.flowers_next_year else flowering_at(facts, self.year)
        if flowers is None or flowers.value == WHOLE_YEAR:
            return time
        if time.when in (When.NEVER, When.NOT_KNOWN):
            return time
        first = flowers.value.from_day
        ahead = (first - day_number(time.sown_on)) % YEAR
        if ahead <= LONGEST_TO_FLOWER_DAYS:
            last = time.sown_on + timedelta(days=ahead)
            return time if time.until is None else replace(time, until=min(time.until, last))
        soonest = time.sown_on + timedelta(days=ahead - LONGEST_TO_FLOWER_DAYS)
        opens = self._time(facts, soonest).sown_on
        state = State.OVER if opens.year > today.year else State.OPENS
        when = when_of(WindowState(state, opens_on=opens), today)
        return SowingTime(when, opens, in_year(opens, opens.year + 1), opens_on=opens)

    def _time(self, facts: KindFacts, today: date) -> SowingTime:
        states = self._states(facts, today)
        if not states:
            return self._usual_spring(When.NOT_KNOWN, today)
        if any(one.state is State.OPEN for one in states):
            ends = [one.until for one in states if one.state is State.OPEN]
            last = None if None in ends else max(day for day in ends if day is not None)
            after = [one.opens_on for one in self._states(facts, last + _A_DAY)] if last else []
            again = min((day for day in after if day), default=in_year(today, today.year + 1))
            return SowingTime(When.NOW, today, again, until=last)
        ahead = [one for one in states if one.opens_on is not None]
        if not ahead:
            return self._usual_spring(When.NEVER, today)
        soonest = min(ahead, key=lambda one: one.opens_on or today)
        opens = soonest.opens_on or today
        again = in_year(opens, opens.year + 1)
        return SowingTime(when_of(soonest, today), opens, again, opens_on=opens)

    def _states(self, facts: KindFacts, on: date) -> list[WindowState]:
        found = [sowing_state(facts, self.year, way, on) for way in _WAYS]
        return [one for one in found if one is not None]

    def _usual_spring(self, when: When, today: date) -> SowingTime:
        usual = turned(DayWindow(*_SPRING), self.year.turned_days)
        spans = [Span(usual.from_day, usual.to_day)]
        spring = window_state(spans, today)
        if spring.state is not State.OPEN or spring.until is None:
            opens = spring.opens_on or today
            return SowingTime(when, opens, in_year(opens, opens.year + 1))
        again = window_state(spans, spring.until + _A_DAY).opens_on or today
        return SowingTime(when, today, again)


def in_year(day: date, year: int) -> date:
    """The same day in another year; 29 February becomes the 28th."""
    return date(year, day.month, 28 if (day.month, day.day) == (2, 29) else day.day)


def when_of(window: WindowState, today: date) -> When:
    """Now, next month, later or too late this year: how a window stands, in a gardener's terms."""
    if window.state is State.OPEN:
        return When.NOW
    if window.state is State.NEVER:
        return When.NEVER
    opens = window.opens_on or today
    months = 12 * (opens.year - today.year) + opens.month - today.month
    if window.state is State.OVER:
        return When.NEXT_YEAR
    return When.NEXT_MONTH if months <= 1 else When.LATER


def read_surroundings(session: Session) -> Surroundings:
    """Read them, in two queries."""
    return Surroundings(garden_years(session).at(None), ids_begun(session, Variety))
