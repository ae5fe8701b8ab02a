"""What would end a risk of crossing, what to mind about it, and the standing saved seed carries.

Sentences and their choice are ours; the practices behind them are common, no single source.
Outside check: a table of carriers and matings written by hand.

The purity a saved lot carries with it: isolated, or at risk of crossing, in one sentence.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from seedbank.science.crossing.crossing_risk import Carrier, Likelihood, Mating, Requirement
from seedbank.science.crossing.crossing_stands import (
    CrossingCheck,
    Exposure,
    FloweringStand,
    Mend,
    Standing,
    StandIs,
    Way,
)
from seedbank.science.crossing.flowering_days import (
    WHOLE_YEAR,
    YEAR_DAYS,
    DayWindow,
    cut_before,
    day_words,
    gap_days,
    shared_windows,
)
from seedbank.science.quantities import Reason

SHORT_GAP_DAYS = 14
"""A gap between flowering windows that a warm or cold spring may close: our choice."""

_STOP = {
    StandIs.SEED_CROP: "Take the flowers off {name} before {day}, and all that follow",
    StandIs.LEFT_TO_RUN: "Cut or pull {name} before {day}",
    StandIs.SELF_SOWN: "Pull {name} before {day}",
    StandIs.NEIGHBOUR: "Ask your neighbour to cut {name} before {day}",
    StandIs.WILD: "Cut {name} within reach before {day}, and again as it comes back",
}


STOP_FLOWERING = "stop-flowering"
"""Code of the mend that is done on a day: cutting, pulling, taking flowers off."""

_WAYS = {
    "another-year": "another year",
    "cage": "a cage",
    "hand-pollination": "hand pollination",
    "bag": "bags",
    "move": "distance",
}


def mends_for(
    target: FloweringStand,
    other: FloweringStand,
    required_m: float,
    shared: Sequence[DayWindow],
) -> tuple[Mend, ...]:
    """Ways to end the risk from ``other``, the easiest for the gardener first (our order).

    Never empty: metres always serve. Outside check: none is offered that ``check_crossing`` would
    not accept, tried on every pair of whole, wrapping, touching and one-day windows.
    """
    stop = _stop(target, other, shared)
    found = [] if stop is None else [stop]
    if other.what is StandIs.SEED_CROP:
        found.append(Mend("another-year", f"Save {target.name} or {other.name} in another year."))
    if target.carrier is not Carrier.WIND:
        bees = _needs_insects(target)
        found.append(Mend("cage", "Cage the seed parents" + (" with insects." if bees else ".")))
        hand = "Pollinate by hand, flowers closed the evening before and again afterwards."
        if bees:
            found.append(Mend("hand-pollination", hand))
        if target.mating is not Mating.OUTCROSSING:
            found.append(Mend("bag", "Bag flower trusses before they open."))
    apart = f"Grow the two at least {required_m:.0f} m apart."
    if other.what is StandIs.WILD:
        apart = f"Grow {target.name} at least {required_m:.0f} m away from {other.name}."
    return (*found, Mend("move", apart))


def _stop(
    target: FloweringStand, other: FloweringStand, shared: Sequence[DayWindow]
) -> Mend | None:
    """Cutting ``other`` in time; None where no day of cutting would end the risk."""
    if target.flowering is None and other.flowering is None:
        text = _STOP[other.what].format(name=other.name, day="the seed crop opens")
        return Mend(STOP_FLOWERING, f"{text}.")
    if target.flowering in (None, WHOLE_YEAR) and other.flowering in (None, WHOLE_YEAR):
        return None
    start = shared[0].from_day if other.flowering is None else other.flowering.from_day
    first = min((window.from_day for window in shared), key=lambda day: (day - start) % YEAR_DAYS)
    left = cut_before(other.flowering or WHOLE_YEAR, first)
    if left is not None and shared_windows(target.flowering or WHOLE_YEAR, left):
        return None  # it flowers all year, the seed crop over New Year: cut late, it is too late
    text = _STOP[other.what].format(name=other.name, day=day_words(first))
    return Mend(STOP_FLOWERING, f"{text}.", first)


def no_day_to_cut(exposure: Exposure) -> str:
    """That no day of cutting ends a risk, and what does; empty where one does, or at no risk.

    Wording is ours. Outside check: it names the mends that are left.
    """
    codes = [mend.code for mend in exposure.mends]
    if not codes or STOP_FLOWERING in codes:
        return ""
    *most, last = (_WAYS[code] for code in codes)
    ways = f"{', '.join(most)} or {last}" if most else last
    return f"No day of cutting {exposure.stand.name} ends the risk: only {ways} keeps them apart."


def _needs_insects(target: FloweringStand) -> bool:
    return target.carrier is Carrier.INSECT and target.mating is not Mating.SELFING


def warnings_for(
    target: FloweringStand,
    requirement: Requirement,
    exposures: Sequence[Exposure],
    protections: Collection[Way],
) -> tuple[Reason, ...]:
    """What to mind: covers that don't hold, seed that won't set, and what was only assumed.

    Outside check: a table of carriers and matings written by hand.
    """
    found = [*_cover_warnings(target, protections)]
    if requirement.assumed and exposures:
        metres = requirement.distance_m
        text = f"No distance is known for this kind; {metres:.0f} m is usual for its mating."
        found.append(Reason("distance-assumed", text, {"required_m": metres}))
    if target.flowering is None and exposures:
        text = "When it flowers is not known: it is taken to flower with everything listed."
        found.append(Reason("own-window-unknown", text, {}))
    for exposure in exposures:
        found += _stand_warnings(target, exposure)
    return tuple(found)


def _cover_warnings(target: FloweringStand, protections: Collection[Way]) -> list[Reason]:
    wind = target.carrier is Carrier.WIND
    found = []

    def warn(code: str, text: str) -> None:
        found.append(Reason(code, text, {}))

    if Way.CAGE in protections and wind:
        warn("cage-lets-wind-through", "The wind carries its pollen through a cage's netting: a "
             "cage does not isolate it.")  # fmt: skip
    elif Way.CAGE in protections and _needs_insects(target):
        warn("cage-needs-insects", "A cage keeps out the insects it needs: bring pollinators into "
             "the cage, or little seed will set.")  # fmt: skip
    if Way.BAG in protections and wind:
        warn("bag-starves-wind-crop", "Bags do not serve a crop pollinated by wind over many "
             "plants: bagged plants get no pollen from each other.")  # fmt: skip
    elif Way.BAG in protections and _needs_insects(target):
        warn("bag-needs-hand", "No insect gets under a bag: carry pollen between the plants by "
             "hand, or little seed will set.")  # fmt: skip
    if Way.HAND_POLLINATION in protections and wind:
        warn("hand-covers-flowers", "Flowers must stay covered before and after the hand work; "
             "that serves maize, not small flowers like those of beet or spinach.")  # fmt: skip
    return found


def _stand_warnings(target: FloweringStand, exposure: Exposure) -> list[Reason]:
    stand, found = exposure.stand, []
    if text := no_day_to_cut(exposure):
        found.append(Reason("no-day-to-cut", text, {}))
    if stand.distance_m is None:
        text = f"How far off {stand.name} stands is not known: it is taken as side by side."
        found.append(Reason("distance-unknown", text, {}))
    if target.flowering is None:
        return found
    if stand.flowering is None:
        text = f"When {stand.name} flowers is not known: it is taken as the same days."
        return [*found, Reason("window-unknown", text, {})]
    if exposure.isolated_by == (Way.TIME,):
        gap = gap_days(target.flowering, stand.flowering)
        if gap < SHORT_GAP_DAYS:
            text = f"Only {gap} days lie between it and {stand.name}: watch both, seasons differ."
            found.append(Reason("gap-short", text, {"gap_days": float(gap)}))
    return found


def exposure_words(exposure: Exposure) -> str:
    """One risk in words: ``name (likely; 40 m of 305 m, 12 days in flower together)``.

    Wording is ours. Outside check: every number is the exposure's own.
    """
    stand = exposure.stand
    metres = "distance unknown" if stand.distance_m is None else f"{stand.distance_m:.0f} m"
    far = f"{metres}, {exposure.required_m:.0f} m asked"
    chance = "likely" if exposure.likelihood is Likelihood.LIKELY else "unlikely"
    days = f"up to {exposure.shared_days}" if stand.flowering is None else exposure.shared_days
    return f"{stand.name} ({chance}; {far}; {days} days in flower together)"


_MOST_NAMED = 3

_WORDS = {
    Way.DISTANCE: "distance",
    Way.TIME: "time of flowering",
    Way.CAGE: "a cage",
    Way.BAG: "bags",
    Way.HAND_POLLINATION: "hand pollination",
}


@dataclass(frozen=True, slots=True)
class PurityStanding:
    """``standing`` isolated | risk, a sentence for every later answer, and all stands at risk."""

    standing: Standing
    sentence: str
    with_names: tuple[str, ...]


def purity_standing(check: CrossingCheck) -> PurityStanding:
    """What seed of the checked crop carries: how it is isolated, or what it may have crossed with.

    Speaks of what is known to flower; the worst three are named. Wording is ours. Outside check:
    standing and names are those of the check, by test.
    """
    if check.standing is Standing.ISOLATED:
        return PurityStanding(Standing.ISOLATED, _isolated(check), ())
    named = check.risks[:_MOST_NAMED]
    said = [exposure_words(e) for e in named]
    if len(check.risks) > _MOST_NAMED:
        said.append(f"{len(check.risks) - _MOST_NAMED} more")
    names = tuple(e.stand.name for e in check.risks)
    return PurityStanding(Standing.RISK, f"Risk of crossing with {_list(said)}.", names)


def _isolated(check: CrossingCheck) -> str:
    ways = [_WORDS[way] for way in check.isolated_by if way is not Way.ONLY_VARIETY]
    if not check.exposures:
        by = f", and kept by {_list(ways)}" if ways else ""
        return f"Isolated: nothing else that crosses with it is known to flower within reach{by}."
    return f"Isolated by {_list(ways)} from all that is known to flower and may cross with it."


def _list(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
