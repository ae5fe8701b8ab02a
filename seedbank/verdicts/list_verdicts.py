"""Verdicts as they are answered: every lot's, one variety's, and the seed to save this year."""

import math
from collections.abc import Iterable
from datetime import date

import numpy as np
from pydantic import Field
from sqlmodel import Session

from seedbank.common.answers import (
    CautionAnswer,
    FindingAnswer,
    Source,
    VarietyBrief,
    ViabilityPoint,
    distinct,
    finding_answers,
)
from seedbank.common.forms import Filter, KindAsked, VarietyAsked
from seedbank.database.queries import NOTHING_YET, Cursor, Page, Paging
from seedbank.facts.sources import sources_of
from seedbank.kinds.answers import source_of
from seedbank.kinds.tables import OtherKeepers, OtherKeepersAsked, slugs_asked
from seedbank.lots.show_lots import kind_cautions
from seedbank.lots.tables.lots import find_lot
from seedbank.science.quantities import BoolArray, Finding, IntArray, Value
from seedbank.science.sowing.usual_rate import thickness_step
from seedbank.science.verdicts.line_decision import Act
from seedbank.science.verdicts.verdict import FOR_SEED, NO_VERDICT, VERDICTS, Keepers, Verdict
from seedbank.science.verdicts.verdict_reasons import Cause
from seedbank.verdicts.answers import (
    ParentsAnswer,
    RowsAnswer,
    SeedToSaveAnswer,
    SeedToSaveItem,
    VerdictAnswer,
    WorthAnswer,
)
from seedbank.verdicts.judge_lots import Judgement, judge_collection
from seedbank.verdicts.lot_prospects import parents_fact, parents_wanted, today_of
from seedbank.verdicts.usual_row import row_levels, usual_row
from seedbank.viability.forecast_viability import seeds_counted
from seedbank.viability.show_viability import EQUATION_SOURCES, point_of
from seedbank.viability.tables.stock_columns import KEEPERS

VERDICT_SOURCES = (
    *EQUATION_SOURCES,
    Source(
        text="least expected loss, season by season backward (Bellman 1957)", confidence="memory"
    ),
    Source(text="what a line, a crop and a packet are worth: our choice", confidence="computed"),
)


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
    wanted = np.isin(lots.other_keepers, rank) & judged.verdicts.where(*FOR_SEED)
    order = _ordered(judged, np.flatnonzero(wanted), rarest_first=True)
    items = [_save(judged, at) for at in order.tolist()]
    facts = [judged.forecast.facts[kind] for kind in dict.fromkeys(lots.kind_id[order].tolist())]
    used = sources_of(*(one for f in facts for one in (parents_fact(f), f.seed_parents_maintain)))
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
    needed, verdict = float(judged.needed[at]), judged.verdicts.verdict(at)
    saved_here = bool(lots.saved_here[at])
    stock = judged.forecast.planting_stock[at]
    time, parent = judged.time_of(at), bool(judged.verdicts.parent[at])
    cautions = kind_cautions(judged.forecast.facts_of(at), bool(lots.treated[at]), saved_here)
    sow, hold = seeds_to_sow(judged, at) if verdict in FOR_SEED else (None, None)
    used = parents_answer(judged, at) if parent else None
    return VerdictAnswer(
        lot=lots.code[at],
        variety=variety_of(judged, at),
        other_keepers=KEEPERS[int(lots.other_keepers[at])],
        verdict=verdict,
        begun=bool(judged.begun[at]),
        advice=None if verdict is None else FindingAnswer.of(advice_finding(judged, at)),
        when=time.when,
        sow_until=time.until,
        opens_on=time.opens_on,
        next_on=judged.next_on(at) or _fresh_on(judged, at),
        sow_seeds=sow,
        hold_seeds=hold,
        urgency=round(float(judged.verdicts.urgency[at]), 4),
        balance_seeds=seeds_counted(lots, at),
        purity=lots.purity[at],
        purity_note=lots.purity_note[at],
        viability=alive_today(judged, at),
        recalled_share=judged.forecast.recalled_share(at),
        viability_needed_pct=None if needed >= 1.0 or stock else round(100.0 * needed, 2),
        seed_parents=used,
        worth=_worth(judged, at) if parent else None,
        in_rows=None if stock or verdict is None else _rows(judged, at),
        probability_parents_now=chance_told(inputs.p_parents_now[at]),
        probability_parents_next_season=chance_told(inputs.p_parents_next[at]),
        reasons=finding_answers(judged.verdicts.reasons(at)),
        to_narrow=finding_answers(_to_narrow(judged, at)),
        cautions=cautions,
        sources=distinct([*VERDICT_SOURCES, *(caution.source for caution in cautions)]),
    )


def _fresh_on(judged: Judgement, at: int) -> date | None:
    """The day to come from which fresh seed is asked for; None: it is already, or not in sight."""
    if judged.verdicts.verdict(at) is None:
        return None
    day = judged.fresh_on(at)
    return day if day is not None and day > today_of(judged.forecast) else None


_ADVICE = {
    Verdict.LAST_CHANCE: "advice-last-chance",
    Verdict.GROW_FOR_SEED: "advice-grow-for-seed",
    Verdict.TOWEL_FIRST: "advice-towel-first",
    Verdict.GET_FRESH: "advice-get-fresh",
    Verdict.SOW_THICKER: "advice-sow-thicker",
    Verdict.CAN_GO: "advice-can-go",
    Verdict.SOW_AS_USUAL: "advice-sow-as-usual",
    Verdict.NOT_JUDGED: "advice-not-judged",
}


def seeds_to_sow(judged: Judgement, at: int) -> tuple[int | None, int | None]:
    """Seeds of a lot to sow for seed, and to hold back; None: nobody has counted it."""
    held = seeds_counted(judged.forecast.collection, at)
    if held is None:
        return None, None
    inputs = judged.verdicts.inputs
    every = inputs.line.act[at] == Act.SOW_ALL or inputs.does_not_store[at]
    exact = float(inputs.line.sow_seeds[at])
    sow = held if every else min(math.ceil(exact - 1e-9), held // 2)
    return sow, held - sow


def advice_finding(judged: Judgement, at: int) -> Finding:
    """What to do with a lot and when, as one finding. It isn't empty."""
    verdict = judged.verdicts.verdict(at)
    assert verdict is not None
    time, inputs = judged.time_of(at), judged.verdicts.inputs
    when: dict[str, Value] = {
        "when": time.when, "until": time.until, "opens_on": time.opens_on,
        "next_on": judged.next_on(at),
    }  # fmt: skip
    if verdict in FOR_SEED:
        sow, hold = seeds_to_sow(judged, at)
        when |= {
            "sow_seeds": math.nan if sow is None else sow,
            "hold_seeds": math.nan if hold is None else hold,
            "parents": float(inputs.parents_needed[at]),
            "dying": bool(inputs.line.rest_fades[at] or inputs.does_not_store[at]),
            "next_year": judged.forecast.facts_of(at).flowers_next_year,
        }
    elif (
        verdict is not Verdict.TOWEL_FIRST
        and inputs.other_keepers[at] == Keepers.NONE
        and judged.verdicts.causes[at] & Cause.SECOND_STRING
    ):
        return Finding("advice-hold")
    elif verdict is Verdict.SOW_THICKER:
        when["step"] = thickness_step(float(inputs.row.times[at]))
    elif verdict is Verdict.TOWEL_FIRST:
        when = {
            "seeds": float(inputs.seeds_a_test_would_take[at]),
            "begun": bool(inputs.open_test[at]),
        }
    elif verdict is Verdict.NOT_JUDGED:
        when = {"mixture": bool(inputs.mixture[at])}
    return Finding(_ADVICE[verdict], when)


def parents_answer(judged: Judgement, at: int) -> ParentsAnswer:
    """Plants to take seed of a lot's variety from, with the sources."""
    facts = judged.forecast.facts_of(at)
    home, genebank = parents_fact(facts), facts.seed_parents_maintain
    return ParentsAnswer(
        plants=int(parents_wanted(facts)),
        source=None if home is None else source_of(home),
        genebank_plants=None if genebank is None else int(genebank.value),
        genebank_source=None if genebank is None else source_of(genebank),
    )


def _worth(judged: Judgement, at: int) -> WorthAnswer:
    line = judged.verdicts.inputs.line
    value = float(line.value[at])
    left, every = (min(float(line.losses[at, act]), value) for act in (Act.KEEP, Act.SOW_ALL))
    return WorthAnswer(
        loss=round(float(line.loss[at]) / value, 4),
        loss_if_left=round(left / value, 4),
        loss_if_all_sown=round(every / value, 4),
        rest_next_season=round(float(line.crop_rest[at]), 4),
    )


def _rows(judged: Judgement, at: int) -> RowsAnswer:
    row = judged.verdicts.inputs.row
    counted = judged.forecast.collection.counted[at]
    usual = usual_row(judged.forecast.facts_of(at))
    thicker, fresh = row_levels(usual)
    return RowsAnswer(
        rows=round(float(row.rows[at]), 1) if counted else None,
        seeds_a_row=math.ceil(float(row.row_seeds[at])),
        times_usual=round(float(row.times[at]), 2),
        crop_pct=round(100.0 * float(row.crop[at]), 1),
        thicker_below_pct=round(100.0 * thicker, 1),
        fresh_below_pct=round(100.0 * fresh, 1),
    )


def _to_narrow(judged: Judgement, at: int) -> list[Finding]:
    """How many others keep the variety, where nobody has said and it would turn the verdict."""
    if judged.if_common[at] == NO_VERDICT:
        return []
    return [Finding("record-other-keepers", {"verdict": VERDICTS[int(judged.if_common[at])]})]


def _save(judged: Judgement, at: int) -> SeedToSaveItem:
    lots, inputs = judged.forecast.collection, judged.verdicts.inputs
    facts = judged.forecast.facts_of(at)
    verdict, time = judged.verdicts.verdict(at), judged.time_of(at)
    assert verdict is not None
    sow, hold = seeds_to_sow(judged, at)
    return SeedToSaveItem(
        variety=variety_of(judged, at),
        other_keepers=KEEPERS[int(lots.other_keepers[at])],
        verdict=verdict,
        begun=bool(judged.crop_begun[at]),
        advice=FindingAnswer.of(advice_finding(judged, at)),
        when=time.when,
        opens_on=time.opens_on,
        sow_lot=lots.code[at],
        seeds_held=seeds_counted(lots, at),
        seeds_to_sow=sow,
        seeds_to_hold=hold,
        seed_parents=parents_answer(judged, at),
        flowers_in=time.sown_on.year + int(facts.flowers_next_year),
        flowers_at_earliest=facts.may_flower_later,
        viability=alive_today(judged, at),
        recalled_share=judged.forecast.recalled_share(at),
        probability_now=chance_told(inputs.p_parents_now[at]),
        probability_next_season=chance_told(inputs.p_parents_next[at]),
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
    return point_of(judged.forecast, judged.viability, today_of(judged.forecast), at)


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


def chance_told(fraction: float) -> float:
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
