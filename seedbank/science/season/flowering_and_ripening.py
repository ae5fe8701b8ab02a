"""When a kind flowers and when its seed is ripe in a garden's climate, by warmth.

Published days and months are of one cool maritime northern garden (``REFERENCE``). The warmth
between sowing (or mid-winter, for what stands the winter) and first flower there is what the kind
needs here; so from first flower to last, and on to ripe seed. In the reference garden the published
days come back. Flowering is never taken for shorter than there, unless frost ends it: a window too
short hides a crossing (our choice). Day length is not reckoned with: in latitudes far from the
reference's the answer is a first guess, which a gardener's own days replace. Warmth over a base
drives development between its limits (e.g. Monteith 1977 and after; recalled); bases as for
sowing.

Outside check: the published days come back in the reference garden; six months on, six months on.
"""

from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray
from seedbank.science.season import climate as year
from seedbank.science.season.climate import YEAR, Climate
from seedbank.science.season.sowing_windows import (
    REFERENCE,
    WARMER_UNDER_C,
    Method,
    Span,
    after_winter,
    day_of_year,
    warmth_c_d,
)


@dataclass(frozen=True, slots=True)
class Course:
    """A kind's published course in the reference garden. ``flowering`` and ``ripe`` by day of the
    year; ``ripe_after_days`` fewest from flower to ripe seed. ``stands_winter``: it flowers the
    year after it is sown, so that warmth counts from mid-winter."""

    flowering: Span
    stands_winter: bool
    tender: bool
    ripe: Span | None = None
    ripe_after_days: float | None = None


@dataclass(frozen=True, slots=True)
class Seasons:
    """When it flowers and when seed is ripe, by day of the year; None: not in this climate."""

    flowering: Span | None
    ripe: Span | None


def seasons(
    course: Course,
    climate: Climate,
    sown_here: int | None,
    sown_there: int | None,
    method: Method = Method.OPEN,
) -> Seasons:
    """Flowering and ripe seed of plants sown (annuals) on days after mid-winter, here and there.

    A day of sowing not known counts from mid-winter. Ripening ends with frost for tender kinds.
    """
    lift = WARMER_UNDER_C[method]
    there = warmth_c_d(REFERENCE, course.tender)
    here = warmth_c_d(climate, course.tender, lift)
    counts = not course.stands_winter and sown_here is not None and sown_there is not None
    start_there, start_here = (sown_there or 0, sown_here or 0) if counts else (0, 0)
    flowers = [
        after_winter(REFERENCE, d) for d in (course.flowering.from_day, course.flowering.to_day)
    ]
    long = max(0, flowers[1] - flowers[0])
    need = [max(0.0, there[d] - there[start_there]) for d in (flowers[0], flowers[0] + long)]
    end = _stops(course, climate, method)
    first = _reached(here, start_here, need[0], end)
    if first is None:
        return Seasons(None, None)
    last = _reached(here, start_here, need[1], end)
    last = end if last is None else min(max(last, first + long), end)
    flowering = Span(day_of_year(climate, first), day_of_year(climate, last))
    return Seasons(flowering, _ripe(course, climate, here, (flowers[0], first), end))


def _ripe(
    course: Course,
    climate: Climate,
    here: FloatArray,
    first: tuple[int, int],
    end: int,
) -> Span | None:
    """From the months and the days published, whichever is later there, to as much later here."""
    there = warmth_c_d(REFERENCE, course.tender)
    at = first[0]
    ends: list[int] = []
    if course.ripe is not None:
        ends = [after_winter(REFERENCE, d) for d in (course.ripe.from_day, course.ripe.to_day)]
    if course.ripe_after_days is not None:
        soonest = min(YEAR, at + round(course.ripe_after_days))
        ends = [max(ends[0], soonest), max(ends[1], soonest)] if ends else [soonest, soonest + 30]
    if not ends:
        return None
    need = [max(0.0, there[min(d, YEAR)] - there[at]) for d in ends]
    ripe = _reached(here, first[1], need[0], end)
    if ripe is None:
        return None
    last = _reached(here, first[1], need[1], end)
    return Span(day_of_year(climate, ripe), day_of_year(climate, end if last is None else last))


def _stops(course: Course, climate: Climate, method: Method) -> int:
    """Days after mid-winter when all is over: the first frost for tender kinds, else the next
    mid-winter."""
    frost = year.frost_span(climate)
    if not course.tender or frost is None or method is not Method.OPEN:
        return YEAR - 1
    return min(frost[1], YEAR - 1)


def _reached(warmth: FloatArray, start: int, need_c_d: float, end: int) -> int | None:
    """First day after ``start`` by which so much warmth came; None: not by ``end``."""
    start = max(start, 0)
    if start > end:
        return None
    found = int(np.searchsorted(warmth, warmth[start] + need_c_d - 1e-9))
    return max(found, start) if found <= end else None
