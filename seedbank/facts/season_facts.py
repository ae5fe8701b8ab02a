"""What is published of a kind's year: months to sow, days to crop and ripe seed, harvest, frost.

Months are those of one cool maritime northern garden (``sowing_windows.REFERENCE``); the warmth
at those months carries them to other climates. A trial's days to emergence become base temperature
and thermal time; a kind without a trial has its species', else the median of its family's.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

import numpy as np

from seedbank.facts import loaders
from seedbank.facts.growing import emergence_by_temperature, frost_tender
from seedbank.facts.kinds import KindFacts
from seedbank.facts.names import matches
from seedbank.facts.sources import Basis, Confidence, Fact
from seedbank.facts.sources import Span as Range
from seedbank.facts.variety_season import VarietySeason
from seedbank.science.season.climate import MONTH_DAYS, YEAR
from seedbank.science.season.flowering_and_ripening import Course
from seedbank.science.season.sowing_windows import (
    COLDEST_SOIL_C,
    TENDER_SOIL_C,
    SowingNeeds,
    Span,
)
from seedbank.science.season.thermal_time import ThermalTime, fit_thermal_time

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_AUTUMN_FROM = 7  # of the months; what begins so late is an autumn sowing, if there is a spring one
_SLOW = frozenset({"parsnip", "parsley", "celery", "celeriac"})  # decisions: up within six weeks
_NO_TRIAL = Fact(
    ThermalTime(4.0, 130.0),
    "Chosen for this program: about the middle of the hardy kinds of Harrington & Minges 1954",
    Confidence.OWN,
    "nothing is published of this kind or its family",
)


@dataclass(frozen=True, slots=True)
class GrowingYear:
    """A kind's year in the reference garden; None: not printed. ``harvest`` tells signs of ripe
    seed, cleaning and drying in short, as printed."""

    spring: Span | None
    autumn: Span | None
    under_cover: Span | None
    maturity_days: Range | None
    ripe: Span | None
    ripe_after_days: Range | None
    harvest: str


@cache
def growing_year(slug: str) -> Fact[GrowingYear] | None:
    """A kind's year as printed; of its nearest kin where it has no row, and said so."""
    for m in matches(loaders.growing_calendar, slug):
        row = m.row
        spring, autumn = _sowings(row.sow_outdoors_months)
        told = GrowingYear(
            spring,
            autumn,
            _hull(_spans(row.sow_under_cover_months)),
            _days(row.days_to_maturity_low_high),
            _hull(_spans(row.seed_ripe_months)),
            _days(row.days_flower_to_ripe_seed),
            row.harvest_clean_dry,
        )
        return m.fact(told, row.notes)
    return None


@cache
def thermal_time(slug: str) -> Fact[ThermalTime]:
    """Base temperature and thermal time to half its emergence, for any kind, known or not."""
    own = _fitted(slug)
    if own is not None:
        return own
    family = next((k.family for k in loaders.kinds() if k.slug == slug), None)
    if slug in _BASES:
        return _by_base(slug)
    kin = [f for k in loaders.kinds() if k.family == family and (f := _fitted(k.slug)) is not None]
    tender = frost_tender(slug) is not None
    kin = [f for f in kin if (f.value.base_c >= _TENDER_BASE_C) == tender]
    if not kin and tender:
        family = "tender kinds"
        found = [_fitted(row.slug) for row in loaders.year_habits() if frost_tender(row.slug)]
        kin = [f for f in found if f is not None]
    if not kin:
        return _NO_TRIAL
    middle = ThermalTime(
        float(np.median([f.value.base_c for f in kin])),
        float(np.median([f.value.sum_c_d for f in kin])),
    )
    return Fact(middle, kin[0].source, Confidence.COMPUTED, f"{family}: median", Basis.STAND_IN)


_TENDER_BASE_C = 5.5
_BASES = frozenset({"basil", "squash-pepo", "squash-maxima", "squash-moschata"})
_MEMORY = "Recalled germination practice; not re-read for this file"


def _by_base(slug: str) -> Fact[ThermalTime]:
    """Kinds without a trial whose family says nothing of them: recalled."""
    need = ThermalTime(7.0, 95.0) if slug == "basil" else ThermalTime(10.0, 70.0)
    return Fact(need, _MEMORY, Confidence.MEMORY)


def sowing_needs(facts: KindFacts, season: VarietySeason | None = None) -> SowingNeeds:
    """What a kind asks of the year, from all that is published of it or stated of it here.

    The soil's minimum is the printed one or, where that is warmer than need be, the warmth at which
    half is up in time: printed minima of tender kinds are those of a warm country's spring. An
    early variety takes the fewest days printed, a winter one the most, any other the middle.
    """
    need, tender = thermal_time(facts.slug).value, frost_tender(facts.slug) is not None
    most_days = 42.0 if facts.slug in _SLOW else 21.0 if tender else 28.0
    in_time_c = need.base_c + need.sum_c_d / most_days
    printed_c = COLDEST_SOIL_C if facts.soil_min_c is None else facts.soil_min_c.value
    year = growing_year(facts.slug)
    told = _NOTHING if year is None else year.value
    direct = facts.sowing_method is not None and facts.sowing_method.value == "direct"
    return SowingNeeds(
        depth_m=(_DEPTH_CM if facts.depth_cm is None else facts.depth_cm.value) / 100.0,
        minimum_c=max(TENDER_SOIL_C if tender else COLDEST_SOIL_C, min(printed_c, in_time_c)),
        thermal=need,
        tender=tender,
        most_days=most_days,
        maturity_days=_maturity(told.maturity_days, season),
        earliest_days=None if told.maturity_days is None or season else told.maturity_days.low,
        maximum_c=None if facts.soil_max_c is None else facts.soil_max_c.value,
        spring=told.spring,
        autumn=told.autumn,
        under_cover=told.under_cover,
        raised_indoors=told.under_cover is not None or not direct,
    )


def course_of(facts: KindFacts) -> Course | None:
    """Published flowering and ripe seed of a kind; None: nobody says when it flowers."""
    if facts.flowering is None:
        return None
    year = growing_year(facts.slug)
    told = _NOTHING if year is None else year.value
    days = facts.flowering.value
    return Course(
        Span(min(days.from_day, YEAR), min(days.to_day, YEAR)),
        facts.flowers_next_year,
        frost_tender(facts.slug) is not None,
        told.ripe,
        None if told.ripe_after_days is None else told.ripe_after_days.low,
    )


def _maturity(days: Range | None, season: VarietySeason | None) -> float | None:
    if days is None:
        return None
    if season is VarietySeason.EARLY:
        return days.low
    return days.high if season is VarietySeason.WINTER else (days.low + days.high) / 2.0


_DEPTH_CM = 2.0
_NOTHING = GrowingYear(None, None, None, None, None, None, "")


def _fitted(slug: str) -> Fact[ThermalTime] | None:
    trials = [t for t in emergence_by_temperature(slug) if t.value.days is not None]
    trials = [t for t in trials if t.value.result == "emerged"]
    found = fit_thermal_time(
        [t.value.soil_temp_c for t in trials], [t.value.days or 0.0 for t in trials]
    )
    if found is None:
        return None
    said = trials[0]
    return Fact(found, said.source, Confidence.COMPUTED, said.note, said.basis)


def _sowings(printed: str) -> tuple[Span | None, Span | None]:
    """Spring and autumn: parts that begin in July or later are autumn's if there is a spring's."""
    parts = _spans(printed)
    late = [p for p in parts if _month_of(p.from_day) >= _AUTUMN_FROM]
    early = [p for p in parts if p not in late]
    return (_hull(early), _hull(late)) if early else (_hull(late), None)


def _spans(printed: str) -> list[Span]:
    found = []
    for part in re.findall(r"([A-Z][a-z]{2})(?:-([A-Z][a-z]{2}))?", printed):
        first = _MONTHS.index(part[0])
        last = _MONTHS.index(part[1] or part[0])
        found.append(Span(sum(MONTH_DAYS[:first]) + 1, sum(MONTH_DAYS[: last + 1])))
    return found


def _hull(spans: Iterable[Span]) -> Span | None:
    """From the first of the first to the last of the last, in the order printed."""
    parts = list(spans)
    return Span(parts[0].from_day, parts[-1].to_day) if parts else None


def _month_of(day: int) -> int:
    return int(np.searchsorted(np.cumsum(MONTH_DAYS), day)) + 1


def _days(printed: str) -> Range | None:
    """The first number printed, or range: ``90-130 (autumn 200)`` is 90 to 130."""
    found = re.findall(r"(\d+)(?:-(\d+))?", printed)
    if not found:
        return None
    numbers = [float(n) for n in (found[0] if found[0][1] else (found[0][0], found[-1][0])) if n]
    return Range(min(numbers), max(numbers))
