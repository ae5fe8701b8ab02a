"""A kind's published test, and in how many parts a lot's seeds are best set."""

from sqlmodel import Session

from seedbank.common.answers import distinct, finding_answers
from seedbank.facts.kinds import KindFacts
from seedbank.facts.methods import Remedy, RemedyKind
from seedbank.germination.answers import (
    DirectionAnswer,
    RegimeAnswer,
    TestAdviceAnswer,
    TestMethodAnswer,
    TestProposalAnswer,
)
from seedbank.germination.tables import Pretreatment
from seedbank.kinds.answers import source_of
from seedbank.kinds.edit_kinds import facts_for
from seedbank.lots.show_lots import lot_entry
from seedbank.lots.tables.lots import find_lot
from seedbank.science.germination.dormancy import (
    COMMON_PRACTICE,
    METHOD_SOURCE,
    DormancyTraits,
    Treatment,
    either_c,
)
from seedbank.science.quantities import Finding

# Directions printed in words of their own; the others by kind. Meanings: test_method_codes.csv.
_PRINTED = {
    "dry side": "direction-dry-side",
    "air dry 7 h": "direction-air-dry",
    "very wet towels": "direction-very-wet",
    "paper toxicity": "direction-paper-toxicity",
    "retest with CaNO3 0.3-0.6% if collar rot": "direction-calcium-nitrate",
    "ethephon or ethylene": "direction-ethylene",
    "KNO3 or soil": "direction-nitrate-or-soil",
}
_OF_KIND = {
    RemedyKind.LIGHT: "direction-light",
    RemedyKind.KNO3: "direction-nitrate",
    RemedyKind.WASH: "direction-wash",
    RemedyKind.SCARIFY: "direction-scarify",
    RemedyKind.FLOOD: "direction-flood",
    RemedyKind.SOAK: "direction-soak",
    RemedyKind.PRECHILL: "direction-prechill",
    RemedyKind.TEMPERATURE: "direction-temperature",
}
_ONE_PART, _TWO_PARTS, _PART = 19, 50, 25  # seeds; common practice, no single source


def show_test_method(session: Session, code: str) -> TestMethodAnswer | None:
    """The published test of a lot's kind, None if none is known. Raises MisreadCode, NotThere."""
    facts = facts_for(session, lot_entry(session, find_lot(session, code)).kind)
    return describe_method(facts)


def describe_method(facts: KindFacts) -> TestMethodAnswer | None:
    """The published test of a kind; None where none is known."""
    substrata, regimes, final = (
        facts.test_substrata,
        facts.test_temperatures,
        facts.final_count_days,
    )
    if substrata is None or regimes is None or final is None:
        return None
    remedies = facts.test_remedies.value if facts.test_remedies else ()
    first, hard = facts.first_count_days, facts.counts_hard_seed
    used = [fact for fact in (substrata, regimes, first, final, facts.test_remedies) if fact]
    return TestMethodAnswer(
        substrata=finding_answers(
            Finding("substratum-published", {"on": code}) for code in substrata.value
        ),
        temperatures=[RegimeAnswer(low_c=t.low_c, high_c=t.high_c) for t in regimes.value],
        first_count_days=None if first is None else first.value,
        final_count_days=final.value,
        directions=[
            DirectionAnswer.of(_direction(one), only_if_dormant=one.only_if_dormant)
            for one in remedies
        ],
        hard_seed_expected=bool(hard and hard.value),
        sources=distinct([source_of(fact) for fact in used]),
    )


def propose_test(advice: TestAdviceAnswer) -> TestProposalAnswer:
    """Replicates for the test that is advised, and the smallest that would still pay."""
    useful = [s.seeds for s in advice.sizes if s.seeds and s.cost is not None and s.value > s.cost]
    smallest = min(useful, default=None)
    replicates = parts_of(advice.seeds)
    return TestProposalAnswer.of(
        _proposal(advice, replicates, smallest),
        seeds=advice.seeds,
        replicates=replicates,
        smallest_useful=smallest,
    )


def parts_of(seeds: int) -> list[int]:
    """Seeds as replicates of nearly one size: one, two, or as many as keep each to 25 or so."""
    if seeds < 1:
        return []
    count = 1 if seeds <= _ONE_PART else 2 if seeds <= _TWO_PARTS else -(-seeds // _PART)
    each, over = divmod(seeds, count)
    return [each + (at < over) for at in range(count)]


def _proposal(advice: TestAdviceAnswer, replicates: list[int], smallest: int | None) -> Finding:
    if not replicates:
        return Finding("no-test-pays", {"spare_seeds": advice.seeds_spare})
    fewest = advice.seeds if smallest is None else smallest
    return Finding(
        "set-seeds",
        {
            "seeds": advice.seeds,
            "replicates": len(replicates),
            "fewest_seeds": fewest,
            "fewer_would_do": fewest < advice.seeds,
        },
    )


def _direction(one: Remedy) -> Finding:
    printed = one.text.removeprefix("dormant: ")
    code = _PRINTED.get(printed) or _OF_KIND.get(one.kind, "direction-printed")
    return Finding(
        code,
        {
            **either_c(one.temperatures_c),
            "days": one.days,
            "hours": one.hours,
            "preferred": printed.startswith("prefer"),
            "printed": printed,
        },
    )


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
    heat = facts.heat_dormancy_c
    minimum = facts.minimum_germination_pct
    return DormancyTraits(
        has_hard=_may_be_hard(facts),
        wants_light=_has(remedies, RemedyKind.LIGHT),
        nitrate_helps=_has(remedies, RemedyKind.KNO3),
        prechill_c=chill.temperatures_c if chill else (),
        prechill_days=chill.days if chill else None,
        test_low_c=low,
        test_high_c=high,
        heat_dormancy_c=(heat.value.low, heat.value.high) if heat else None,
        expected=minimum.value / 100.0 if minimum else _USUAL_GERMINATION,
        method_source=facts.test_remedies.source if facts.test_remedies else METHOD_SOURCE,
        heat_source=heat.source if heat else COMMON_PRACTICE,
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
