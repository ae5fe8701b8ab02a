"""Asleep or dead? What the seeds that did not sprout, and how they were tested, say of a lot.

A seed that failed to sprout is hard (its coat keeps water out), fresh (took up water, stayed sound)
or dead; the first two live (7 CFR 201.57 and 201.57a; ISTA Rules chapter 5, from memory).
Remedies are the kind's published test directions (7 CFR 201.58), passed in as plain values.

Outside checks: ``scipy.stats.beta`` for the share of living seed; each finding has a case that must
raise it and one that must not.
"""

from dataclasses import dataclass
from enum import StrEnum

import scipy

from seedbank.science.germination.proportion import proportion_interval
from seedbank.science.quantities import INTERVAL_LEVEL, Finding, Interval, Value

AFTER_RIPENING_MONTHS = 3.0  # common practice, no single source
TEMPERATURE_LEEWAY_C = 2.0  # ISTA Rules chapter 5, from memory
FRESH_WORTH_CHECKING = 0.05  # ISTA Rules chapter 5, from memory: confirm fresh seed from 5 % up
CLEAR = 0.95
COMMON_PRACTICE = "common practice, no single source"
METHOD_SOURCE = "7 CFR 201.58"
CLASS_SOURCE = "7 CFR 201.57 and 201.57a"


class Treatment(StrEnum):
    """What was done to the seed before or during the test."""

    SCARIFY = "scarify"
    PRECHILL = "prechill"
    LIGHT = "light"


@dataclass(frozen=True, slots=True)
class DormancyTraits:
    """What is published of the kind; the defaults mean nothing is.

    ``prechill_c`` alternatives, for ``prechill_days``. ``test_low_c``..``test_high_c`` spans its
    test temperatures. ``heat_dormancy_c`` (from, surely by): lettuce (25, 30). ``expected`` is the
    germination (0..1) under which something is amiss: the legal minimum, 0.8 if there is none.
    """

    has_hard: bool = False
    wants_light: bool = False
    nitrate_helps: bool = False
    prechill_c: tuple[float, ...] = ()
    prechill_days: float | None = None
    test_low_c: float | None = None
    test_high_c: float | None = None
    heat_dormancy_c: tuple[float, float] | None = None
    expected: float = 0.8
    method_source: str = METHOD_SOURCE
    heat_source: str = COMMON_PRACTICE


@dataclass(frozen=True, slots=True)
class ObservedTest:
    """One test's totals (units) and how it was run; None where not recorded."""

    normal: int
    abnormal: int
    hard: int
    fresh: int
    dead: int
    temp_c: float | None = None
    in_light: bool | None = None
    months_since_harvest: float | None = None
    treated: frozenset[Treatment] = frozenset()

    @property
    def seeds(self) -> int:
        return self.normal + self.abnormal + self.hard + self.fresh + self.dead

    @property
    def unsprouted(self) -> int:
        return self.hard + self.fresh + self.dead


@dataclass(frozen=True, slots=True)
class DormancyFinding:
    """One thing the test says, what to do about it, and where both are from.

    Fractions among the numbers run 0..1.
    """

    found: Finding
    remedy: Finding
    source: str


def judge_dormancy(
    test: ObservedTest, traits: DormancyTraits, level: float = INTERVAL_LEVEL
) -> tuple[DormancyFinding, ...]:
    """Findings on a finished test, what was seen on the seeds first, the summing-up last.

    Faults of the conditions are raised only where germination falls short of ``traits.expected`` or
    fresh seed was found: a test that did well needs no excuse. ``level`` is that of the intervals.
    Raises ``ValueError`` for negative counts or none at all. Checked finding by finding.
    """
    counts = (test.normal, test.abnormal, test.hard, test.fresh, test.dead)
    if min(counts) < 0 or test.seeds == 0:
        raise ValueError(f"a finished test has counts, none negative, got {counts}")
    found = [_hard(test, traits, level), _fresh(test, traits, level)]
    short = test.normal / test.seeds < traits.expected
    if short or test.fresh:
        found += [_freshly_harvested(test), _temperature(test, traits), _light(test, traits)]
    if short:
        amiss = any(finding is not None for finding in found[2:])
        found.append(_dead_or_dormant(test, level, amiss))
    return tuple(finding for finding in found if finding is not None)


def dormant_share(test: ObservedTest, level: float = INTERVAL_LEVEL) -> tuple[Interval, float]:
    """Share of living (hard or fresh) seed among the unsprouted, and P(that share < 1/2).

    Jeffreys posterior Beta(living + 1/2, dead + 1/2); abnormal seedlings sprouted and are left out.
    With nothing unsprouted the interval is 0..1 and the probability 1/2. Checked against
    ``scipy.stats.beta``.
    """
    living = test.hard + test.fresh
    interval = proportion_interval(living, test.unsprouted, level)
    return interval, float(scipy.special.betainc(living + 0.5, test.dead + 0.5, 0.5))


def _share(count: int, test: ObservedTest, level: float) -> dict[str, Value]:
    interval = proportion_interval(count, test.seeds, level)
    shares = {"share": count / test.seeds, "low": interval.low, "high": interval.high}
    return {"seeds": count, "seeds_set": test.seeds, **shares}


def _hard(test: ObservedTest, traits: DormancyTraits, level: float) -> DormancyFinding | None:
    if not test.hard:
        return None
    again = Treatment.SCARIFY in test.treated
    return DormancyFinding(
        Finding("hard-seed", {**_share(test.hard, test, level), "on_record": traits.has_hard}),
        Finding("remedy-scarify-again" if again else "remedy-scarify"),
        f"{CLASS_SOURCE}; remedy {COMMON_PRACTICE}",
    )


def _fresh(test: ObservedTest, traits: DormancyTraits, level: float) -> DormancyFinding | None:
    if not test.fresh:
        return None
    enough = test.fresh / test.seeds >= FRESH_WORTH_CHECKING
    found = Finding("fresh-seed", {**_share(test.fresh, test, level), "worth_confirming": enough})
    offers = _offers(traits)
    left = tuple(way for treatment, way in offers if treatment not in test.treated)
    if left:
        return DormancyFinding(found, Finding("remedy-wake", {"ways": left}), traits.method_source)
    remedy = "remedy-store-dry" if offers else "remedy-prechill"
    return DormancyFinding(found, Finding(remedy), COMMON_PRACTICE)


def _offers(traits: DormancyTraits) -> list[tuple[Treatment | None, Finding]]:
    """The kind's published ways to wake fresh seed, in the order they are usually tried."""
    offers: list[tuple[Treatment | None, Finding]] = []
    if traits.prechill_c:
        chill = {**either_c(traits.prechill_c), "days": traits.prechill_days}
        offers.append((Treatment.PRECHILL, Finding("wake-prechill", chill)))
    if traits.nitrate_helps:
        offers.append((None, Finding("wake-nitrate")))
    if traits.wants_light:
        offers.append((Treatment.LIGHT, Finding("wake-light")))
    return offers


def either_c(temperatures_c: tuple[float, ...]) -> dict[str, Value]:
    """One temperature or two to choose from, as the messages name them."""
    first, second, *_ = (*temperatures_c, None, None)
    return {"at_c": first, "or_c": second}


def _freshly_harvested(test: ObservedTest) -> DormancyFinding | None:
    months = test.months_since_harvest
    if months is None or not 0.0 <= months < AFTER_RIPENING_MONTHS:
        return None
    numbers: dict[str, Value] = {
        "months_since_harvest": months,
        "after_ripening_months": AFTER_RIPENING_MONTHS,
    }
    return DormancyFinding(
        Finding("freshly-harvested", numbers),
        Finding("remedy-after-ripen", numbers),
        COMMON_PRACTICE,
    )


def _temperature(test: ObservedTest, traits: DormancyTraits) -> DormancyFinding | None:
    """Too warm for a kind that sleeps in heat; else outside the published test temperatures."""
    if test.temp_c is None:
        return None
    if traits.heat_dormancy_c is not None and test.temp_c > traits.heat_dormancy_c[0]:
        start, sure = traits.heat_dormancy_c
        heat: dict[str, Value] = {"temp_c": test.temp_c, "heat_from_c": start, "heat_sure_c": sure}
        found = Finding("too-warm", {**heat, "surely": test.temp_c > sure})
        return DormancyFinding(found, Finding("remedy-cooler", heat), traits.heat_source)
    low, high = traits.test_low_c, traits.test_high_c
    if low is None or high is None:
        return None
    if low - TEMPERATURE_LEEWAY_C <= test.temp_c <= high + TEMPERATURE_LEEWAY_C:
        return None
    numbers: dict[str, Value] = {"temp_c": test.temp_c, "test_low_c": low, "test_high_c": high}
    numbers["constant"] = low == high
    return DormancyFinding(
        Finding("wrong-temperature", numbers),
        Finding("remedy-published-temperature", numbers),
        traits.method_source,
    )


def _light(test: ObservedTest, traits: DormancyTraits) -> DormancyFinding | None:
    if not traits.wants_light or test.in_light is not False or Treatment.LIGHT in test.treated:
        return None
    return DormancyFinding(Finding("light-needed"), Finding("remedy-light"), traits.method_source)


def _dead_or_dormant(test: ObservedTest, level: float, amiss: bool) -> DormancyFinding | None:
    """The summing-up: of the seeds that did not sprout, are most dead or most alive?"""
    if not test.unsprouted:
        return None
    interval, mostly_dead = dormant_share(test, level)
    living = test.hard + test.fresh
    numbers: dict[str, Value] = {
        "dead_seeds": test.dead,
        "living_seeds": living,
        "unsprouted_seeds": test.unsprouted,
        "dormant_share_low": interval.low,
        "dormant_share_high": interval.high,
        "probability_mostly_dead": mostly_dead,
        "viable_share": (test.normal + living) / test.seeds,
    }
    if mostly_dead >= CLEAR:
        code, remedy = "looks-dead", Finding("remedy-none", {"conditions_off": amiss})
    elif mostly_dead <= 1.0 - CLEAR:
        code, remedy = "looks-dormant", Finding("remedy-treat-and-test")
    else:
        code, remedy = "dead-or-dormant-unclear", Finding("remedy-press-seeds")
    return DormancyFinding(Finding(code, numbers), remedy, CLASS_SOURCE)
