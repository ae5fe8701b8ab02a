"""How many plants to start from a lot so that enough seed parents are left, this year and next."""

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from seedbank.common.answers import Source, distinct
from seedbank.database.find import row_id
from seedbank.facts.growing import under_cover_factor
from seedbank.facts.kind_facts import KindFacts
from seedbank.facts.sources import Fact, sources_of
from seedbank.lots.show_lots import lot_entry, variety_brief
from seedbank.lots.tables.lots import find_lot
from seedbank.saving.answers.lines import LossShareAnswer, ParentsYearAnswer, SeedParentsAnswer
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.saving.seed_parents import (
    COMMON_PRACTICE,
    ParentLosses,
    ParentsOutlook,
    parents_outlook,
    plants_to_start,
    usual_losses,
)
from seedbank.science.sowing.emergence import (
    WeightedNodes,
    emergence_nodes,
    lot_viability,
    shift_of_factor,
)
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.verdicts.judge_lots import PARENTS_CONFIDENCE, USUAL_PARENTS
from seedbank.viability.amounts_not_counted import most_to_advise, seeds_counted
from seedbank.viability.forecast_viability import Forecast, forecast, lot_nodes
from seedbank.viability.show_viability import EQUATION_SOURCES

_PRACTICE = Source(text=f"usual losses of seed parents: {COMMON_PRACTICE}", confidence="memory")
_ASSUMED = Source(text=f"number of seed parents: {COMMON_PRACTICE}", confidence="memory")


@dataclass(frozen=True, slots=True)
class ParentsAsked:
    """Seed parents a purpose asks of a kind; ``fact`` None: the kind has no figure."""

    parents: int
    fact: Fact[int] | None


def parents_asked(facts: KindFacts, purpose: Purpose) -> ParentsAsked:
    """Home use takes the fewest viable, keeping what maintains the kind, rarity the most."""
    fact = {
        Purpose.HOME: facts.seed_parents_viable,
        Purpose.KEEP: facts.seed_parents_maintain,
        Purpose.RARE: facts.seed_parents_rare,
    }[purpose]
    return ParentsAsked(int(USUAL_PARENTS) if fact is None else fact.value, fact)


def show_seed_parents(
    session: Session,
    code: str,
    *,
    purpose: Purpose,
    today: date,
    parents: int | None = None,
    confidence: float = PARENTS_CONFIDENCE,
) -> SeedParentsAnswer:
    """What to sow and raise of a lot for ``parents`` plants, those of the purpose if left out.

    Raised in modules under cover, then planted out. Raises MisreadCode, NotThere.
    """
    lot = find_lot(session, code)
    seen = forecast(session, today=today, lot_ids=[row_id(lot.id)], ahead_years=2.0)
    facts = seen.facts_of(0)
    asked = parents_asked(facts, purpose)
    wanted = asked.parents if parents is None else parents
    biennial = facts.flowers_next_year
    losses = usual_losses(biennial)
    held = most_to_advise(seen.collection, 0)
    emergence = [_emergence(seen, seen.today + year * DAYS_PER_YEAR) for year in (0, 1)]
    need = plants_to_start(wanted, emergence[0], losses, confidence, available=held)
    outlook = parents_outlook(wanted, emergence, held, losses, confidence, biennial)
    return SeedParentsAnswer(
        lot=lot.code,
        variety=variety_brief(lot_entry(session, lot)),
        purpose=purpose,
        purity=lot.purity,
        purity_note=lot.purity_note,
        seeds_held=seeds_counted(seen.collection, 0),
        parents=wanted,
        parents_are_assumed=asked.fact is None and parents is None,
        confidence=confidence,
        seeds=need.seeds,
        enough=need.attained,
        plants=need.plants,
        chance=round(need.reached, 4),
        sure_parents=need.sure_parents,
        likely_parents=[need.kept.likely.low, need.kept.likely.high],
        losses=_losses(losses),
        years=_years(outlook, today),
        sources=_sources(seen, asked),
    )


def _emergence(seen: Forecast, day: float) -> WeightedNodes:
    """Chance that a unit sown on a day, in modules under cover, gives a plant."""
    shift = float(shift_of_factor(under_cover_factor().value))
    return emergence_nodes(lot_viability(lot_nodes(seen, 0, day)), shift, 0.0)


def _losses(losses: ParentLosses) -> list[LossShareAnswer]:
    named = {
        "before flowering": losses.growing,
        "over winter": losses.winter,
        "by roguing": losses.rogued,
    }
    return [
        LossShareAnswer(what=what, share=round(share.alpha / (share.alpha + share.beta), 4))
        for what, share in named.items()
        if share is not None
    ]


def _years(outlook: ParentsOutlook, today: date) -> list[ParentsYearAnswer]:
    columns = (outlook.sow_year, outlook.flower_year, outlook.chance, outlook.seeds, outlook.enough)
    return [
        ParentsYearAnswer(
            sow_year=today.year + sow,
            flower_year=today.year + flower,
            chance=round(chance, 4),
            seeds=seeds if enough else None,
            enough=enough,
        )
        for sow, flower, chance, seeds, enough in zip(
            *(column.tolist() for column in columns), strict=True
        )
    ]


def _sources(seen: Forecast, asked: ParentsAsked) -> list[Source]:
    used = sources_of(asked.fact, seen.facts_of(0).life_cycle, under_cover_factor())
    cited = [Source(text=s.text, confidence=s.confidence) for s in used]
    assumed = [] if asked.fact is not None else [_ASSUMED]
    return distinct([*EQUATION_SOURCES, _PRACTICE, *assumed, *cited])
