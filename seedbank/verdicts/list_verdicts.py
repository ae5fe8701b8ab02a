"""Verdicts as they are answered: every lot's, one variety's, and the seed to save this year.

A small collection is judged while its page is made, in a second or two; a large one in the
background, so that a page can say so and not keep one waiting.
"""

from collections.abc import Iterable, Mapping
from contextlib import suppress
from datetime import date
from threading import Thread

import numpy as np
from pydantic import Field
from sqlalchemy import Engine, StaticPool, func
from sqlmodel import Session, col, select

from seedbank.common.answers import (
    CautionAnswer,
    FindingAnswer,
    Source,
    VarietyBrief,
    ViabilityPoint,
    distinct,
    finding_answers,
)
from seedbank.common.errors import Busy
from seedbank.common.forms import Filter, KindAsked, VarietyAsked
from seedbank.database.cache import CacheRegion
from seedbank.database.engine import session_factory
from seedbank.database.lanes import JUDGEMENTS
from seedbank.database.queries import NOTHING_YET, Cursor, Page, Paging
from seedbank.database.transaction import let_go
from seedbank.facts.growing import under_cover_factor
from seedbank.facts.sources import sources_of
from seedbank.kinds.tables import OtherKeepers, OtherKeepersAsked, slugs_asked
from seedbank.lots.show_lots import kind_cautions
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.science.quantities import BoolArray, Finding, IntArray
from seedbank.science.sowing.emergence import (
    ShiftLaw,
    emergence_nodes,
    lot_viability,
    shift_of_factor,
)
from seedbank.science.sowing.seed_need import smallest_seeds
from seedbank.science.verdicts.verdict import NO_VERDICT, VERDICTS, Verdict
from seedbank.verdicts.answers import SeedToSaveAnswer, SeedToSaveItem, VerdictAnswer
from seedbank.verdicts.judge_lots import (
    PARENTS_CONFIDENCE,
    Judgement,
    judge_collection,
    judged_already,
    judging_now,
)
from seedbank.viability.forecast_viability import most_to_advise, nodes_of_lots, seeds_counted
from seedbank.viability.show_viability import EQUATION_SOURCES, point_of
from seedbank.viability.tables.stock_columns import KEEPERS, day_date

Seeds = Mapping[int, int | None]

_SEEDS: CacheRegion[Seeds] = CacheRegion(lane=JUDGEMENTS)


def seeds_for_parents(session: Session, judged: Judgement) -> Seeds:
    """Seeds to sow by the lot's position, of lots judged to save seed from; None: all there are.

    They raise the seed parents with the confidence asked, sown in modules under cover. Kept in
    memory for as long as the judgement is.
    """

    def work() -> Seeds:
        let_go(session)
        return _worked_out(judged)

    return _SEEDS.get(session, judged, work)


def _worked_out(judged: Judgement) -> Seeds:
    lots, parents = judged.forecast.collection, judged.verdicts.inputs.parents_needed
    shift = float(shift_of_factor(under_cover_factor().value))
    saved = np.flatnonzero(judged.verdicts.where(Verdict.SAVE_SEED))
    return {
        at: smallest_seeds(
            emergence_nodes(lot_viability(nodes), ShiftLaw(shift)),
            int(parents[at]),
            PARENTS_CONFIDENCE,
            available=most_to_advise(lots, at),
        )
        for at, nodes in nodes_of_lots(judged.forecast, saved, judged.forecast.today)
    }


VERDICT_SOURCES = (
    *EQUATION_SOURCES,
    Source(
        text="regenerate under 85 % of initial viability or three sowings: FAO Genebank Standards "
        "2014, 4.3.4 and 4.4.1",
        confidence="memory",
    ),
    Source(text="how the chances weigh against each other: our choice", confidence="computed"),
)
_SAVE = (Verdict.RESCUE, Verdict.SAVE_SEED)


class VerdictFilter(Filter):
    verdict: Verdict | None = Field(default=None, description="only these")
    kind: KindAsked = None
    variety: VarietyAsked = None
    other_keepers: OtherKeepersAsked = None


def list_verdicts(
    session: Session, wanted: VerdictFilter, paging: Paging, *, today: date
) -> Page[VerdictAnswer]:
    """Verdicts, the most urgent first; every lot is judged, a page of them answered."""
    judged = judge_collection(session, today=today)
    order = _ordered(judged, np.flatnonzero(_asked(judged, wanted)))
    start = 0
    if paging.after is not None:
        place = np.flatnonzero(judged.forecast.collection.lot_id[order] == paging.after.id)
        start = int(place[0]) + 1 if place.size else order.size
    page = order[start : start + paging.limit]
    last = int(judged.forecast.collection.lot_id[page[-1]]) if page.size else 0
    following = Cursor(None, last) if start + paging.limit < order.size else None
    return Page([answer_verdict(judged, int(at)) for at in page], following)


def show_verdict(session: Session, code: str, *, today: date) -> VerdictAnswer:
    """The verdict on one lot, beside its variety's other lots. Raises MisreadCode, NotThere."""
    lot = find_lot(session, code)
    judged = judge_collection(session, today=today)
    return answer_verdict(
        judged, int(np.flatnonzero(judged.forecast.collection.lot_id == lot.id)[0])
    )


def lots_with_verdict(session: Session, verdict: Verdict, *, today: date) -> frozenset[int]:
    """Ids of the lots with a verdict, for lists that filter by it."""
    judged = judge_collection(session, today=today)
    return frozenset(judged.forecast.collection.lot_id[judged.verdicts.where(verdict)].tolist())


def list_seed_to_save(
    session: Session,
    *,
    today: date,
    other_keepers: Iterable[OtherKeepers] = (OtherKeepers.NONE, OtherKeepers.FEW),
) -> SeedToSaveAnswer:
    """Varieties of the rarities asked for whose seed should be saved this year, rarest first."""
    judged = judge_collection(session, today=today)
    lots = judged.forecast.collection
    rank = [KEEPERS.index(keeper) for keeper in other_keepers]
    wanted = np.isin(lots.other_keepers, rank) & np.isin(
        judged.verdicts.code, [VERDICTS.index(verdict) for verdict in _SAVE]
    )
    order = _ordered(judged, np.flatnonzero(wanted), rarest_first=True)
    sow = seeds_for_parents(session, judged)
    items = [_save(judged, at, today, sow.get(at)) for at in order.tolist()]
    facts = [judged.forecast.facts[kind] for kind in dict.fromkeys(lots.kind_id[order].tolist())]
    used = sources_of(
        *(one for f in facts for one in (f.seed_parents_rare, f.seed_parents_maintain))
    )
    cautions = _cautions(judged, order)
    return SeedToSaveAnswer(
        on=today,
        items=items,
        remarks=_remarks(judged, items, today.year),
        cautions=cautions,
        sources=distinct(
            [
                *VERDICT_SOURCES,
                *(Source(text=s.text, confidence=s.confidence) for s in used),
                *(caution.source for caution in cautions),
            ]
        ),
    )


def answer_verdict(judged: Judgement, at: int) -> VerdictAnswer:
    """One lot's verdict as it is answered."""
    lots, inputs = judged.forecast.collection, judged.verdicts.inputs
    needed = float(judged.needed[at])
    saved_here = bool(lots.saved_here[at])
    stock = judged.forecast.planting_stock[at]
    cautions = kind_cautions(judged.forecast.facts_of(at), bool(lots.treated[at]), saved_here)
    return VerdictAnswer(
        lot=lots.code[at],
        variety=variety_of(judged, at),
        other_keepers=KEEPERS[int(lots.other_keepers[at])],
        verdict=judged.verdicts.verdict(at),
        urgency=round(float(judged.verdicts.urgency[at]), 4),
        balance_seeds=seeds_counted(lots, at),
        purity=lots.purity[at],
        purity_note=lots.purity_note[at],
        viability=alive_today(judged, at),
        recalled_share=judged.forecast.recalled_share(at),
        viability_needed_pct=None if needed >= 1.0 or stock else round(100.0 * needed, 2),
        seed_parents=int(inputs.parents_needed[at]),
        probability_parents_now=_chance(inputs.p_parents_now[at]),
        probability_parents_next_season=_chance(inputs.p_parents_next[at]),
        reasons=finding_answers(judged.verdicts.reasons(at)),
        to_narrow=finding_answers(_to_narrow(judged, at)),
        cautions=cautions,
        sources=distinct([*VERDICT_SOURCES, *(caution.source for caution in cautions)]),
    )


def _to_narrow(judged: Judgement, at: int) -> list[Finding]:
    """How many others keep the variety, where nobody has said and it would turn the verdict."""
    if judged.if_rare[at] == NO_VERDICT:
        return []
    fleeting = not judged.forecast.reckoned(at)
    verdict = VERDICTS[int(judged.if_rare[at])]
    return [Finding("record-other-keepers", {"verdict": verdict, "fleeting": fleeting})]


def _save(judged: Judgement, at: int, today: date, seeds_to_sow: int | None) -> SeedToSaveItem:
    lots, inputs = judged.forecast.collection, judged.verdicts.inputs
    facts = judged.forecast.facts_of(at)
    verdict = judged.verdicts.verdict(at)
    assert verdict is not None
    return SeedToSaveItem(
        variety=variety_of(judged, at),
        other_keepers=KEEPERS[int(lots.other_keepers[at])],
        verdict=verdict,
        sow_lot=lots.code[at],
        seeds_held=seeds_counted(lots, at),
        seeds_to_sow=seeds_to_sow,
        seed_parents=int(inputs.parents_needed[at]),
        flowers_in=today.year + int(facts.flowers_next_year),
        flowers_at_earliest=facts.may_flower_later,
        viability=alive_today(judged, at),
        recalled_share=judged.forecast.recalled_share(at),
        probability_now=_chance(inputs.p_parents_now[at]),
        probability_next_season=_chance(inputs.p_parents_next[at]),
        reasons=finding_answers(judged.verdicts.reasons(at)),
    )


def variety_of(judged: Judgement, at: int) -> VarietyBrief:
    """Whose seed a lot is."""
    lots = judged.forecast.collection
    return VarietyBrief(
        id=int(lots.variety_id[at]),
        name=lots.variety[at],
        kind=judged.forecast.facts_of(at).slug,
    )


def alive_today(judged: Judgement, at: int) -> ViabilityPoint:
    """How alive one lot is held to be on the day of the judgement."""
    return point_of(judged.forecast, judged.viability, _today(judged), at)


def _today(judged: Judgement) -> date:
    today = day_date(judged.forecast.today)
    assert today is not None
    return today


def _asked(judged: Judgement, wanted: VerdictFilter) -> BoolArray:
    lots = judged.forecast.collection
    asked = np.ones(lots.size, dtype=np.bool_)
    if wanted.verdict is not None:
        asked &= judged.verdicts.where(wanted.verdict)
    if wanted.variety is not None:
        asked &= lots.variety_id == wanted.variety
    if wanted.other_keepers is not None:
        asked &= lots.other_keepers == KEEPERS.index(wanted.other_keepers)
    if wanted.kind is not None:
        slugs = slugs_asked(wanted.kind)
        kinds = [n for n, facts in judged.forecast.facts.items() if facts.slug in slugs]
        asked &= np.isin(lots.kind_id, kinds)
    return asked


def _ordered(judged: Judgement, at: IntArray, *, rarest_first: bool = False) -> IntArray:
    """Positions by falling urgency, ties by lot; with ``rarest_first`` rarity goes before all."""
    lots = judged.forecast.collection
    rarity = lots.other_keepers[at] if rarest_first else np.zeros(at.size, dtype=np.int64)
    return at[np.lexsort((lots.lot_id[at], -judged.verdicts.urgency[at], rarity))]


def _chance(fraction: float) -> float:
    """A chance to four figures, never rounded into a certainty."""
    return (
        float(fraction)
        if fraction in (0.0, 1.0)
        else min(max(round(float(fraction), 4), 1e-4), 0.9999)
    )


def _cautions(judged: Judgement, at: IntArray) -> list[CautionAnswer]:
    """What to beware of when saving seed of these lots' kinds, each once."""
    lots, found = judged.forecast.collection, dict[str, CautionAnswer]()
    pairs = zip(lots.kind_id[at].tolist(), lots.treated[at].tolist(), strict=True)
    for kind, treated in dict.fromkeys(pairs):
        for caution in kind_cautions(judged.forecast.facts[kind], treated, saved_here=True):
            found.setdefault(caution.text, caution)
    return list(found.values())


def _remarks(judged: Judgement, items: list[SeedToSaveItem], year: int) -> list[FindingAnswer]:
    if not judged.forecast.collection.size:
        return finding_answers(NOTHING_YET)
    if not items:
        return finding_answers([Finding("none-to-save")])
    found = [Finding("parents-raised-under-cover"), Finding("may-cross-within-reach")]
    if later := sum(item.flowers_in > year for item in items):
        found.insert(0, Finding("flower-next-year", {"varieties": later}))
    if any(item.flowers_at_earliest for item in items):
        found.append(Finding("perennials-may-wait"))
    return finding_answers(found)


AT_ONCE = 5000
"""So many lots at most are judged while a page waits. Our choice."""


def being_judged(session: Session, *, today: date) -> int:
    """How many lots are being judged, begun by this very call if need be; 0: none has to wait."""
    engine = session.get_bind().engine
    if isinstance(engine.pool, StaticPool) or judged_already(session, today=today):
        return 0  # a database in memory has one connection and lends it to nobody
    lots = session.exec(select(func.count(col(Lot.id)))).one()
    if lots <= AT_ONCE:
        return 0
    if not judging_now(session):
        Thread(target=_judge, args=(engine, today), daemon=True).start()
    return lots


def _judge(engine: Engine, today: date) -> None:
    # Where too many ask, whoever looks again begins it again.
    with suppress(Busy), session_factory(engine, writes=False)() as session:
        judge_collection(session, today=today)
