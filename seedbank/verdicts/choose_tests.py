"""Which lots to test together: the few whose answers save most over every lot they teach."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.special import ndtri
from sqlmodel import Session, col, select

from seedbank.climate.garden_year import GardenYear, garden_years
from seedbank.common.answers import FindingAnswer, Source, finding_answers
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import changes
from seedbank.database.find import row_id
from seedbank.database.lanes import JUDGEMENTS
from seedbank.database.queries import NOTHING_YET
from seedbank.facts.seeding_rates import SPACED_FROM_G
from seedbank.germination.tables import GerminationTest, totals
from seedbank.kinds.tables import OtherKeepers
from seedbank.lots.tables.places import Place
from seedbank.lots.weighing import kind_weight
from seedbank.science.germination.proportion import INTERVAL_REACH
from seedbank.science.quantities import Finding, FloatArray, IntArray
from seedbank.science.testing.test_batch import (
    MOST_OF_STOCK,
    PLENTY_SEEDS,
    SEED_EFFORT,
    SIZES,
    TEST_COST,
    Belief,
    Candidates,
    Questions,
    Spread,
    Suggestion,
    choose_batch,
    joint_covariance,
    reading_error,
    turning_count,
)
from seedbank.science.testing.test_plan import SeedBudget
from seedbank.science.verdicts.verdict import Verdict
from seedbank.verdicts.answers import (
    BedTestAnswer,
    TestBatchAnswer,
    TestSuggestionAnswer,
    TowelLeftOutAnswer,
    WorthOfSizeAnswer,
)
from seedbank.verdicts.bed_tests import bed_answer, bed_test
from seedbank.verdicts.change_topics import judged_by
from seedbank.verdicts.forms import TestBatchAsked
from seedbank.verdicts.judge_lots import Judgement, judge_collection
from seedbank.verdicts.list_verdicts import alive_today, variety_of
from seedbank.verdicts.test_questions import AskedOfLots, ask_of_lots, row_plants
from seedbank.viability.forecast_viability import seeds_counted
from seedbank.viability.show_viability import EQUATION_SOURCES
from seedbank.viability.tables.stock_columns import KEEPERS

TESTS_AN_EVENING = 10
"""So many towels are rolled in an evening. Our choice."""
MOST_LOTS = 2000
"""Of a large collection so many lots are weighed, those on which most turns. Our choice."""
LEAST_SD, END = 0.02, 6.0
_TEACHES = 0.02  # of another lot's variance, from which it is said to be taught. Our choice
_TAUGHT_NAMED = 5
_FINE_SEED, _LARGE_SEED, _RARE_SEED = 0.0001, 0.0005, 0.00125
TEST_BATCH_SOURCES = (
    *EQUATION_SOURCES,
    Source(
        text="worth of a batch of tests: expected value of sample information, two actions with "
        "linear loss (Raiffa & Schlaifer 1961)",
        confidence="memory",
    ),
    Source(text="what a row, a line and an evening are worth: our choice", confidence="computed"),
)


@dataclass(frozen=True, slots=True)
class _Stock:
    """All lots' law, what turns on each, and which may be tested; positions as in ``judged``."""

    judged: Judgement
    mean: FloatArray
    sd: FloatArray
    asked: AskedOfLots
    weighed: IntArray
    questions: Questions
    belief: Belief
    candidates: Candidates


_STOCK: CacheRegion[_Stock] = CacheRegion(lane=JUDGEMENTS)


def choose_tests(session: Session, asked: TestBatchAsked, *, today: date) -> TestBatchAnswer:
    """The tests most worth their evening and paper, the best first, each after those before it."""
    judged = judge_collection(session, today=today)
    stock = _STOCK.get(
        session,
        (today, *changes(session, judged_by())),
        lambda: _stock_of(judged, _seeds_on_towels(session)),
    )
    year = garden_years(session).at(None)
    found = list(
        choose_batch(
            stock.questions,
            stock.belief,
            stock.candidates,
            TESTS_AN_EVENING * asked.evenings,
            asked.towels,
        )
    )
    return TestBatchAnswer(
        on=today,
        evenings=asked.evenings,
        towels=asked.towels,
        items=[
            _item(stock, one, year, place, today)
            for one, place in zip(found, _places(session, stock, found), strict=True)
        ],
        worth_rows=round(sum(one.worth for one in found), 4),
        worth_of_knowing_rows=round(float(stock.questions.perfect(stock.belief.left).sum()), 4),
        lots_considered=int(stock.candidates.lot.size),
        left_out=list(_left_out(stock, found, asked)),
        remarks=finding_answers(_remarks(stock, found)),
        sources=list(TEST_BATCH_SOURCES),
    )


def _places(session: Session, stock: _Stock, found: list[Suggestion]) -> list[str]:
    """Where each lot lies; empty: not known."""
    forecast = stock.judged.forecast
    chosen = np.array([one.candidate for one in found], dtype=np.int64)
    at = stock.weighed[stock.candidates.lot[chosen]]
    lies = forecast.stay_place[forecast.history.last[at]].tolist()
    rows = session.exec(select(Place.id, Place.name).where(col(Place.id).in_(set(lies))))
    names: dict[int | None, str] = dict(rows.all())
    return [names.get(one, "") for one in lies]


def _seeds_on_towels(session: Session) -> dict[int, int]:
    """Seeds of each lot in tests that are still open, by the lot's id."""
    running = select(GerminationTest).where(col(GerminationTest.finished_on).is_(None))
    tests = {row_id(one.id): one.lot_id for one in session.exec(running)}
    seeds: dict[int, int] = {}
    for number, replicates in totals(session, tests).items():
        lot = tests[number]
        seeds[lot] = seeds.get(lot, 0) + sum(one.seeds_set for one in replicates)
    return seeds


def _stock_of(judged: Judgement, begun: dict[int, int]) -> _Stock:
    forecast, lots, band = judged.forecast, judged.forecast.collection, judged.viability
    low, mean, high = np.clip(ndtri([band.low_90, band.median, band.high_90]), -END, END)
    sd = np.maximum((high - low) / (2.0 * INTERVAL_REACH), LEAST_SD)
    unfit = [kind for kind, facts in forecast.facts.items() if facts.cannot_be_stored]
    seed = ~forecast.planting_stock & ~lots.mixture & ~np.isin(lots.kind_id, unfit)
    sown = np.flatnonzero(seed & (lots.balance > 0.0))
    asked = ask_of_lots(forecast, mean, sown)
    weighed = _on_which_most_turns(asked.questions, sd, sown)
    place = np.full(lots.size, -1)
    place[weighed] = np.arange(weighed.size)
    here = place[asked.questions.lot] >= 0
    questions = Questions(
        place[asked.questions.lot[here]], asked.questions.margin[here], asked.questions.slope[here]
    )
    belief = Belief.untested(_covariance(judged, sd, weighed))
    rho = forecast.garden.rho
    for lot_id, seeds in begun.items():
        at = np.flatnonzero(lots.lot_id == lot_id)
        if at.size and place[at[0]] >= 0 and seeds > 0:
            error = reading_error(mean[at], sd[at], asked.level[at], np.array([seeds]), rho)
            belief = belief.with_test(int(place[at[0]]), float(error[0, 0]))
    free = weighed[~np.isin(lots.lot_id[weighed], list(begun))]
    error = reading_error(mean[free], sd[free], asked.level[free], np.array(SIZES), rho)
    cost = _cost(judged, free)
    able = np.isfinite(cost[:, 0])
    plenty = (lots.balance[free] > PLENTY_SEEDS) | (lots.other_keepers[free] == 0)
    first = np.where(plenty & np.isfinite(cost[:, 1]), 1, 0)
    candidates = Candidates(place[free][able], first[able], error[able], cost[able])
    return _Stock(judged, mean, sd, asked, weighed, questions, belief, candidates)


def _on_which_most_turns(questions: Questions, sd: FloatArray, sown: IntArray) -> IntArray:
    """Positions of the lots that are weighed, in order."""
    if sown.size <= MOST_LOTS:
        return sown
    turns = np.bincount(questions.lot, questions.worth(sd[questions.lot] ** 2), sd.size)
    return np.sort(sown[np.argsort(-turns[sown], kind="stable")[:MOST_LOTS]])


def _covariance(judged: Judgement, sd: FloatArray, lots: IntArray) -> FloatArray:
    """Covariance of some lots' probit viability today, from what they share."""
    forecast, garden = judged.forecast, judged.forecast.garden
    effects = garden.effects.take(np.searchsorted(garden.lot_id, forecast.collection.lot_id[lots]))
    prior = forecast.priors.take(lots)
    dose = forecast.history.dose_at(lots, np.full(lots.size, forecast.today))
    pace = np.exp(0.5 * prior.log_sigma_sd**2 - prior.lam_mean) * dose
    alone = np.hypot(prior.ki_sd, pace * effects.own_sd)
    return joint_covariance(Spread(sd[lots], alone, pace), effects, garden.learned.covariance)


def _cost(judged: Judgement, lots: IntArray) -> FloatArray:
    """Rows that tests of each size cost in work and seed (n, S), infinite where seed is short."""
    columns, facts = judged.forecast.collection, judged.forecast.facts
    held = columns.balance[lots].copy()
    uncounted = np.flatnonzero(~columns.counted[lots])
    if uncounted.size:  # as little as it may well be
        held[uncounted] = judged.forecast.amounts_left(lots[uncounted]).nodes()[0]
    large = [
        weight is not None and weight.tsw_g >= SPACED_FROM_G
        for weight in (kind_weight(facts[kind]) for kind in columns.kind_id[lots].tolist())
    ]
    rare = columns.other_keepers[lots] == KEEPERS.index(OtherKeepers.NONE)
    seed = np.where(rare, _RARE_SEED, np.where(large, _LARGE_SEED, _FINE_SEED))
    budget = SeedBudget(
        held,
        np.minimum(columns.reserve[lots], held),
        seed,
        np.full(lots.size, TEST_COST),
        np.full(lots.size, SEED_EFFORT),
    )
    sizes = np.array(SIZES, dtype=np.float64)
    short = sizes > MOST_OF_STOCK * held[:, None]
    return np.where(short, np.inf, budget.cost(sizes))


def _item(
    stock: _Stock, found: Suggestion, year: GardenYear, place: str, today: date
) -> TestSuggestionAnswer:
    judged, here = stock.judged, int(stock.candidates.lot[found.candidate])
    at = int(stock.weighed[here])
    lots = judged.forecast.collection
    own = float(found.gain[stock.questions.lot == here].sum())
    taught = np.flatnonzero(found.narrowed >= _TEACHES)
    taught = taught[taught != here]
    taught = stock.weighed[taught[np.argsort(-found.narrowed[taught], kind="stable")]]
    level, rho = float(stock.asked.usual_level[at]), judged.forecast.garden.rho
    turn = turning_count(float(stock.mean[at]), float(stock.sd[at]), level, found.seeds, rho)
    usual = "usual" if turn.over_now else "thicker"
    plants = row_plants(judged.forecast, at)
    changes_what = Finding(
        "towel-changes",
        {
            "now": usual,
            "fewest": turn.fewest_alive,
            "seeds": found.seeds,
            "chance": turn.probability_changes,
        },
    )
    saves = Finding(
        "towel-saves",
        {
            "plants": plants * found.worth,
            "own_plants": plants * own,
            "row_plants": plants,
            "lots": taught.size,
        },
    )
    return TestSuggestionAnswer(
        lot=lots.code[at],
        variety=variety_of(judged, at),
        place=place,
        balance_seeds=seeds_counted(lots, at),
        viability=alive_today(judged, at),
        seeds=found.seeds,
        fewest_alive_for_usual=turn.fewest_alive,
        probability_changes=round(turn.probability_changes, 4),
        worth_rows=round(found.worth, 4),
        worth_of_own_rows=round(own, 4),
        row_plants=plants,
        teaches_lots=int(taught.size),
        teaches=[lots.code[one] for one in taught[:_TAUGHT_NAMED].tolist()],
        sizes=list(_sizes(stock, found)),
        bed=_bed(stock, found, year, today),
        what=FindingAnswer.of(Finding("towel-seeds", {"seeds": found.seeds})),
        reasons=finding_answers([changes_what, saves]),
    )


def _sizes(stock: _Stock, found: Suggestion) -> Iterator[WorthOfSizeAnswer]:
    cost = stock.candidates.cost[found.candidate]
    for size, seeds in enumerate(SIZES):
        if np.isfinite(cost[size]):
            worth, spent = float(found.by_size[size]), float(cost[size])
            yield WorthOfSizeAnswer(
                seeds=seeds, worth_rows=round(worth, 4), cost_rows=round(spent, 4)
            )


def _bed(stock: _Stock, found: Suggestion, year: GardenYear, today: date) -> BedTestAnswer:
    """The same seed in a short row or a tray: what it tells beside the towel, and its plants."""
    here = int(stock.candidates.lot[found.candidate])
    bed = bed_test(stock.judged.forecast, int(stock.weighed[here]), today)
    error = bed.error(float(stock.candidates.error[found.candidate, found.size]))
    share = found.worth_if(stock.questions, here, error) / found.worth
    return bed_answer(bed, year, found.seeds, share, today)


def _left_out(
    stock: _Stock, found: list[Suggestion], asked: TestBatchAsked
) -> Iterator[TowelLeftOutAnswer]:
    """Lots whose state is towel-first that aren't among the chosen, each with the reason."""
    judged, lots = stock.judged, stock.judged.forecast.collection
    able = stock.weighed[stock.candidates.lot]
    chosen = able[[one.candidate for one in found]] if found else able[:0]
    most = min(TESTS_AN_EVENING * asked.evenings, asked.towels or lots.size)
    for at in np.flatnonzero(judged.verdicts.where(Verdict.TOWEL_FIRST)).tolist():
        if at in chosen:
            continue
        why = "taught"
        if lots.open_test[at]:
            why = "begun"
        elif at not in able:
            why = "short"
        elif len(found) >= most:
            why = "full"
        yield TowelLeftOutAnswer.of(
            Finding("towel-left-out", {"why": why}),
            lot=lots.code[at],
            variety=variety_of(judged, at),
        )


def _remarks(stock: _Stock, found: list[Suggestion]) -> Iterator[Finding]:
    lots = stock.judged.forecast.collection
    if not lots.size:
        yield from NOTHING_YET
        return
    others = int(stock.candidates.lot.size) - len(found)
    if not found:
        yield Finding("no-towel-pays", {"lots": others})
    tested = np.isin(np.arange(lots.size), lots.tests.sound.lot)
    left = int(tested[stock.weighed[stock.candidates.lot]].sum())
    left -= sum(bool(tested[stock.weighed[stock.candidates.lot[one.candidate]]]) for one in found)
    if left > 0:
        yield Finding("towel-not-again", {"lots": left})
    short = stock.weighed.size - stock.candidates.lot.size - int(lots.open_test.sum())
    if short > 0:
        yield Finding("towel-too-few-seeds", {"lots": short, "seeds": 3 * SIZES[0]})
    if lots.open_test.any():
        yield Finding("towels-out", {"lots": int(lots.open_test.sum())})
    if found:
        yield Finding("towel-together")
