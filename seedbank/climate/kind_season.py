"""A kind's year in a garden: when to sow, how long until up, flowering, ripe seed, what to do."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlmodel import Session

from seedbank.climate.answers import (
    HowToAnswer,
    KindSeasonAnswer,
    SowingTimeAnswer,
    SpanAnswer,
)
from seedbank.climate.garden_year import GardenYear, flowering_at, garden_years
from seedbank.climate.tables import Known
from seedbank.common.answers import CautionAnswer, FindingAnswer, Source, finding_answers
from seedbank.facts.cautions import Situation, cautions_for
from seedbank.facts.field_factors import temperature_curve_for
from seedbank.facts.kinds import KindFacts
from seedbank.facts.season_facts import (
    GrowingYear,
    course_of,
    growing_year,
    sowing_needs,
    thermal_time,
)
from seedbank.facts.sources import Fact
from seedbank.facts.variety_season import VarietySeason
from seedbank.kinds.answers import source_of
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import find_kind
from seedbank.science.quantities import Finding
from seedbank.science.season.climate import YEAR, Climate, coldest_day
from seedbank.science.season.flowering_and_ripening import seasons
from seedbank.science.season.sowing_windows import (
    ALL_YEAR,
    REFERENCE,
    Method,
    SowingNeeds,
    SowingWindows,
    Span,
    bed_c,
    emergence_days,
    first_open_day,
    sowing_windows,
)
from seedbank.science.season.thermal_time import NEVER, NINETY_PCT_OF_MEDIAN
from seedbank.science.season.window_state import State, WindowState, day_number, window_state
from seedbank.science.sowing.emergence import REFERENCE_VIABILITY
from seedbank.science.sowing.soil_warmth import judge_soil

_HOT_WATER_FAMILIES = frozenset({"Brassicaceae", "Solanaceae"})
_HOT_WATER_KINDS = frozenset({"carrot", "celery"})


@dataclass(frozen=True, slots=True)
class SeasonAsked:
    """Which garden or site, on which day one would sow, what kind of variety."""

    on: date
    site_id: int | None = None
    season: VarietySeason | None = None


def kind_season(session: Session, slug: str, asked: SeasonAsked) -> KindSeasonAnswer:
    """A kind's year. Raises NotThere: the kind."""
    facts = facts_for(session, find_kind(session, slug))
    return season_of(facts, garden_years(session).at(asked.site_id), asked)


def sowing_state(
    facts: KindFacts,
    year: GardenYear,
    method: Method,
    on: date,
    season: VarietySeason | None = None,
) -> WindowState | None:
    """How a kind's window for one way of sowing stands on a day: open until, opens on, over this
    year, never. None: no monthly temperatures are known, so nobody can say."""
    if year.climate is None:
        return None
    found = sowing_windows(sowing_needs(facts, season), year.climate)[method]
    return standing_of(found, year.climate, on)


def out_of_season(
    facts: KindFacts,
    year: GardenYear,
    method: Method,
    on: date,
    season: VarietySeason | None = None,
) -> Finding | None:
    """That a day is too early, too late or no time at all for one way of sowing, what is open
    instead, and from when it may be sown so; None: it may, or nobody can say."""
    asked = sowing_state(facts, year, method, on, season)
    if asked is None or asked.state is State.OPEN:
        return None
    others = ((one, sowing_state(facts, year, one, on, season)) for one in Method)
    instead, until = next(
        ((one, at.until) for one, at in others if at is not None and at.state is State.OPEN),
        (None, None),
    )
    return Finding(
        "out-of-season",
        {
            "state": asked.state,
            "method": method,
            "instead": instead or "none",
            "until": until,
            "opens_on": asked.opens_on,
        },
    )


def ripe_at(facts: KindFacts, year: GardenYear) -> Span | None:
    """When a kind's seed is ripe in a year; None: not known, or never there."""
    return _flowers_and_ripe(facts, sowing_needs(facts), year)[1]


def season_of(facts: KindFacts, year: GardenYear, asked: SeasonAsked) -> KindSeasonAnswer:
    """A kind's year from its facts and what is known of the garden's."""
    needs = sowing_needs(facts, asked.season)
    flowers, ripe = _flowers_and_ripe(facts, needs, year)
    told = growing_year(facts.slug)
    roughly = Finding("season-roughly", {"known": year.known})
    findings = [] if year.known is Known.MONTHS else [roughly]
    findings += _flowering_found(facts, flowers, ripe, year)
    thermal = thermal_time(facts.slug)
    return KindSeasonAnswer(
        kind=facts.slug,
        site_id=asked.site_id,
        known=year.known,
        on=asked.on,
        sow=[] if year.climate is None else list(_sowings(facts, needs, year.climate, asked.on)),
        sow_in_weeks=_in_weeks(None if told is None else told.value.spring, year),
        flowers=_span(flowers),
        ripe=_span(ripe),
        findings=finding_answers(findings),
        harvest=list(_harvest(facts, told)),
        drying=list(_drying(facts)),
        cautions=_cautions(facts),
        sources=_sources(told, facts.flowering, thermal, facts.soil_min_c),
    )


def _sowings(
    facts: KindFacts, needs: SowingNeeds, climate: Climate, on: date
) -> Iterator[SowingTimeAnswer]:
    for method, found in sowing_windows(needs, climate).items():
        state = standing_of(found, climate, on)
        bed = bed_c(needs, climate, method)
        day = day_number(on) - 1
        half = float(emergence_days(needs, climate, method)[day])
        up = half < NEVER
        chance = _chance(facts, float(bed[day])) if up else 0.0
        most = half * NINETY_PCT_OF_MEDIAN if up else None
        values = {"on": on, "days": half if up else None, "most_days": most, "p_up": chance}
        yield SowingTimeAnswer.of(
            window_finding(method, found),
            method=method,
            windows=[SpanAnswer(from_day=w.from_day, to_day=w.to_day) for w in found.windows],
            why_none=found.why,
            quick_varieties_only=found.early_only,
            state=state.state,
            until=state.until,
            opens_on=state.opens_on,
            standing=FindingAnswer.of(standing_finding(state)),
            up=FindingAnswer.of(Finding("up-in", values)),
            days_to_half=round(half, 1) if up else None,
            days_to_most=None if most is None else round(most, 1),
            chance=None if chance is None else round(chance, 3),
        )


def standing_finding(state: WindowState) -> Finding:
    """How a window stands, in words."""
    return Finding("window-stands", {"state": state.state, "day": state.until or state.opens_on})


def standing_of(found: SowingWindows, climate: Climate, on: date) -> WindowState:
    """How windows stand on a day; a growing year begins in mid-winter."""
    return window_state(found.windows, on, year_from=coldest_day(climate) + 1)


def _chance(facts: KindFacts, bed_temp_c: float) -> float | None:
    """Chance of one good seed in a bed so warm, of the 0.9 that come at best; None: not known."""
    soil = judge_soil(temperature_curve_for(facts).curve, bed_temp_c)
    if soil.verdict == "unknown":
        return None
    return float((1.0 - soil.share_lost) * REFERENCE_VIABILITY)


def window_finding(method: Method, found: SowingWindows) -> Finding:
    """When a kind is sown in one way, or why it isn't."""
    if found.why is not None:
        return Finding("sow-not", {"method": method, "why": found.why})
    windows = tuple(_days(one) for one in found.windows)
    only = "yes" if found.early_only else "no"
    return Finding("sow-in", {"method": method, "windows": windows, "quick_only": only})


def _days(one: Span) -> Finding:
    if one == ALL_YEAR:
        return Finding("all-year")
    return Finding("season-span", {"from_day": one.from_day, "to_day": one.to_day})


def _flowers_and_ripe(
    facts: KindFacts, needs: SowingNeeds, year: GardenYear
) -> tuple[Span | None, Span | None]:
    course = course_of(facts)
    if course is None:
        return None, None
    if year.climate is not None:
        here, there = (first_open_day(needs, one) for one in (year.climate, REFERENCE))
        found = seasons(course, year.climate, here, there)
        return found.flowering, found.ripe
    flowers = flowering_at(facts, year)
    if year.known is Known.NOTHING or flowers is None:
        return None, None
    turn = year.turned_days
    ripe = course.ripe and Span(
        _later(course.ripe.from_day, turn), _later(course.ripe.to_day, turn)
    )
    return Span(min(flowers.value.from_day, YEAR), min(flowers.value.to_day, YEAR)), ripe


def _later(day: int, days: int) -> int:
    return (day - 1 + days) % YEAR + 1


def _flowering_found(
    facts: KindFacts, flowers: Span | None, ripe: Span | None, year: GardenYear
) -> Iterator[Finding]:
    if facts.flowering is None or year.known is Known.NOTHING:
        return
    next_year = "yes" if facts.flowers_next_year else "no"
    if flowers is None:
        yield Finding("flowers-not-here")
        return
    yield Finding("flowers-here", {"days": _days(flowers), "next_year": next_year})
    if ripe is not None:
        yield Finding("ripe-here", {"days": _days(ripe)})
    elif year.climate is not None and growing_year(facts.slug) is not None:
        yield Finding("ripe-not-here")


def _in_weeks(spring: Span | None, year: GardenYear) -> FindingAnswer | None:
    """The calendar's spring sowing in weeks from the last frost; where months are known, dates
    say more."""
    frost = REFERENCE.last_frost
    if spring is None or frost is None or year.climate is not None:
        return None
    first, last = (round((day - frost) / 7) for day in (spring.from_day, spring.to_day))
    values = {
        "first_weeks": abs(first),
        "first": "before" if first < 0 else "after",
        "last_weeks": abs(last),
        "last": "before" if last < 0 else "after",
    }
    if year.last_frost is None:
        return FindingAnswer.of(Finding("sow-in-weeks", values))
    days = {
        "from_day": _later(year.last_frost, 7 * first),
        "to_day": _later(year.last_frost, 7 * last),
    }
    return FindingAnswer.of(Finding("sow-by-frost", {**values, **days}))


def _harvest(facts: KindFacts, told: Fact[GrowingYear] | None) -> Iterator[HowToAnswer]:
    if told is not None and told.value.harvest:
        yield HowToAnswer(text=told.value.harvest, source=source_of(told))
    for one in facts.seed_maturity:
        days, said = one.value.days_after_flowering, one.value.sign
        moisture = one.value.seed_moisture_pct
        finding = Finding(
            "ripe-when",
            {"sign": said or None, "days": days or None, "moisture_pct": moisture or None},
        )
        yield HowToAnswer(text=_text(finding), source=source_of(one))


def _drying(facts: KindFacts) -> Iterator[HowToAnswer]:
    """How dry, in what air, and how kept, as printed."""
    for one in facts.drying:
        what, _, value = one.value.partition(": ")
        finding = Finding("how-dry", {"what": what.replace("_", "-"), "value": value})
        yield HowToAnswer(text=_text(finding), source=source_of(one))
    sealed = facts.sealed_moisture_pct
    if sealed is not None:
        finding = Finding("how-dry", {"what": "sealed", "value": f"{sealed.value:g}"})
        yield HowToAnswer(text=_text(finding), source=source_of(sealed))


def _text(finding: Finding) -> str:
    return FindingAnswer.of(finding).text


def _cautions(facts: KindFacts) -> list[CautionAnswer]:
    """What to beware of while cleaning, drying and treating seed saved here, the gravest first."""
    family = "" if facts.family is None else facts.family.value
    jobs = [Situation.DRYING]
    if family in _HOT_WATER_FAMILIES or facts.slug in _HOT_WATER_KINDS:
        jobs.append(Situation.HOT_WATER)
    found = cautions_for(
        facts.slug,
        treated=False,
        saved_here=True,
        situations=tuple(jobs),
        poisonous=None if facts.poisonous is None else facts.poisonous.value,
    )
    return [CautionAnswer.of(one) for one in found]


def _sources(*facts: Fact[Any] | None) -> list[Source]:
    found = [source_of(one) for one in facts if one is not None]
    return list({(one.text, one.confidence): one for one in found}.values())


def _span(one: Span | None) -> SpanAnswer | None:
    return None if one is None else SpanAnswer(from_day=one.from_day, to_day=one.to_day)
