"""How many seeds of a lot to test, down to none: seed lost weighed against a wrong decision."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from sqlmodel import Session, col, select

from seedbank.common.answers import FindingAnswer, Source, distinct, finding_answers
from seedbank.database.find import row_id
from seedbank.facts.cautions import Situation
from seedbank.germination.answers import TestAdviceAnswer, TestSizeAnswer, TestStageAnswer
from seedbank.lots.show_lots import lot_cautions, lot_entry, variety_brief
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.science.quantities import Finding, FloatArray, ProbitNodes, taken
from seedbank.science.testing.sequential import StopEarly, stop_early
from seedbank.science.testing.test_plan import TestTable, plan_test
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO
from seedbank.verdicts.judge_lots import budget_of_tests, judge_varieties, judgement_at_hand
from seedbank.verdicts.list_verdicts import alive_today
from seedbank.viability.forecast_viability import Forecast, lot_nodes
from seedbank.viability.show_viability import EQUATION_SOURCES

STOP_CONFIDENCE = 0.90
_GROUPS = (5, 10, 20, 40)
_MOST_STAGES = 5
TEST_SOURCES = (
    *EQUATION_SOURCES,
    Source(
        text="worth of a test: expected value of sample information (Raiffa & Schlaifer 1961)",
        confidence="memory",
    ),
    Source(text="losses weighed against each other: our choice", confidence="computed"),
)
_KEEP, _RENEW = 0, 1


def advise_testing(session: Session, code: str, *, today: date) -> TestAdviceAnswer:
    """How much seed to spend on testing a lot now. Raises MisreadCode, NotThere."""
    lot = find_lot(session, code)
    entry = lot_entry(session, lot)
    judged = judgement_at_hand(session, today=today)
    if judged is None:
        fellows = session.exec(select(Lot.id).where(col(Lot.variety_id) == lot.variety_id)).all()
        judged = judge_varieties(session, [number for number in fellows if number], today=today)
    forecast = judged.forecast
    at = int(np.flatnonzero(forecast.collection.lot_id == row_id(lot.id))[0])
    facts, needed = forecast.facts_of(at), judged.needed[at]
    nodes = lot_nodes(forecast, at, float(judged.first_day[at]))
    losses = judged.losses_of_relying(at, nodes)
    budget = taken(budget_of_tests(forecast.collection), np.array([at]))
    table = plan_test(nodes, losses, budget, overdispersion=BETWEEN_TESTS_RHO)
    stock = bool(forecast.planting_stock[at])
    seeds = 0 if stock else int(table.seeds()[0])
    unreachable = stock or needed >= 1
    stages = None if stock else _stages(nodes, losses, table)
    cautions = lot_cautions(lot, facts, (Situation.TESTING,))
    return TestAdviceAnswer(
        lot=lot.code,
        variety=variety_brief(entry),
        seeds=seeds,
        seeds_spare=int(budget.spare()[0]) if forecast.collection.counted[at] else None,
        decision=FindingAnswer.of(Finding("test-decides-reliance")),
        viability_needed_pct=None if unreachable else round(100.0 * float(needed), 2),
        viability=alive_today(judged, at),
        reasons=finding_answers([_untested(forecast, at)] if stock else table.reasons(0)),
        sizes=[] if stock else _sizes(table),
        stages=[] if stages is None else _stage_answers(stages),
        mean_seeds_with_stages=None if stages is None else round(float(stages.mean_seeds[0]), 1),
        probability_right_with_stages=None if stages is None else round(float(stages.right[0]), 4),
        cautions=cautions,
        sources=distinct([*TEST_SOURCES, *(caution.source for caution in cautions)]),
    )


def _sizes(table: TestTable) -> list[TestSizeAnswer]:
    return [
        TestSizeAnswer(
            seeds=int(size),
            value=round(float(table.value[0, at]), 6),
            cost=round(float(table.cost[0, at]), 6) if np.isfinite(table.cost[0, at]) else None,
            probability_changes=round(float(table.changes[0, at]), 4),
            probability_right=round(float(table.right[0, at]), 4),
        )
        for at, size in enumerate(table.sizes)
    ]


def _stages(nodes: ProbitNodes, losses: FloatArray, table: TestTable) -> StopEarly | None:
    """The recommended test cut into groups, at most five; None where nothing is to be tested.

    It stops once as sure as the whole test would make one on average, if that is more than 90 %.
    None too where one is that sure already: a test then pays only by its rare surprises.
    """
    seeds = int(table.seeds()[0])
    if seeds == 0:
        return None
    group = next((size for size in _GROUPS if size * _MOST_STAGES >= seeds), seeds)
    sure = min(max(STOP_CONFIDENCE, float(table.right[0, table.recommended[0]])), 1.0)
    plan = stop_early(nodes, losses, sure, min(group, seeds), seeds, BETWEEN_TESTS_RHO)
    return None if plan.stopping[0, 0] > 0 else plan


@dataclass(frozen=True, slots=True)
class _Ends:
    renew_at_most: int | None
    keep_at_least: int | None


def _stage_answers(plan: StopEarly) -> list[TestStageAnswer]:
    answers = []
    for stage, tested in enumerate(plan.tested.tolist()):
        if tested == 0:
            continue
        ends = _ends(plan, stage, tested)
        answers.append(
            TestStageAnswer(
                tested=tested,
                save_seed_if_at_most=ends.renew_at_most,
                keep_if_at_least=ends.keep_at_least,
                probability_ends_here=round(float(plan.stopping[0, stage]), 4),
            )
        )
    return answers


def _ends(plan: StopEarly, stage: int, tested: int) -> _Ends:
    """Counts that end the test: renewing goes with few seedlings, keeping with many."""
    stop = plan.stop[0, stage, : tested + 1]
    action = plan.action[0, stage, : tested + 1]
    renew = np.flatnonzero(stop & (action == _RENEW))
    keep = np.flatnonzero(stop & (action == _KEEP))
    return _Ends(int(renew.max()) if renew.size else None, int(keep.min()) if keep.size else None)


def _untested(forecast: Forecast, at: int) -> Finding:
    mixture = forecast.collection.mixture[at]
    return Finding("mixture-tested-whole" if mixture else "planting-stock-untested")
