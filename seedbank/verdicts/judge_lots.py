"""Every lot judged: what to do with it, beside its variety's other lots.

All that verdicts ask of the lots' posteriors is asked of some lots at a time: each part is fitted
once, asked everything, and let go. However large the collection, only these few numbers a lot
remain.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from scipy.special import ndtr
from sqlmodel import Session

from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import Changes, changes
from seedbank.database.lanes import JUDGEMENTS
from seedbank.facts.kinds import KindFacts
from seedbank.kinds.tables import Breeding
from seedbank.lots.tables.lots import Purity
from seedbank.science.quantities import Band, BoolArray, FloatArray, IntArray, ProbitNodes
from seedbank.science.testing.test_plan import SeedBudget, equal_weight_nodes, screen_tests
from seedbank.science.verdicts.line_decision import (
    LINE_VALUE,
    SEASONS,
    Act,
    LineDecision,
)
from seedbank.science.verdicts.verdict import (
    FOR_SEED,
    NO_VERDICT,
    Keepers,
    SavesTrue,
    Verdict,
    VerdictInputs,
    Verdicts,
    judge,
)
from seedbank.science.verdicts.verdict_reasons import Cause
from seedbank.science.viability.planting_stock import chance_kept
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO
from seedbank.verdicts.answers import When
from seedbank.verdicts.change_topics import judged_by
from seedbank.verdicts.lot_prospects import (
    Asked,
    Chances,
    Prospects,
    age_years,
    by_kind,
    curve_doses,
    first_days,
    keepers_reckoned,
    lot_chances,
    outlived,
    parents_wanted,
    prospects_of,
    today_of,
    viability_for_parents,
)
from seedbank.verdicts.surroundings import (
    SowingTime,
    Surroundings,
    read_surroundings,
)
from seedbank.viability.forecast_viability import Forecast, fitted_again, forecast
from seedbank.viability.tables.stock_columns import Collection

# Our choices.
SEED_LOSS = 0.10  # of all spare seed of a variety nobody else keeps
TEST_EFFORT, TEST_EFFORT_A_SEED = 0.004, 0.0002
TEST_SEEDS, MORE_TEST_SEEDS = 10.0, 20.0
MUCH_SEED = 200.0  # from so many seeds on, or of a line nobody else keeps, twenty are tested
AHEAD_YEARS = float(SEASONS + 1)
ORDERED_AHEAD_DAYS = 92  # before its sowing time seed is ordered: three months
_GOOD_CROP = 0.8  # of the line: with it another lot is no longer needed
_HARDLY_A_CROP = 0.2  # of the line: a lot beside a better one that isn't worth sowing
_MAY_HAVE_CROSSED = 0.5  # of the line: so much rather a lot that can't have crossed

_SAVES_TRUE = {
    Breeding.OPEN_POLLINATED: SavesTrue.YES,
    Breeding.LANDRACE: SavesTrue.YES,
    Breeding.F1: SavesTrue.NO,
    Breeding.UNKNOWN: SavesTrue.UNKNOWN,
}


@dataclass(frozen=True, slots=True, eq=False)
class Judgement:
    """Verdicts on the lots of a forecast, and what each needs shown beside it; columns (L,).

    ``viability`` is today's band, ``initial`` the one at harvest (by the mean probit), ``needed``
    the viability that would still raise the seed parents from what is left, ``if_common`` the code
    of the verdict if many others kept a variety of which nobody has said, where it turns on that.
    ``times`` is when each kind can be sown, by its id, ``seed_times`` when for seed; ``first_day``
    each lot's next sowing time, of a seed parent that of a seed crop;
    ``crop_begun`` marks lots whose variety has a seed crop under way.
    """

    forecast: Forecast
    verdicts: Verdicts
    prospects: Prospects
    viability: Band
    initial: FloatArray
    needed: FloatArray
    if_common: IntArray
    times: Mapping[int, SowingTime]
    seed_times: Mapping[int, SowingTime]
    first_day: FloatArray
    crop_begun: BoolArray

    @property
    def begun(self) -> BoolArray:
        """Lots (L,) on a towel, or whose variety has a seed crop under way."""
        return self.crop_begun | self.forecast.collection.open_test

    def time_of(self, at: int) -> SowingTime:
        """When a lot can next be sown, for seed if that is what it is for."""
        for_seed = self.verdicts.verdict(at) in FOR_SEED
        times = self.seed_times if for_seed else self.times
        return times[int(self.forecast.collection.kind_id[at])]

    def next_on(self, at: int) -> date | None:
        """The day on which the answer may change by itself: the next seed crop's sowing time, or
        when the window of one that is due opens. None: nothing is foreseen.

        A lot held beside another of its variety has the day of that one.
        """
        verdict, line = self.verdicts.verdict(at), self.verdicts.inputs.line
        held = bool(self.verdicts.causes[at] & Cause.SECOND_STRING)
        if held and verdict is not Verdict.GET_FRESH:
            return self.next_on(self._leading(at))
        time = self.seed_times[int(self.forecast.collection.kind_id[at])]
        if verdict in FOR_SEED:
            return None if time.when in (When.NOW, When.NOT_KNOWN) else time.opens_on
        if not self.verdicts.parent[at] or verdict is Verdict.GET_FRESH:
            return None
        seasons = int(line.acts_in[at])
        if line.act[at] != Act.KEEP or seasons >= SEASONS:
            return None
        return time.season(seasons)

    def fresh_on(self, at: int) -> date | None:
        """The day from which fresh seed is asked for in place of a lot that isn't judged as a seed
        parent: so long before the first sowing time for which it is too weak. None: not in sight.
        """
        time = self.times[int(self.forecast.collection.kind_id[at])]
        stays = int(self.prospects.ahead.seasons[at])
        if self.verdicts.verdict(at) is Verdict.GET_FRESH:
            stays = 0
        elif self.verdicts.parent[at] or self.forecast.planting_stock[at] or stays >= SEASONS:
            return None
        opens = time.season(stays) if stays else time.opens_on or time.sown_on
        return opens - timedelta(days=ORDERED_AHEAD_DAYS)

    def _leading(self, at: int) -> int:
        """The lot that leads a lot's variety."""
        variety = self.forecast.collection.variety_id
        return int(np.argmax(self.verdicts.inputs.leads & (variety == variety[at])))

    def to_be_done(self, *verdicts: Verdict) -> BoolArray:
        """Lots (L,) with one of these verdicts of which that isn't begun yet."""
        towel = self.verdicts.where(Verdict.TOWEL_FIRST)
        begun = np.where(towel, self.forecast.collection.open_test, self.crop_begun)
        return self.verdicts.where(*verdicts) & ~begun

    def losses_of_relying(self, at: int, nodes: ProbitNodes) -> FloatArray:
        """Losses (1, 2, N) of relying on a lot as it is, and of not waiting or a fresh packet, at
        other values ``nodes`` of its probit viability than those it was decided by."""
        parent = self.verdicts.parent[at]
        known = (self.prospects.alive if parent else self.prospects.row_alive)[at]
        table = (self.prospects.line_losses if parent else self.prospects.row.losses)[at]
        order = np.argsort(known)
        sides = [np.interp(nodes.probit[0], known[order], side[order]) for side in table]
        return np.array(sides)[None]


_JUDGEMENT: CacheRegion[Judgement] = CacheRegion(lane=JUDGEMENTS)
_TRIES = 3


def judge_collection(session: Session, *, today: date) -> Judgement:
    """Judge every lot; kept in memory while nothing a verdict rests on has changed.

    What changed while they were judged is judged too, so that what the caller reads next fits the
    verdicts; unless it changes time and again.
    """
    for _ in range(_TRIES):
        judged = _JUDGEMENT.get(
            session,
            _state(session, today),
            lambda: judge_forecast(
                read_surroundings(session),
                forecast(session, today=today, ahead_years=AHEAD_YEARS),
            ),
        )
        if session.in_transaction() or judged_already(session, today=today):
            break
    return judged


def judged_already(session: Session, *, today: date) -> bool:
    """Whether every lot is judged as things stand, so that ``judge_collection`` answers at once."""
    return judgement_at_hand(session, today=today) is not None


def judgement_at_hand(session: Session, *, today: date) -> Judgement | None:
    """Every lot judged as things stand, if that has been worked out."""
    return _JUDGEMENT.ready(session, _state(session, today))


def judging_now(session: Session) -> bool:
    """Whether a pass over every lot is under way."""
    return _JUDGEMENT.under_way(session)


def _state(session: Session, today: date) -> Changes:
    return (today, *changes(session, judged_by()))


def judge_varieties(session: Session, lot_ids: Iterable[int], *, today: date) -> Judgement:
    """Judge some lots; give all lots of a variety, since they are judged against each other."""
    around = read_surroundings(session)
    return judge_forecast(
        around, forecast(session, today=today, lot_ids=lot_ids, ahead_years=AHEAD_YEARS)
    )


def judge_forecast(around: Surroundings, forecast: Forecast) -> Judgement:
    """Judge lots already forecast."""
    lots, today = forecast.collection, today_of(forecast)
    times = around.times(forecast.facts, today)
    seed_times = around.seed_times(forecast.facts, today)
    row_day = first_days(forecast, times)
    first = np.where(_saved(lots), first_days(forecast, seed_times), row_day)
    parents = by_kind(forecast, parents_wanted)
    needed = viability_for_parents(lots.balance, parents)
    doses = curve_doses(forecast, first)
    chances = lot_chances(
        forecast.posterior, Asked(forecast.dose_on(forecast.today), doses, needed)
    )
    by_amount = over_amounts(forecast, chances.parents, parents, [doses[:, 0], doses[:, 1]])
    chances = _of_planting_stock(forecast, replace(chances, parents=by_amount))
    prospects, common = prospects_of(forecast, chances.curve, first, row_day)
    likely = ndtr(chances.quantiles)
    band = Band(likely[:, 2], likely[:, 1], likely[:, 3], likely[:, 0], likely[:, 4])
    verdicts = judge(_inputs(forecast, chances, prospects, band.median))
    return Judgement(
        forecast=forecast,
        verdicts=verdicts,
        prospects=prospects,
        viability=band,
        initial=chances.initial,
        needed=needed,
        if_common=_if_common(forecast, chances, common, verdicts),
        times=times,
        seed_times=seed_times,
        first_day=np.where(verdicts.parent, first, row_day),
        crop_begun=np.isin(lots.variety_id, list(around.begun)),
    )


def _if_common(
    forecast: Forecast, chances: Chances, if_common: Prospects, verdicts: Verdicts
) -> IntArray:
    """Codes of the verdicts if many others kept what nobody has told of, where that differs."""
    unknown = forecast.collection.keepers_unknown
    if not unknown.any():
        return np.full(unknown.size, NO_VERDICT)
    common = judge(_inputs(forecast, chances, if_common, verdicts.inputs.viability_median))
    return np.where(unknown & (common.code != verdicts.code), common.code, NO_VERDICT)


def over_amounts(
    forecast: Forecast, chances: FloatArray, parents: FloatArray, doses: Sequence[FloatArray]
) -> FloatArray:
    """Chances (S, L) of raising ``parents`` (L,) at each of ``doses``, the doubt about amounts in.

    Of lots not counted they are the mean over the amounts they may hold; others stay as they are.
    """
    at = np.flatnonzero(~forecast.collection.counted & ~forecast.planting_stock)
    if at.size == 0:
        return chances
    mixed = chances.copy()
    needs = [
        viability_for_parents(seeds, parents[at]) for seeds in forecast.amounts_left(at).nodes()
    ]
    for places, part in fitted_again(forecast, at, doses[-1][at]):
        for season, dose in enumerate(doses):
            then = dose[at[places]]
            each = [part.probability_at_least(needed[places], then) for needed in needs]
            mixed[season, at[places]] = np.mean(each, axis=0)
    return mixed


def _of_planting_stock(forecast: Forecast, chances: Chances) -> Chances:
    """The same, with planting stock judged by how long its kind keeps and by nothing else."""
    at = np.flatnonzero(forecast.planting_stock)
    if at.size == 0:
        return chances
    keeps = np.array([forecast.stock_keeps_years(lot) for lot in at.tolist()])
    age = np.array([forecast.stock_age_years(lot) for lot in at.tolist()])
    parents, usable = chances.parents.copy(), chances.usable.copy()
    for later in range(parents.shape[0]):
        parents[later, at] = chance_kept(keeps, age + later)
    parents[:, forecast.collection.mixture] = 0.0  # of which nothing comes true
    usable[at] = parents[0, at]
    none = np.where(forecast.planting_stock, 0.0, 1.0)
    below = chances.below_regeneration * none
    return replace(chances, parents=parents, usable=usable, below_regeneration=below)


def _inputs(
    forecast: Forecast, chances: Chances, prospects: Prospects, median: FloatArray
) -> VerdictInputs:
    """What the verdict weighs."""
    lots, line = forecast.collection, prospects.line
    keeps = np.full(lots.size, np.inf)
    for at in np.flatnonzero(forecast.planting_stock).tolist():
        years = forecast.stock_keeps_years(at)
        keeps[at] = np.inf if np.isnan(years) else years
    gone = outlived(forecast)
    now, later = np.where(gone, 0.0, chances.parents)
    saved = _saved(lots)
    saves_true = np.array([_SAVES_TRUE[b] for b in lots.breeding], dtype=np.int64)
    # What has outlived its kind, or isn't seed of the variety, leads nowhere.
    holds = (lots.balance > 0) & ~gone & ~lots.mixture
    leads = _leads(lots.variety_id, _hope(lots, line, holds))
    tested, parent = tests_offered(lots), saved & leads & (saves_true != SavesTrue.NO)
    size = np.where(tested > TEST_SEEDS, 1, 0)
    sizes = np.array([TEST_SEEDS, MORE_TEST_SEEDS])
    return VerdictInputs(
        line=line,
        row=prospects.row,
        balance_seeds=lots.balance,
        counted=lots.counted,
        saved=saved,
        leads=leads,
        covered=np.where(
            saved, _covered(lots, leads, line), _good_row_beside(lots, prospects.row.weak, holds)
        ),
        rivalled=_rivalled(lots.variety_id, holds),
        parents_needed=prospects.parents_wanted,
        parents_genebank=np.maximum(by_kind(forecast, _genebank_parents), 0.0),
        p_parents_now=now,
        p_parents_next=later,
        p_below_regeneration=chances.below_regeneration,
        viability_median=median,
        p_usable=np.where(gone, 0.0, chances.usable),
        other_keepers=prospects.keepers,
        keepers_unknown=lots.keepers_unknown,
        saves_true=saves_true,
        plants_wanted=lots.plants_wanted,
        worth_of_test=_worth(prospects, parent, size),
        cost_of_test=budget_of_tests(lots).cost(sizes)[np.arange(lots.size), size],
        seeds_a_test_would_take=tested,
        days_since_test=_days_since_test(forecast),
        open_test=lots.open_test,
        does_not_store=(by_kind(forecast, lambda f: f.cannot_be_stored) > 0)
        & ~forecast.planting_stock,
        outlived=gone,
        age_years=age_years(forecast),
        planting_stock=forecast.planting_stock & ~lots.mixture,
        keeps_years=keeps,
        mixture=lots.mixture,
    )


def _saved(lots: Collection) -> BoolArray:
    """Varieties the gardener saves, (L,): of which a lot was saved here, or nobody else keeps."""
    return np.isin(lots.variety_id, lots.variety_id[lots.saved_here | _kept_by_nobody_else(lots)])


def _kept_by_nobody_else(lots: Collection) -> BoolArray:
    """Lots (L,) of varieties of which somebody has said that nobody else keeps them."""
    return np.asarray((lots.other_keepers == Keepers.NONE) & ~lots.keepers_unknown, dtype=np.bool_)


def _genebank_parents(facts: KindFacts) -> float:
    fact = facts.seed_parents_maintain
    return 0.0 if fact is None else float(fact.value)


def _hope(lots: Collection, line: LineDecision, holds: BoolArray) -> FloatArray:
    """The less the better: first what would give a good crop and can wait, the longest before all,
    so that a harvest clears its variety; else loss in shares of the line, more of seed that may
    have crossed, and what is to be replaced after all else."""
    risk = np.array([one is Purity.RISK for one in lots.purity], dtype=np.bool_)
    loss = line.loss / line.value
    waits = (line.act == Act.KEEP) & (line.crop_all >= _GOOD_CROP) & ~risk
    hope = loss + np.where(risk, _MAY_HAVE_CROSSED, 0.0)
    hope = np.where(waits, 0.5 * loss - 1.0 - line.acts_in, hope)
    return np.where(holds, hope + np.where(line.act == Act.REPLACE, 1.0, 0.0), np.inf)


def _leads(variety: IntArray, hope: FloatArray) -> BoolArray:
    """Which lot of each variety is its best hope, (L,); of equals the one entered first."""
    order = np.lexsort((np.arange(hope.size), hope, variety))
    leads = np.zeros(variety.size, dtype=np.bool_)
    if order.size:
        group = variety[order]
        leads[order] = np.concatenate([[True], group[1:] != group[:-1]])
    return leads


def _covered(lots: Collection, leads: BoolArray, line: LineDecision) -> BoolArray:
    """Lots (L,) beside one of their variety that leads and would give a good crop; or, where they
    would hardly give any, beside one that isn't to be replaced."""
    held = leads & (lots.balance > 0)
    good = held & (line.crop_all >= _GOOD_CROP)
    alive = held & (line.act != Act.REPLACE)
    beside = np.isin(lots.variety_id, lots.variety_id[good])
    spent = (line.crop_all < _HARDLY_A_CROP) & np.isin(lots.variety_id, lots.variety_id[alive])
    return (beside | spent) & ~leads


def _good_row_beside(lots: Collection, weak: BoolArray, holds: BoolArray) -> BoolArray:
    """Lots (L,) too weak for a row, beside one of their variety that isn't: fresh seed is here."""
    return weak & np.isin(lots.variety_id, lots.variety_id[holds & ~weak])


def _rivalled(variety: IntArray, holds: BoolArray) -> BoolArray:
    """Lots (L,) beside another of their variety that holds seed."""
    _, at, number = np.unique(variety, return_inverse=True, return_counts=True)
    held = np.bincount(at, weights=holds, minlength=number.size) if number.size else number
    return np.asarray(held[at] - holds > 0, dtype=np.bool_)


def _worth(prospects: Prospects, parent: BoolArray, size: IntArray) -> FloatArray:
    """What a test of each lot would be worth, (L,), of the smaller size or the larger."""
    alive = np.where(parent[:, None], prospects.alive, prospects.row_alive)
    nodes = equal_weight_nodes(alive)
    losses = np.where(parent[:, None, None], prospects.line_losses, prospects.row.losses)
    each = [
        screen_tests(nodes, losses, int(seeds), BETWEEN_TESTS_RHO).test
        for seeds in (TEST_SEEDS, MORE_TEST_SEEDS)
    ]
    return np.where(size == 1, each[1], each[0])


def tests_offered(lots: Collection) -> FloatArray:
    """Seeds of the test that would be offered of each lot first, (L,)."""
    many = (lots.balance > MUCH_SEED) | _kept_by_nobody_else(lots)
    return np.where(many, MORE_TEST_SEEDS, TEST_SEEDS)


def budget_of_tests(lots: Collection) -> SeedBudget:
    """What testing costs each lot, in losses of a variety nobody else keeps; our choice."""
    # Of a lot not counted a packet is reckoned with, over and above its reserve.
    balance = np.maximum(lots.balance, 0.0) + np.where(lots.counted, 0.0, lots.reserve)
    spare = np.maximum(balance - lots.reserve, 0.0)
    return SeedBudget(
        balance=balance,
        reserve=lots.reserve,
        seed_cost=SEED_LOSS * LINE_VALUE[keepers_reckoned(lots)] / (spare + 1.0),
        effort_per_test=np.full(lots.size, TEST_EFFORT),
        effort_per_seed=np.full(lots.size, TEST_EFFORT_A_SEED),
    )


def _days_since_test(forecast: Forecast) -> FloatArray:
    last, tests = np.full(forecast.collection.size, -np.inf), forecast.collection.tests.sound
    np.maximum.at(last, tests.lot, tests.day)
    return forecast.today - last
