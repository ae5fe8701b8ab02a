"""How much of its founders' diversity a lot's line has kept, over every generation on record."""

import math

import numpy as np
from sqlmodel import Session, col, select

from seedbank.common.answers import ReasonAnswer, Source, distinct
from seedbank.database.find import row_id
from seedbank.facts.sources import sources_of
from seedbank.kinds.kind_facts import facts_for
from seedbank.lots.show_lots import lot_entry, variety_brief
from seedbank.lots.tables.lots import Lot, ancestors, find_lot, parents
from seedbank.saving.answers.lines import DriftAnswer, PedigreeStep
from seedbank.saving.gather_flowering import mating_of
from seedbank.science.crossing.crossing_risk import Mating
from seedbank.science.saving.drift import effective_with_selfing, pedigree_drift, pedigree_order
from seedbank.science.saving.drift_cautions import drift_cautions

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
    kept, unknown = float(drift.kept[at]), float(drift.unknown_steps[at])
    constant = _known(float(drift.effective_number[at]))
    maintain = facts.seed_parents_maintain
    asked = None if maintain is None else maintain.value
    mine = lot.seed_parents if stems[number] else None
    cautions = drift_cautions(
        mating, mine, asked, math.inf if constant is None else constant, kept, unknown
    )
    cited = sources_of(facts.mating, maintain)
    return DriftAnswer(
        lot=lot.code,
        variety=variety_brief(entry),
        purity=lot.purity,
        purity_note=lot.purity_note,
        generations=round(float(drift.generations[at]), 2),
        effective_number=None if constant is None else round(constant, 1),
        kept=round(kept, 4),
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
        cautions=[
            ReasonAnswer(code=one.code, text=one.text, numbers=dict(one.numbers))
            for one in cautions
        ],
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
