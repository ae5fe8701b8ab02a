"""A kind's published test, and in how many parts a lot's seeds are best set."""

import re

from sqlmodel import Session

from seedbank.common.answers import distinct
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
)

_SUBSTRATA = {
    "B": "between two blotters",
    "TB": "on top of a blotter",
    "T": "in a folded or rolled paper towel",
    "S": "in sand or a peat mix",
    "TS": "on the surface of sand or a mix",
    "P": "in a covered dish, on moist paper or sand",
    "C": "pressed half-way into cellulose wadding",
    "TC": "on cellulose wadding",
    "RB": "in a folded blotter whose lid doesn't touch the seed",
    "TP": "on top of paper",
    "BP": "between paper, rolled or pleated",
}
# The published directions as a gardener would be told them; meanings: test_method_codes.csv.
_SAID = {
    RemedyKind.LIGHT: "Give light at least 8 hours a day, seed on the surface.",
    RemedyKind.KNO3: "Moisten the first time with potassium nitrate, 2 g in a litre of water.",
    RemedyKind.WASH: "Rinse the seed under running water and blot it before it is set.",
    RemedyKind.SCARIFY: "Scrape or take off what covers the seed.",
}
_PRINTED = {
    "dry side": "Keep it on the dry side: press the moist paper on dry paper first.",
    "air dry 7 h": "Let the seed dry in the air for 7 hours first.",
    "very wet towels": "Keep the towel very wet.",
    "paper toxicity": "If the root tips are injured, test again in soil with plain water.",
    "flood 24 h": "Add a little water above the seed, and pour it off after 24 hours.",
    "KNO3 or soil": "Moisten with potassium nitrate, 2 g in a litre of water, or test in soil.",
}
_ONE_PART, _TWO_PARTS, _PART = 19, 50, 25  # seeds; common practice, no single source


def show_test_method(session: Session, code: str) -> TestMethodAnswer | None:
    """The published test of a lot's kind, None if none is known. Raises MisreadCode, NotThere."""
    facts = facts_for(session, lot_entry(session, find_lot(session, code)).kind)
    return describe_method(facts)


def describe_method(facts: KindFacts) -> TestMethodAnswer | None:
    """The published test of a kind in plain words; None where none is known."""
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
        substrata=[_SUBSTRATA[code] for code in substrata.value],
        temperatures=[RegimeAnswer(low_c=t.low_c, high_c=t.high_c) for t in regimes.value],
        first_count_days=None if first is None else first.value,
        final_count_days=final.value,
        directions=[
            DirectionAnswer(text=_direction(one), only_if_dormant=one.only_if_dormant)
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
    return TestProposalAnswer(
        seeds=advice.seeds,
        replicates=replicates,
        smallest_useful=smallest,
        text=_proposal(advice, replicates, smallest),
    )


def parts_of(seeds: int) -> list[int]:
    """Seeds as replicates of nearly one size: one, two, or as many as keep each to 25 or so."""
    if seeds < 1:
        return []
    count = 1 if seeds <= _ONE_PART else 2 if seeds <= _TWO_PARTS else -(-seeds // _PART)
    each, over = divmod(seeds, count)
    return [each + (at < over) for at in range(count)]


def _proposal(advice: TestAdviceAnswer, replicates: list[int], smallest: int | None) -> str:
    if not replicates:
        spare = advice.seeds_spare
        left = (
            "How much there is was never counted."
            if spare is None
            else "None can be spared above what is kept in reserve."
            if spare < 1
            else f"{spare} could be spared above what is kept in reserve."
        )
        return f"No test pays for the seed it would use up. {left}"
    said = f"Set {advice.seeds} seeds"
    if len(replicates) > 1:
        said += f" in {len(replicates)} replicates, so that a bad one shows"
    said += "."
    if smallest is not None and smallest < advice.seeds:
        said += f" If you would rather keep seed, {smallest} is the fewest that still tells enough."
    elif smallest == advice.seeds:
        said += " Fewer would not tell enough to be worth their loss."
    return said


def _direction(one: Remedy) -> str:
    printed = one.text.removeprefix("dormant: ")
    if printed in _PRINTED:
        return _PRINTED[printed]
    if one.kind is RemedyKind.PRECHILL:
        return _prechill(one)
    if one.kind is RemedyKind.SOAK and one.hours:
        return f"Soak it in water for {one.hours:g} hours first."
    if one.kind is RemedyKind.TEMPERATURE and one.temperatures_c:
        best = "It is best tested at" if printed.startswith("prefer") else "Test it at"
        return f"{best} {_degrees(one)}."
    return _SAID.get(one.kind) or printed[:1].upper() + printed[1:] + "."


def _prechill(one: Remedy) -> str:
    at = f" at {_degrees(one)}" if one.temperatures_c else " in a refrigerator"
    days = f" for {one.days:g} days" if one.days else " for some days"
    return f"Chill it moist{at}{days} first; those days don't count."


def _degrees(one: Remedy) -> str:
    return " or ".join(f"{celsius:g} °C" for celsius in one.temperatures_c)


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
