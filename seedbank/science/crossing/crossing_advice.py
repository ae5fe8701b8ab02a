"""What would end a risk of crossing, what to mind about it, and the standing saved seed carries.

The choice is ours; the practices behind it are common, no single source. Outside check: a table
of carriers and matings written by hand.
"""

import math
from collections.abc import Collection, Iterable, Sequence

from seedbank.science.crossing.crossing_risk import Carrier, Mating, Requirement
from seedbank.science.crossing.crossing_stands import (
    CrossingCheck,
    Exposure,
    FloweringStand,
    Standing,
    StandIs,
    Way,
)
from seedbank.science.crossing.flowering_days import (
    WHOLE_YEAR,
    YEAR_DAYS,
    DayWindow,
    cut_before,
    gap_days,
    shared_windows,
)
from seedbank.science.quantities import Finding

SHORT_GAP_DAYS = 14
"""A gap between flowering windows that a warm or cold spring may close: our choice."""

STOP_FLOWERING = "stop-flowering"
"""Code of the mend that is done on a day: cutting, pulling, taking flowers off."""


def mends_for(
    target: FloweringStand,
    other: FloweringStand,
    required_m: float,
    shared: Sequence[DayWindow],
) -> tuple[Finding, ...]:
    """Ways to end the risk from ``other``, the easiest for the gardener first (our order).

    Never empty: metres always serve. Outside check: none is offered that ``check_crossing`` would
    not accept, tried on every pair of whole, wrapping, touching and one-day windows.
    """
    stop = _stop(target, other, shared)
    found = [] if stop is None else [stop]
    both = {"name": target.name, "other": other.name}
    if other.what is StandIs.SEED_CROP:
        found.append(Finding("another-year", both))
    if target.carrier is not Carrier.WIND:
        bees = _needs_insects(target)
        found.append(Finding("cage", {"with_insects": bees}))
        if bees:
            found.append(Finding("hand-pollination"))
        if target.mating is not Mating.OUTCROSSING:
            found.append(Finding("bag"))
    return (*found, Finding("move", {**both, "what": other.what, "required_m": required_m}))


def _stop(
    target: FloweringStand, other: FloweringStand, shared: Sequence[DayWindow]
) -> Finding | None:
    """Cutting ``other`` in time; None where no day of cutting would end the risk."""
    first = math.inf
    if target.flowering is not None or other.flowering is not None:
        if target.flowering in (None, WHOLE_YEAR) and other.flowering in (None, WHOLE_YEAR):
            return None
        start = shared[0].from_day if other.flowering is None else other.flowering.from_day
        first = min((one.from_day for one in shared), key=lambda day: (day - start) % YEAR_DAYS)
        left = cut_before(other.flowering or WHOLE_YEAR, first)
        if left is not None and shared_windows(target.flowering or WHOLE_YEAR, left):
            return None  # it flowers all year, the crop over New Year: cut late, it is too late
    return Finding(STOP_FLOWERING, {"what": other.what, "name": other.name, "before_day": first})


def no_day_to_cut(exposure: Exposure) -> Finding | None:
    """That no day of cutting ends a risk, and what does; None where one does, or at no risk.

    Outside check: it names the mends that are left.
    """
    codes = [mend.code for mend in exposure.mends]
    if not codes or STOP_FLOWERING in codes:
        return None
    return Finding(
        "no-day-to-cut",
        {"name": exposure.stand.name, "ways": _ways(codes), "ways_number": len(codes)},
    )


def _ways(codes: Iterable[str]) -> tuple[Finding, ...]:
    return tuple(Finding("kept-apart-by", {"way": code}) for code in codes)


def _needs_insects(target: FloweringStand) -> bool:
    return target.carrier is Carrier.INSECT and target.mating is not Mating.SELFING


def warnings_for(
    target: FloweringStand,
    requirement: Requirement,
    exposures: Sequence[Exposure],
    protections: Collection[Way],
) -> tuple[Finding, ...]:
    """What to mind: covers that don't hold, seed that won't set, and what was only assumed.

    Outside check: a table of carriers and matings written by hand.
    """
    found = _cover_warnings(target, protections)
    if requirement.assumed and exposures:
        reach = {"least_m": requirement.least_m, "required_m": requirement.distance_m}
        found.append(Finding("distance-assumed", reach))
    if target.flowering is None and exposures:
        found.append(Finding("own-window-unknown"))
    for exposure in exposures:
        found += _stand_warnings(target, exposure)
    return tuple(found)


def _cover_warnings(target: FloweringStand, protections: Collection[Way]) -> list[Finding]:
    wind = target.carrier is Carrier.WIND
    codes = []
    if Way.CAGE in protections and wind:
        codes.append("cage-lets-wind-through")
    elif Way.CAGE in protections and _needs_insects(target):
        codes.append("cage-needs-insects")
    if Way.BAG in protections and wind:
        codes.append("bag-starves-wind-crop")
    elif Way.BAG in protections and _needs_insects(target):
        codes.append("bag-needs-hand")
    if Way.HAND_POLLINATION in protections and wind:
        codes.append("hand-covers-flowers")
    return [Finding(code) for code in codes]


def _stand_warnings(target: FloweringStand, exposure: Exposure) -> list[Finding]:
    stand, found = exposure.stand, []
    name = {"name": stand.name}
    if no_day := no_day_to_cut(exposure):
        found.append(no_day)
    if stand.distance_m is None:
        found.append(Finding("distance-unknown", name))
    if target.flowering is None:
        return found
    if stand.flowering is None:
        return [*found, Finding("window-unknown", name)]
    if exposure.isolated_by == (Way.TIME,):
        gap = gap_days(target.flowering, stand.flowering)
        if gap < SHORT_GAP_DAYS:
            found.append(Finding("gap-short", {**name, "gap_days": gap}))
    return found


def exposure_found(exposure: Exposure) -> Finding:
    """One risk: who, how likely, how far off, and how long both flower.

    Outside check: every number is the exposure's own.
    """
    stand = exposure.stand
    return Finding(
        "exposure",
        {
            "name": stand.name,
            "likelihood": exposure.likelihood,
            "distance_m": math.inf if stand.distance_m is None else stand.distance_m,
            "required_m": exposure.required_m,
            "shared_days": exposure.shared_days,
            "window": "unknown" if stand.flowering is None else "known",
        },
    )


_MOST_NAMED = 3


def purity_found(check: CrossingCheck) -> Finding:
    """What seed of the checked crop carries: how it is isolated, or what it may have crossed with.

    Speaks of what is known to flower; the worst three are named. Outside check: standing and names
    are those of the check, by test.
    """
    if check.standing is Standing.RISK:
        named = tuple(exposure_found(one) for one in check.risks[:_MOST_NAMED])
        if more := len(check.risks) - len(named):
            named += (Finding("exposures-more", {"more": more}),)
        return Finding("crossing-risk", {"exposures": named})
    ways = _ways(way for way in check.isolated_by if way is not Way.ONLY_VARIETY)
    if check.exposures:
        return Finding("isolated-by", {"ways": ways})
    if ways:
        return Finding("isolated-and-kept-by", {"ways": ways})
    return Finding("isolated-alone")
