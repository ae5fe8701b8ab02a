"""When a kind may be sown: in the open, under fleece, frame or tunnel, and indoors.

The first day: the soil is warm enough, half the seed is up within three to six weeks, a tender kind
is sown after the last frost (not so that it comes up then: what comes up sooner in a warmer place
would have to be sown later), and the days have grown (rule of thumb of growers where winters are
cold: common practice, no single source). The last day: warmth left until frost, or until growth
stops, still makes a crop. What a published calendar of one cool maritime garden knows besides
(kinds that bolt in warmth, kinds not to be sown early, autumn sowings) is carried over by the
warmth at those months there, so that it moves with the climate.

Days count from mid-winter (``coldest_day``), so that a season lies in one piece on both sides of
the world. Sources of figures: the module's constants; all without a source are our choice.
Outside check: first days beside published calendars of other climates (tests).
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

import numpy as np

from seedbank.science.quantities import BoolArray, FloatArray
from seedbank.science.season import climate as year
from seedbank.science.season.climate import YEAR, Climate
from seedbank.science.season.thermal_time import ThermalTime, days_to_emergence


class Method(StrEnum):
    """Where seed is sown."""

    OPEN = "open"
    FLEECE = "fleece"
    FRAME = "frame"
    TUNNEL = "tunnel"
    INDOORS = "indoors"


class Why(StrEnum):
    """Why there is no window."""

    TOO_COLD = "too-cold"
    TOO_SHORT = "too-short"
    NOT_DONE = "not-done"


WARMER_UNDER_C = {Method.OPEN: 0.0, Method.FLEECE: 3.0, Method.FRAME: 3.0, Method.TUNNEL: 5.0}
"""How much warmer soil and air are under cover, °C: our choice."""
INDOORS_C = 20.0
_FROST_KEPT_OFF_DAYS = {Method.OPEN: 0, Method.FLEECE: 7, Method.FRAME: 14, Method.TUNNEL: 21}
_DAYS_GROW = {Method.OPEN: 70, Method.FLEECE: 56, Method.FRAME: 49, Method.TUNNEL: 42}
COLDEST_SOIL_C, TENDER_SOIL_C = 6.5, 13.0
"""No seed is sown in the open in soil colder than this, °C: our choice, the first from decisions
over sixteen hardy kinds, the second near the 55 °F of many growers (common practice)."""
_HARDY_BASE_C, _TENDER_BASE_C = 4.5, 8.0
_HARDY_DAY_C, _TENDER_DAY_C = 16.0, 18.0  # of the days that printed days to maturity count
_GROWTH_STOPS_C = 6.0
_PLANTED_OUT_AFTER_FROST = 7
_PLANTED_OUT_C = 8.0
_LEFT_FOR_PLANTS = 0.7  # of a crop's warmth, what plants raised indoors still need outside
_WINTER_KILLS_C = -2.0  # coldest day's mean, for what stands the winter outside
_MUCH_SOONER, _MUCH_LATER = 21, 28
_AT_LEAST_DAYS = 14
_BEFORE_WARMEST = 25
_CROPS_FOR_DAYS = 28

REFERENCE = year.fit_climate(
    [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8], 121, 298
)
"""The cool maritime northern garden the packaged growing calendar speaks of: lowland England,
recalled monthly means, last frost 1 May, first 25 October."""


@dataclass(frozen=True, slots=True)
class Span:
    """Days of the year 1..365, both ends included; the first over the last spans New Year."""

    from_day: int
    to_day: int


ALL_YEAR = Span(1, YEAR)


@dataclass(frozen=True, slots=True)
class SowingNeeds:
    """What a kind asks for. ``minimum_c`` of the soil; ``most_days`` until half is up;
    ``maturity_days`` from sowing to crop, ``earliest_days`` of the quickest varieties,
    None: not known. Spans are the published calendar's, as
    it stands in ``REFERENCE``: spring sowing, autumn sowing, under cover."""

    depth_m: float
    minimum_c: float
    thermal: ThermalTime
    tender: bool
    most_days: float
    maturity_days: float | None = None
    earliest_days: float | None = None
    maximum_c: float | None = None
    spring: Span | None = None
    autumn: Span | None = None
    under_cover: Span | None = None
    raised_indoors: bool = True


@dataclass(frozen=True, slots=True)
class SowingWindows:
    """Windows by day of the year for one method, in the order of the season; ``why`` there are
    none. ``early_only``: none but the quickest varieties have time. A window may span New Year, or
    be the whole year."""

    windows: tuple[Span, ...]
    why: Why | None = None
    early_only: bool = False


def sowing_windows(needs: SowingNeeds, climate: Climate) -> Mapping[Method, SowingWindows]:
    """Windows for every method in a garden's climate."""
    found = {method: _outdoors(needs, climate, method) for method in WARMER_UNDER_C}
    return {**found, Method.INDOORS: _indoors(needs, climate)}


def emergence_days(needs: SowingNeeds, climate: Climate, method: Method) -> FloatArray:
    """Days to half of what comes up from sowing on each day of the year, (365,)."""
    return days_to_emergence(bed_c(needs, climate, method), needs.thermal)


def bed_c(needs: SowingNeeds, climate: Climate, method: Method) -> FloatArray:
    """Temperature of the seedbed on each day of the year, (365,)."""
    if method is Method.INDOORS:
        return np.full(YEAR, INDOORS_C)
    return year.soil_c(climate, needs.depth_m) + WARMER_UNDER_C[method]


def first_open_day(needs: SowingNeeds, climate: Climate) -> int | None:
    """Days after mid-winter when plants of a kind first stand outside: tender ones a week after
    the last frost, sown or raised indoors; hardy ones when seed could come up there."""
    possible = np.flatnonzero(_in_spring(needs, climate, Method.OPEN))
    if needs.tender or not possible.size:
        return planted_out(needs, climate)
    return int(possible[0])


def planted_out(needs: SowingNeeds, climate: Climate) -> int | None:
    """Days after mid-winter when plants raised indoors can go out; None: never, or at any time."""
    air = _season(climate, year.air_c(climate))
    if needs.tender:
        frost = year.frost_span(climate)
        if frost is None:
            return None
        return frost[0] + _PLANTED_OUT_AFTER_FROST if frost[1] > frost[0] else None
    warm = np.flatnonzero(air >= _PLANTED_OUT_C)
    return int(warm[0]) if warm.size and warm.size < YEAR else None


def warmth_c_d(climate: Climate, tender: bool, lift_c: float = 0.0) -> FloatArray:
    """Warmth over the base by the end of each day after mid-winter, (366,), 0 first, in °C d.

    Over 25 °C a day grows nothing more (our choice).
    """
    base = _TENDER_BASE_C if tender else _HARDY_BASE_C
    air = _season(climate, year.air_c(climate)) + lift_c
    return np.concatenate([[0.0], np.cumsum(np.clip(air, base, 25.0) - base)])


def day_of_year(climate: Climate, after_winter: int) -> int:
    """Day of the year 1..365 of a day after mid-winter."""
    return (year.coldest_day(climate) + after_winter) % YEAR + 1


def after_winter(climate: Climate, day: int) -> int:
    """Days after mid-winter, 0..364, of a day of the year 1..365."""
    return (day - 1 - year.coldest_day(climate)) % YEAR


def _season(climate: Climate, by_day: FloatArray) -> FloatArray:
    return np.roll(by_day, -year.coldest_day(climate))


def _outdoors(needs: SowingNeeds, climate: Climate, method: Method) -> SowingWindows:
    possible = _in_spring(needs, climate, method)
    in_time = _in_time(needs, climate, method)
    wanted = possible & in_time & ~_too_early(needs, climate)
    spring = _but_bolting(needs, climate, wanted)
    spans = [*_spans(climate, spring), *_autumn(needs, climate, method, spring)]
    if spans:
        return SowingWindows(tuple(spans))
    quickest = needs.earliest_days
    if quickest is not None and quickest != needs.maturity_days:
        early = replace(needs, maturity_days=quickest, earliest_days=None)
        found = _outdoors(early, climate, method)
        return replace(found, early_only=bool(found.windows))
    return SowingWindows((), Why.TOO_SHORT if possible.any() else Why.TOO_COLD)


def _in_spring(needs: SowingNeeds, climate: Climate, method: Method) -> BoolArray:
    """Days after mid-winter on which seed would come up in good time and live, (365,)."""
    bed = _season(climate, bed_c(needs, climate, method))
    days = _season(climate, emergence_days(needs, climate, method))
    day = np.arange(YEAR)
    good = (bed >= needs.minimum_c) & (days <= needs.most_days)
    if needs.maximum_c is not None:
        good &= bed <= needs.maximum_c
    if needs.tender and (frost := year.frost_span(climate)) is not None:
        good &= (day >= frost[0] - _FROST_KEPT_OFF_DAYS[method]) & (day + days < frost[1])
    if year.winters_are_cold(climate):
        solstice = year.shortest_day(climate) - year.coldest_day(climate)
        good &= day >= (solstice + _DAYS_GROW[method]) % YEAR
    return np.asarray(good)


def _in_time(needs: SowingNeeds, climate: Climate, method: Method) -> BoolArray:
    """Days after mid-winter with warmth enough left for a crop, (365,)."""
    end = _season_end(needs, climate, method)
    if needs.maturity_days is None or end is None:
        return np.ones(YEAR, dtype=np.bool_)
    total = warmth_c_d(climate, needs.tender, WARMER_UNDER_C[method])
    return np.asarray(total[end] - total[:YEAR] >= _crop_c_d(needs))


def _crop_c_d(needs: SowingNeeds) -> float:
    a_day = _TENDER_DAY_C - _TENDER_BASE_C if needs.tender else _HARDY_DAY_C - _HARDY_BASE_C
    return (needs.maturity_days or 0.0) * a_day


def crop_span(
    needs: SowingNeeds, climate: Climate, sown: Span, method: Method = Method.OPEN
) -> Span | None:
    """When what is sown within a span gives its crop: from the day the first of it has had the
    warmth its days to maturity stand for, until the last of it has; four weeks at least, and not
    after growth ends.

    Raised indoors, plants have some of it behind them when they are planted out. None: days to
    maturity are not known, too many for this climate, or growth begins only after mid-winter.
    """
    if needs.maturity_days is None or sown == ALL_YEAR:
        return None
    indoors = method is Method.INDOORS
    out = planted_out(needs, climate) if indoors else None
    first, last = (after_winter(climate, day) for day in (sown.from_day, sown.to_day))
    if indoors:
        long = (sown.to_day - sown.from_day) % YEAR
        first, last = out or 0, min((out or 0) + long, YEAR - 1)
    if last < first:
        return None
    total = warmth_c_d(climate, needs.tender, WARMER_UNDER_C.get(method, 0.0))
    need = _crop_c_d(needs) * (_LEFT_FOR_PLANTS if indoors else 1.0)
    end = _season_end(needs, climate, Method.OPEN if indoors else method)
    end = YEAR - 1 if end is None else min(end, YEAR - 1)
    ready, latest = (int(np.searchsorted(total, total[day] + need)) for day in (first, last))
    if ready > end:
        return None
    over = min(max(latest, ready + _CROPS_FOR_DAYS), end)
    return Span(day_of_year(climate, ready), day_of_year(climate, over))


def _season_end(needs: SowingNeeds, climate: Climate, method: Method) -> int | None:
    """Days after mid-winter when growth ends: by frost, or as it grows cold; None: it doesn't."""
    frost = year.frost_span(climate)
    if needs.tender:
        return None if frost is None else min(YEAR, frost[1] + _FROST_KEPT_OFF_DAYS[method])
    if not year.winters_are_cold(climate):
        return None
    air = _season(climate, year.air_c(climate)) + WARMER_UNDER_C[method]
    cold = np.flatnonzero(air[YEAR // 2 :] < _GROWTH_STOPS_C)
    stops = YEAR // 2 + int(cold[0]) if cold.size else YEAR
    return stops if frost is None else max(stops, min(frost[1], YEAR))


def _too_early(needs: SowingNeeds, climate: Climate) -> BoolArray:
    """Days on which the calendar keeps a kind back that could come up: it would bolt, (365,)."""
    day, least_c = np.arange(YEAR), _kept_back_until_c(needs)
    if least_c is None:
        return np.zeros(YEAR, dtype=np.bool_)
    air = _season(climate, year.air_c(climate))
    warm = np.flatnonzero(air >= least_c)
    latest = int(np.argmax(air)) - _BEFORE_WARMEST
    return np.asarray(day < (min(int(warm[0]), latest) if warm.size else latest))


@lru_cache(maxsize=512)
def _kept_back_until_c(needs: SowingNeeds) -> float | None:
    """Warmth of the calendar's first day, for a kind it sows much later than it could be."""
    if needs.spring is None:
        return None
    could = np.flatnonzero(_in_spring(needs, REFERENCE, Method.OPEN))
    first = after_winter(REFERENCE, needs.spring.from_day)
    if not could.size or first - could[0] <= _MUCH_SOONER:
        return None
    return float(_season(REFERENCE, year.air_c(REFERENCE))[first])


@lru_cache(maxsize=512)
def _bolts_over_c(needs: SowingNeeds) -> float | None:
    """Warmth of the calendar's last spring day, for a kind it stops sowing much sooner than it
    must; None: warmth left decides alone."""
    if needs.spring is None:
        return None
    air = _season(REFERENCE, year.air_c(REFERENCE))
    last = after_winter(REFERENCE, needs.spring.to_day)
    in_time = _in_spring(needs, REFERENCE, Method.OPEN) & _in_time(needs, REFERENCE, Method.OPEN)
    could = np.flatnonzero(in_time)
    if not could.size or could[-1] - last <= _MUCH_LATER or last >= int(np.argmax(air)):
        return None
    return float(air[last])


def _but_bolting(needs: SowingNeeds, climate: Climate, wanted: BoolArray) -> BoolArray:
    """The days wanted, ended where the kind would bolt; two weeks are left at least."""
    over_c, days = _bolts_over_c(needs), np.flatnonzero(wanted)
    if over_c is None or not days.size:
        return wanted
    air = _season(climate, year.air_c(climate))
    warm = np.flatnonzero(air > over_c)
    if not warm.size:
        return wanted
    last = max(int(warm[0]) - 1, int(days[0]) + _AT_LEAST_DAYS)
    return np.asarray(wanted & (np.arange(YEAR) <= last))


def _autumn(needs: SowingNeeds, climate: Climate, method: Method, spring: BoolArray) -> list[Span]:
    """The calendar's autumn sowing, by the warmth left until mid-winter."""
    if needs.autumn is None or not year.winters_are_cold(climate):
        return []
    late = after_winter(REFERENCE, needs.autumn.from_day) > _OVERWINTERED_FROM
    coldest = float(year.air_c(climate).min()) + WARMER_UNDER_C[method]
    if late and coldest < _WINTER_KILLS_C:
        return []
    there, here = warmth_c_d(REFERENCE, False), warmth_c_d(climate, False)
    days = []
    for end in (needs.autumn.from_day, needs.autumn.to_day):
        left = there[-1] - there[after_winter(REFERENCE, end)]
        enough = np.flatnonzero(here[-1] - here[:YEAR] >= left)
        days.append(int(enough[-1]) if enough.size else None)
    first, last = days
    if first is None or last is None or last < first:
        return []
    done = np.flatnonzero(spring)
    if done.size and first <= done[-1] + 1:
        first = int(done[-1]) + 1
    if last < first:
        return []
    return [Span(day_of_year(climate, first), day_of_year(climate, last))]


_OVERWINTERED_FROM = 260  # after mid-winter, about October: what is sown then stands the winter


def _spans(climate: Climate, wanted: BoolArray) -> list[Span]:
    """Runs of wanted days as spans of the year; shorter than five days are let go."""
    if wanted.all():
        return [ALL_YEAR]
    edge = np.flatnonzero(np.diff(np.concatenate([[0], wanted.view(np.int8), [0]])))
    runs = [(int(a), int(b) - 1) for a, b in zip(edge[::2], edge[1::2], strict=True)]
    if len(runs) > 1 and runs[0][0] == 0 and runs[-1][1] == YEAR - 1:  # a mild winter's own run
        runs = [*runs[1:-1], (runs[-1][0], runs[0][1] + YEAR)]
    return [
        Span(day_of_year(climate, first), day_of_year(climate, last))
        for first, last in runs
        if last - first >= 4
    ]


def _indoors(needs: SowingNeeds, climate: Climate) -> SowingWindows:
    """Raised indoors as long before planting out as in the calendar; five weeks where it is
    silent (our choice)."""
    if not needs.raised_indoors:
        return SowingWindows((), Why.NOT_DONE)
    out = planted_out(needs, climate)
    if out is None:
        no_frost = needs.tender and year.frost_span(climate) is None
        warm = bool(year.air_c(climate).max() >= _PLANTED_OUT_C) and not needs.tender
        return SowingWindows((ALL_YEAR,)) if warm or no_frost else SowingWindows((), Why.TOO_COLD)
    end = _season_end(needs, climate, Method.OPEN)
    total = warmth_c_d(climate, needs.tender)
    if end is not None and total[end] - total[out] < _LEFT_FOR_PLANTS * _crop_c_d(needs):
        return SowingWindows((), Why.TOO_SHORT)
    there = planted_out(needs, REFERENCE)
    first, last = out - 35, out - 14
    if needs.under_cover is not None and there is not None:
        ahead = (there - after_winter(REFERENCE, needs.under_cover.from_day)) % YEAR
        long = (needs.under_cover.to_day - needs.under_cover.from_day) % YEAR
        first, last = out - ahead, out - ahead + long
    return SowingWindows((Span(day_of_year(climate, first), day_of_year(climate, last)),))
