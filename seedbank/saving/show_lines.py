"""Seed parents to start from a lot, and how much of its founders' diversity its line has kept.

A lot's pedigree as lists within lists: it reads as well aloud and on a phone as drawn.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
from sqlmodel import Session, col, select

from seedbank.common.answers import Source, distinct, finding_answers
from seedbank.common.catalogue import text_of
from seedbank.common.errors import Conflict
from seedbank.database.find import row_id
from seedbank.facts.growing import under_cover_factor
from seedbank.facts.kinds import KindFacts
from seedbank.facts.sources import Fact, sources_of
from seedbank.kinds.edit_kinds import facts_for
from seedbank.lots.show_lots import lot_entry, variety_brief
from seedbank.lots.tables.lots import Lot, ancestors, find_lot, parents
from seedbank.saving.answers import (
    DriftAnswer,
    LossShareAnswer,
    ParentsYearAnswer,
    PedigreeStep,
    SeedParentsAnswer,
)
from seedbank.saving.gather_flowering import mating_of
from seedbank.science.crossing.crossing_risk import Mating, Purpose
from seedbank.science.quantities import Finding
from seedbank.science.saving.drift import (
    drift_cautions,
    effective_with_selfing,
    pedigree_drift,
    pedigree_order,
)
from seedbank.science.saving.seed_parents import (
    COMMON_PRACTICE,
    ParentLosses,
    ParentsOutlook,
    parents_outlook,
    plants_to_start,
    usual_losses,
)
from seedbank.science.sowing.emergence import (
    ShiftLaw,
    WeightedNodes,
    emergence_nodes,
    lot_viability,
)
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.verdicts.lot_prospects import PARENTS_CONFIDENCE, USUAL_PARENTS, under_cover_shift
from seedbank.viability.forecast_viability import (
    Forecast,
    forecast,
    lot_nodes,
    most_to_advise,
    seeds_counted,
)
from seedbank.viability.show_viability import EQUATION_SOURCES

# Share of seed that plants set on their own pollen: our choice.
_SELFED = {Mating.OUTCROSSING: 0.0, Mating.MIXED: 0.5, Mating.SELFING: 1.0}

SOURCES = (
    Source(
        text="drift 1 - 1/(2 Ne) a generation: Wright 1931, Genetics 16:97-159; Crow & Kimura "
        "1970, ch. 7; Falconer & Mackay 1996, ch. 4",
        confidence="memory",
    ),
    Source(text="50/500 rule of thumb: Franklin 1980", confidence="memory"),
    Source(text="share of selfed seed by how a kind mates: our choice", confidence="computed"),
)


def show_drift(session: Session, code: str) -> DriftAnswer:
    """What is left of the founders' diversity in a lot. Raises MisreadCode, NotThere."""
    lot = find_lot(session, code)
    entry = lot_entry(session, lot)
    facts = facts_for(session, entry.kind)
    number = row_id(lot.id)
    mating, stems = mating_of(facts), parents(session, {number, *ancestors(session, number)})
    order, shares = pedigree_order({mine: stems[mine] for mine in sorted(stems)})
    line = {row_id(one.id): one for one in session.exec(select(Lot).where(col(Lot.id).in_(stems)))}
    counted = [line[mine].seed_parents for mine in _numbers(order)]
    effective = np.array([_effective(plants, mating) for plants in counted])
    drift = pedigree_drift(shares, effective)
    at = _numbers(order).index(number)
    diversity, unknown = float(drift.kept[at]), float(drift.unknown_steps[at])
    constant = _known(float(drift.effective_number[at]))
    maintain = facts.seed_parents_maintain
    asked = None if maintain is None else maintain.value
    mine = lot.seed_parents if stems[number] else None
    cautions = drift_cautions(
        mating, mine, asked, math.inf if constant is None else constant, diversity, unknown
    )
    cited = sources_of(facts.mating, maintain)
    return DriftAnswer(
        lot=lot.code,
        variety=variety_brief(entry),
        purity=lot.purity,
        purity_note=lot.purity_note,
        generations=round(float(drift.generations[at]), 2),
        effective_number=None if constant is None else round(constant, 1),
        kept=round(diversity, 4),
        inbreeding=round(float(drift.inbreeding[at]), 4),
        uncounted_generations=round(unknown, 2),
        parents_asked=asked,
        line=[
            PedigreeStep(
                lot=line[one].code,
                parents=[line[stem].code for stem in stems[one]],
                seed_parents=line[one].seed_parents,
                effective_parents=_known(round(float(effective[position]), 1)),
                kept=round(float(drift.kept[position]), 4),
            )
            for position, one in enumerate(_numbers(order))
        ],
        cautions=finding_answers(cautions),
        sources=distinct(
            [*SOURCES, *(Source(text=s.text, confidence=s.confidence) for s in cited)]
        ),
    )


def _numbers(order: tuple[object, ...]) -> list[int]:
    return [number for number in order if isinstance(number, int)]


def _effective(plants: int | None, mating: Mating) -> float:
    """Effective number of seed parents; nan: not counted. One plant can't be less than half."""
    if plants is None:
        return math.nan
    return float(effective_with_selfing(plants, _SELFED[mating]))


def _known(number: float) -> float | None:
    return number if math.isfinite(number) else None


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

    Raised in modules under cover, then planted out. Raises MisreadCode, NotThere, Conflict: it is
    no seed of one kind.
    """
    lot = find_lot(session, code)
    predicted = forecast(session, today=today, lot_ids=[row_id(lot.id)], ahead_years=2.0)
    if predicted.planting_stock[0]:
        mixture = predicted.collection.mixture[0]
        code = "mixture-not-true" if mixture else "planting-stock-not-sown"
        raise Conflict(code, "code", lot.code)
    facts = predicted.facts_of(0)
    asked = parents_asked(facts, purpose)
    wanted = asked.parents if parents is None else parents
    biennial = facts.flowers_next_year
    losses = usual_losses(biennial)
    held = most_to_advise(predicted.collection, 0)
    emergence = [_emergence(predicted, predicted.today + year * DAYS_PER_YEAR) for year in (0, 1)]
    need = plants_to_start(wanted, emergence[0], losses, confidence, available=held)
    outlook = parents_outlook(wanted, emergence, held, losses, confidence, biennial)
    return SeedParentsAnswer(
        lot=lot.code,
        variety=variety_brief(lot_entry(session, lot)),
        purpose=purpose,
        purity=lot.purity,
        purity_note=lot.purity_note,
        seeds_held=seeds_counted(predicted.collection, 0),
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
        sources=_sources(predicted, asked),
    )


def _emergence(forecast: Forecast, day: float) -> WeightedNodes:
    """Chance that a unit sown on a day, in modules under cover, gives a plant."""
    return emergence_nodes(
        lot_viability(lot_nodes(forecast, 0, day)), ShiftLaw(under_cover_shift())
    )


def _losses(losses: ParentLosses) -> list[LossShareAnswer]:
    named = (
        (Finding("lost-before-flowering"), losses.growing),
        (Finding("lost-over-winter"), losses.winter),
        (Finding("lost-by-roguing"), losses.rogued),
    )
    return [
        LossShareAnswer(
            what=text_of(what), share=round(share.alpha / (share.alpha + share.beta), 4)
        )
        for what, share in named
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


def _sources(forecast: Forecast, asked: ParentsAsked) -> list[Source]:
    used = sources_of(asked.fact, forecast.facts_of(0).life_cycle, under_cover_factor())
    cited = [Source(text=s.text, confidence=s.confidence) for s in used]
    assumed = [] if asked.fact is not None else [_ASSUMED]
    return distinct([*EQUATION_SOURCES, _PRACTICE, *assumed, *cited])


DEEPEST = 12
"""Generations told; older lots are counted."""


@dataclass(frozen=True, slots=True)
class Ancestor:
    """A lot of the line with what it was grown from.

    ``seed_parents`` plants gave its seed (None: not counted); ``kept_pct`` of the founders'
    diversity is still in it. ``told`` already further up: its own parents aren't told again.
    ``left_out``: it has parents too many generations back to tell.
    """

    lot: str
    seed_parents: int | None
    kept_pct: float
    founder: bool
    told: bool = False
    left_out: bool = False
    parents: tuple["Ancestor", ...] = ()


def pedigree_of(answer: DriftAnswer) -> Ancestor:
    """The line of a lot, itself at the root."""
    steps = {step.lot: step for step in answer.line}
    return _ancestor(answer.lot, steps, set(), 1)


def _ancestor(
    lot: str, steps: Mapping[str, PedigreeStep], shown: set[str], generation: int
) -> Ancestor:
    step = steps[lot]
    again, deep = lot in shown and bool(step.parents), generation > DEEPEST
    shown.add(lot)
    within = () if again or deep else step.parents
    return Ancestor(
        lot=lot,
        seed_parents=step.seed_parents,
        kept_pct=100.0 * step.kept,
        founder=not step.parents,
        told=again,
        left_out=deep and bool(step.parents) and not again,
        parents=tuple(_ancestor(one, steps, shown, generation + 1) for one in within),
    )
