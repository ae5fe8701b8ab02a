"""A kind's published test, read into what the science of tests asks for."""

import re

from seedbank.facts.kinds import KindFacts
from seedbank.facts.methods import Remedy, RemedyKind
from seedbank.germination.tables.germination_tests import Pretreatment
from seedbank.science.germination.dormancy import (
    COMMON_PRACTICE,
    METHOD_SOURCE,
    DormancyTraits,
    Treatment,
)

_HEAT = re.compile(r"[Hh]eat dormancy above about (\d+)-(\d+) C")
_HARD_FAMILIES = frozenset({"Convolvulaceae", "Fabaceae", "Malvaceae"})  # botany, from memory
_USUAL_GERMINATION = 0.8  # what is expected where no minimum is published

TREATMENTS = {
    Pretreatment.PRECHILL: Treatment.PRECHILL,
    Pretreatment.LIGHT: Treatment.LIGHT,
    Pretreatment.SCARIFY: Treatment.SCARIFY,
}
"""Pretreatments that dormancy findings know; soaking wakes nothing by itself."""


def dormancy_traits(facts: KindFacts) -> DormancyTraits:
    """What is published of the kind's dormancy; the defaults where nothing is."""
    remedies = facts.test_remedies.value if facts.test_remedies else ()
    chill = next((one for one in remedies if one.kind is RemedyKind.PRECHILL), None)
    low, high = _span(facts)
    heat, heat_source = _heat(facts)
    minimum = facts.minimum_germination_pct
    return DormancyTraits(
        has_hard=_may_be_hard(facts),
        wants_light=_has(remedies, RemedyKind.LIGHT),
        nitrate_helps=_has(remedies, RemedyKind.KNO3),
        prechill_c=chill.temperatures_c if chill else (),
        prechill_days=chill.days if chill else None,
        test_low_c=low,
        test_high_c=high,
        heat_dormancy_c=heat,
        expected=minimum.value / 100.0 if minimum else _USUAL_GERMINATION,
        method_source=facts.test_remedies.source if facts.test_remedies else METHOD_SOURCE,
        heat_source=heat_source,
    )


def _may_be_hard(facts: KindFacts) -> bool:
    """Whether hard seed is to be expected: by the published test, or in the family (memory)."""
    published = facts.counts_hard_seed is not None and facts.counts_hard_seed.value
    return published or (facts.family is not None and facts.family.value in _HARD_FAMILIES)


def _has(remedies: tuple[Remedy, ...], kind: RemedyKind) -> bool:
    return any(remedy.kind is kind for remedy in remedies)


def _span(facts: KindFacts) -> tuple[float | None, float | None]:
    if facts.test_temperatures is None:
        return None, None
    regimes = facts.test_temperatures.value
    return min(one.low_c for one in regimes), max(one.high_c for one in regimes)


def _heat(facts: KindFacts) -> tuple[tuple[float, float] | None, str]:
    fact = facts.soil_max_c
    said = _HEAT.search(fact.note) if fact else None
    if fact is None or said is None:
        return None, COMMON_PRACTICE
    return (float(said[1]), float(said[2])), fact.source
