"""Asleep or dead? What the seeds that did not sprout, and how they were tested, say of a lot.

A seed that failed to sprout is hard (its coat keeps water out), fresh (took up water, stayed sound)
or dead; the first two live (7 CFR 201.57 and 201.57a; ISTA Rules chapter 5, from memory).
Remedies are the kind's published test directions (7 CFR 201.58), passed in as plain values.

Outside checks: ``scipy.stats.beta`` for the share of living seed; each finding has a case that must
raise it and one that must not.
"""

from dataclasses import dataclass, field
from enum import StrEnum

from scipy import special

from seedbank.science.germination.proportion import proportion_interval
from seedbank.science.quantities import INTERVAL_LEVEL, Interval

AFTER_RIPENING_MONTHS = 3.0  # common practice, no single source
TEMPERATURE_LEEWAY_C = 2.0  # ISTA Rules chapter 5, from memory
FRESH_WORTH_CHECKING = 0.05  # ISTA Rules chapter 5, from memory: confirm fresh seed from 5 % up
CLEAR = 0.95
COMMON_PRACTICE = "common practice, no single source"
METHOD_SOURCE = "7 CFR 201.58"
CLASS_SOURCE = "7 CFR 201.57 and 201.57a"


class Treatment(StrEnum):
    SCARIFY = "scarify"
    PRECHILL = "prechill"
    NITRATE = "nitrate"
    LIGHT = "light"
    COOLER = "cooler"
    REGULAR_TEMPERATURE = "regular temperature"
    AFTER_RIPEN = "after-ripen"


class DormancyCode(StrEnum):
    HARD_SEED = "hard-seed"
    FRESH_SEED = "fresh-seed"
    FRESHLY_HARVESTED = "freshly-harvested"
    TOO_WARM = "too-warm"
    WRONG_TEMPERATURE = "wrong-temperature"
    LIGHT_NEEDED = "light-needed"
    LOOKS_DEAD = "looks-dead"
    LOOKS_DORMANT = "looks-dormant"
    UNCLEAR = "dead-or-dormant-unclear"


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
    """One thing the test says: what, in plain words, what to do, the numbers and the source.

    Fractions in ``numbers`` run 0..1; names carry other units.
    """

    code: DormancyCode
    text: str
    remedy: str
    treatments: tuple[Treatment, ...]
    source: str
    numbers: dict[str, float] = field(default_factory=dict)


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
    return interval, float(special.betainc(living + 0.5, test.dead + 0.5, 0.5))


def _share(count: int, test: ObservedTest, level: float) -> dict[str, float]:
    interval = proportion_interval(count, test.seeds, level)
    return {"share": count / test.seeds, "low": interval.low, "high": interval.high}


def _hard(test: ObservedTest, traits: DormancyTraits, level: float) -> DormancyFinding | None:
    if not test.hard:
        return None
    text = f"{test.hard} of {test.seeds} seeds stayed hard: alive, but water did not get in."
    if not traits.has_hard:
        text += " Hard seed is not on record for this kind: cut one to make sure it is sound."
    remedy = "Nick or rub through the coat, away from the scar, and soak overnight before sowing."
    if Treatment.SCARIFY in test.treated:
        remedy = "Scarified already: go deeper on the seeds left, or leave them to soften wet."
    return DormancyFinding(
        DormancyCode.HARD_SEED,
        text,
        remedy,
        (Treatment.SCARIFY,),
        f"{CLASS_SOURCE}; remedy {COMMON_PRACTICE}",
        _share(test.hard, test, level),
    )


def _fresh(test: ObservedTest, traits: DormancyTraits, level: float) -> DormancyFinding | None:
    if not test.fresh:
        return None
    text = f"{test.fresh} of {test.seeds} seeds took up water, are sound and did not sprout."
    if test.fresh / test.seeds >= FRESH_WORTH_CHECKING:
        text += " That is enough to be worth confirming: cut a few and look for firm white tissue."
    offers = _offers(traits)
    left = {t: words for t, words in offers.items() if t not in test.treated}
    source = traits.method_source
    if not offers:
        left = {Treatment.PRECHILL: "keep the moist seed at 5-10 C for 7 days, then test as usual"}
        source = COMMON_PRACTICE
    elif not left:
        left = {Treatment.AFTER_RIPEN: "every published remedy is used: store dry a month or two"}
        source = COMMON_PRACTICE
    words = "; ".join(left.values())
    return DormancyFinding(
        DormancyCode.FRESH_SEED,
        text,
        f"{words[0].upper()}{words[1:]}.",
        tuple(left),
        source,
        _share(test.fresh, test, level),
    )


def _offers(traits: DormancyTraits) -> dict[Treatment, str]:
    """The kind's published ways to wake fresh seed, in the order they are usually tried."""
    offers = {}
    if traits.prechill_c:
        at = " or ".join(f"{c:g}" for c in traits.prechill_c)
        days = "" if traits.prechill_days is None else f" for {traits.prechill_days:g} days"
        offers[Treatment.PRECHILL] = f"keep the moist seed at {at} C{days}, then test as usual"
    if traits.nitrate_helps:
        offers[Treatment.NITRATE] = (
            "moisten with 0.2 % potassium nitrate (2 g in 1 L) in place of water"
        )
    if traits.wants_light:
        offers[Treatment.LIGHT] = "give light at least 8 hours a day, seed on the surface"
    return offers


def _freshly_harvested(test: ObservedTest) -> DormancyFinding | None:
    months = test.months_since_harvest
    if months is None or not 0.0 <= months < AFTER_RIPENING_MONTHS:
        return None
    return DormancyFinding(
        DormancyCode.FRESHLY_HARVESTED,
        f"The seed was {months:.1f} months from harvest; many kinds sleep at first.",
        "Store dry at room temperature until three months old and test again.",
        (Treatment.AFTER_RIPEN,),
        COMMON_PRACTICE,
        {"months_since_harvest": months, "after_ripening_months": AFTER_RIPENING_MONTHS},
    )


def _temperature(test: ObservedTest, traits: DormancyTraits) -> DormancyFinding | None:
    """Too warm for a kind that sleeps in heat; else outside the published test temperatures."""
    if test.temp_c is None:
        return None
    if traits.heat_dormancy_c is not None and test.temp_c > traits.heat_dormancy_c[0]:
        start, sure = traits.heat_dormancy_c
        how = "is" if test.temp_c > sure else "may be"
        return DormancyFinding(
            DormancyCode.TOO_WARM,
            f"At {test.temp_c:g} C this kind {how} put to sleep by heat ({start:g}-{sure:g} C up).",
            f"Test and sow cooler, under {start:g} C; the first day counts most.",
            (Treatment.COOLER,),
            traits.heat_source,
            {"temp_c": test.temp_c, "heat_from_c": start, "heat_sure_c": sure},
        )
    low, high = traits.test_low_c, traits.test_high_c
    if low is None or high is None:
        return None
    if low - TEMPERATURE_LEEWAY_C <= test.temp_c <= high + TEMPERATURE_LEEWAY_C:
        return None
    printed = f"{low:g} C" if low == high else f"{low:g}-{high:g} C"
    return DormancyFinding(
        DormancyCode.WRONG_TEMPERATURE,
        f"Tested at {test.temp_c:g} C; the published test is at {printed}.",
        f"Test again at {printed}.",
        (Treatment.REGULAR_TEMPERATURE,),
        traits.method_source,
        {"temp_c": test.temp_c, "test_low_c": low, "test_high_c": high},
    )


def _light(test: ObservedTest, traits: DormancyTraits) -> DormancyFinding | None:
    if not traits.wants_light or test.in_light is not False or Treatment.LIGHT in test.treated:
        return None
    return DormancyFinding(
        DormancyCode.LIGHT_NEEDED,
        "Tested in the dark; this kind's published test is in light.",
        "Test again on the surface, in light at least 8 hours a day, and sow shallow.",
        (Treatment.LIGHT,),
        traits.method_source,
    )


def _dead_or_dormant(test: ObservedTest, level: float, amiss: bool) -> DormancyFinding | None:
    """The summing-up: of the seeds that did not sprout, are most dead or most alive?"""
    if not test.unsprouted:
        return None
    interval, mostly_dead = dormant_share(test, level)
    living = test.hard + test.fresh
    seen = f"{test.dead} of the {test.unsprouted} seeds that did not sprout were dead"
    if mostly_dead >= CLEAR:
        code, text = DormancyCode.LOOKS_DEAD, f"{seen}: this looks like death, not dormancy."
        remedy = "Waking treatments won't bring them back, unless firm seeds were counted as dead."
        if amiss:
            remedy += " The conditions were off, so test again before giving the lot up."
    elif mostly_dead <= 1.0 - CLEAR:
        code = DormancyCode.LOOKS_DORMANT
        text = f"{seen}, {living} alive: this looks like dormancy, not death."
        remedy = "Treat as above and test again before giving the lot up."
    else:
        code, text = DormancyCode.UNCLEAR, f"{seen}: too few to tell death from dormancy."
        remedy = (
            "Press each seed left: soft or mouldy is dead, firm is alive; leave firm ones longer."
        )
    numbers = {
        "dormant_share_low": interval.low,
        "dormant_share_high": interval.high,
        "probability_mostly_dead": mostly_dead,
        "viable_share": (test.normal + living) / test.seeds,
    }
    return DormancyFinding(code, text, remedy, (), CLASS_SOURCE, numbers)
