"""Keep, test, save seed, rescue, replace or discard: every lot judged against its fellows.

All that verdicts ask of the lots' posteriors, asked of some lots at a time.

Each part is fitted once, asked everything, and let go: however large the collection, only these
few numbers a lot remain.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date

import numpy as np
from scipy.special import ndtr
from sqlmodel import Session

from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import Changes, changes
from seedbank.database.lanes import JUDGEMENTS
from seedbank.facts.growing import under_cover_factor
from seedbank.facts.kinds import KindFacts
from seedbank.kinds.tables import Breeding
from seedbank.science.quantities import (
    BAND_QUANTILES,
    USUAL_CONFIDENCE,
    Band,
    BoolArray,
    FloatArray,
    IntArray,
)
from seedbank.science.sowing.emergence import shift_of_factor
from seedbank.science.testing.test_plan import SeedBudget, keep_or_regenerate_losses, screen_tests
from seedbank.science.verdicts.regeneration import (
    lead_years,
    regeneration_viability,
    sowings_left,
    viability_needed,
    viability_needed_in_field,
)
from seedbank.science.verdicts.verdict import (
    NO_VERDICT,
    RARITY_WEIGHT,
    VERDICTS,
    Keepers,
    SavesTrue,
    Verdict,
    VerdictInputs,
    Verdicts,
    judge,
)
from seedbank.science.verdicts.verdict_reasons import Cause
from seedbank.science.viability.decline import DAYS_PER_YEAR, OUTLIVED_YEARS
from seedbank.science.viability.planting_stock import chance_kept
from seedbank.science.viability.posterior import Posterior
from seedbank.science.viability.prior import nodes_from_quantiles
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO
from seedbank.viability.forecast_viability import Forecast, fitted_again, forecast
from seedbank.viability.tables.change_topics import JUDGED
from seedbank.viability.tables.stock_columns import Collection

USABLE_VIABILITY = 0.30  # our choice
TEST_SEEDS = 20  # our choice
NEEDLESS_CROP_LOSS = 0.05  # of a seed crop grown for nothing, beside losing a rare variety (1)
_QUANTILES = len(BAND_QUANTILES)


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of each lot, (L,): doses this season, next and the one after (a biennial's
    later ones fall later), the viability that raises its seed parents, who else keeps it."""

    now: FloatArray
    next: FloatArray
    after: FloatArray
    needed: FloatArray
    other_keepers: IntArray

    def take(self, lots: IntArray) -> "Asked":
        return Asked(*(getattr(self, field.name)[lots] for field in fields(self)))


@dataclass(frozen=True, slots=True)
class Chances:
    """The answers, (L,). ``quantiles`` (L, 5) are today's probits; ``parents`` (3, L) the chance
    of raising the seed parents, season by season; ``value_of_test`` is in losses of a variety
    nobody else keeps."""

    quantiles: FloatArray
    initial: FloatArray
    parents: FloatArray
    below_regeneration: FloatArray
    usable: FloatArray
    value_of_test: FloatArray


def lot_chances(posterior: Posterior, asked: Asked) -> Chances:
    """Ask it all. ``initial`` is the viability at harvest, by the mean probit."""
    table = np.empty((posterior.size, _QUANTILES + 7))
    for lots, part in posterior.in_parts():
        table[lots] = _of_part(part, asked.take(lots))
    initial, now, later, after, below, usable, worth = table[:, _QUANTILES:].T.copy()
    # No lot is certain: where the quadrature leaves nothing over 1 it has run out of figures.
    parents = np.minimum([now, later, after], _NEARLY_SURE)
    below, usable = np.clip([below, usable], 1.0 - _NEARLY_SURE, _NEARLY_SURE)
    return Chances(table[:, :_QUANTILES].copy(), initial, parents, below, usable, worth)


def _of_part(posterior: Posterior, asked: Asked) -> FloatArray:
    """Answers of some lots, a row each."""
    quantiles = posterior.probit_quantile(BAND_QUANTILES, asked.now)
    initial = ndtr(posterior.probit_mean(np.zeros(posterior.size)))
    chance = posterior.probability_at_least
    return np.column_stack(
        [
            quantiles,
            initial,
            *(chance(asked.needed, dose) for dose in (asked.now, asked.next, asked.after)),
            1.0 - chance(regeneration_viability(initial), asked.now),
            chance(USABLE_VIABILITY, asked.now),
            _value_of_test(quantiles, asked),
        ]
    )


def _value_of_test(quantiles: FloatArray, asked: Asked) -> FloatArray:
    """What a test of ``TEST_SEEDS`` seeds is worth."""
    nodes = nodes_from_quantiles(quantiles)
    losses = keep_or_regenerate_losses(
        nodes,
        np.minimum(asked.needed, 1.0),
        RARITY_WEIGHT[asked.other_keepers],
        np.full(asked.needed.size, NEEDLESS_CROP_LOSS),
    )
    return screen_tests(nodes, losses, TEST_SEEDS, BETWEEN_TESTS_RHO).test


# Our choices.
PARENTS_CONFIDENCE = (
    USUAL_CONFIDENCE  # of raising the seed parents, when asking what viability that takes
)
SEED_LOSS = 0.10  # of all spare seed of a variety nobody else keeps
TEST_EFFORT = 0.002
_NEARLY_SURE = 1.0 - 1e-9
_WORK = (Verdict.TEST, Verdict.RESCUE, Verdict.SAVE_SEED)
USUAL_PARENTS = 10.0  # common practice, no single source: where the kind has no figure

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
    the viability that would still raise the seed parents from what is left, ``if_rare`` the code
    of the verdict if few others kept a variety of which nobody has said, where it turns on that.
    """

    forecast: Forecast
    verdicts: Verdicts
    viability: Band
    initial: FloatArray
    needed: FloatArray
    if_rare: IntArray


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
            lambda: judge_forecast(forecast(session, today=today, ahead_years=2.0)),
        )
        if session.in_transaction() or judged_already(session, today=today):
            break
    return judged


def judged_already(session: Session, *, today: date) -> bool:
    """Whether every lot is judged as things stand, so that ``judge_collection`` answers at once."""
    return _JUDGEMENT.ready(session, _state(session, today)) is not None


def judging_now(session: Session) -> bool:
    """Whether a pass over every lot is under way."""
    return _JUDGEMENT.under_way(session)


def _state(session: Session, today: date) -> Changes:
    return (today, *changes(session, JUDGED))


def judge_varieties(session: Session, lot_ids: Iterable[int], *, today: date) -> Judgement:
    """Judge some lots; give all lots of a variety, since they are judged against each other."""
    return judge_forecast(forecast(session, today=today, lot_ids=lot_ids, ahead_years=2.0))


def judge_forecast(forecast: Forecast) -> Judgement:
    """Judge lots already forecast."""
    lots = forecast.collection
    parents = _parents_needed(forecast)
    needed = viability_for_parents(lots.balance, parents)
    now, later, after = _season_doses(forecast)
    asked = Asked(now, later, after, needed, lots.other_keepers)
    chances = lot_chances(forecast.posterior, asked)
    parents_chance = over_amounts(forecast, chances.parents, parents, [now, later, after])
    chances = _of_planting_stock(forecast, replace(chances, parents=parents_chance))
    likely = ndtr(chances.quantiles)
    band = Band(likely[:, 2], likely[:, 1], likely[:, 3], likely[:, 0], likely[:, 4])
    inputs = _inputs(forecast, chances, parents, band.median)
    common = judge(inputs)
    rare = _if_rare(common, lots.keepers_unknown)
    verdicts = _with_rarity_unknown(common, rare)
    decided = (rare.code != common.code) & lots.keepers_unknown
    if_rare = np.where(decided, rare.code, NO_VERDICT)
    return Judgement(forecast, verdicts, band, chances.initial, needed, if_rare)


def _if_rare(common: Verdicts, unknown: BoolArray) -> Verdicts:
    """The verdicts if few others kept what nobody has told of."""
    if not unknown.any():
        return common
    keepers = common.inputs.other_keepers
    keepers = np.where(unknown, np.minimum(keepers, Keepers.FEW), keepers)
    return judge(replace(common.inputs, other_keepers=keepers))


def _with_rarity_unknown(common: Verdicts, rare: Verdicts) -> Verdicts:
    """Nothing is given up on a guess: what would go only were it common is judged as rare.

    Nor is anybody put to work on a guess: seed as good as dead waits until it is said.
    """
    given_up = common.where(Verdict.DISCARD)
    waits = given_up & np.isin(rare.code, [VERDICTS.index(one) for one in _WORK])
    causes = np.where(given_up, rare.causes, common.causes)
    known = common.causes & np.int64(Cause.FAILING | Cause.NOT_COUNTED)
    return replace(
        common,
        code=np.select([waits, given_up], [VERDICTS.index(Verdict.KEEP), rare.code], common.code),
        causes=np.where(waits, known | np.int64(Cause.KEEPERS_DECIDE), causes),
    )


def viability_for_parents(seeds: FloatArray, parents: FloatArray) -> FloatArray:
    """Viability that raises so many parents from so many seeds, under cover, with confidence."""
    return viability_needed_in_field(
        viability_needed(np.maximum(seeds, 0.0), parents, PARENTS_CONFIDENCE),
        float(shift_of_factor(under_cover_factor().value)),
    )


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
    for later in range(3):
        parents[later, at] = chance_kept(keeps, age + later)
    parents[:, forecast.collection.mixture] = 0.0  # of which nothing comes true
    usable[at] = parents[0, at]
    none = np.where(forecast.planting_stock, 0.0, 1.0)
    return replace(
        chances,
        parents=parents,
        usable=usable,
        below_regeneration=chances.below_regeneration * none,
        value_of_test=chances.value_of_test * none,
    )


def _inputs(
    forecast: Forecast, chances: Chances, parents: FloatArray, median: FloatArray
) -> VerdictInputs:
    """What the verdict weighs."""
    lots = forecast.collection
    # Nobody can say that what isn't counted is too little.
    sowings = sowings_left(
        lots.balance, np.ceil(parents / np.maximum(median * under_cover_factor().value, 1e-6))
    )
    age, does_not_store = (
        (forecast.today - forecast.ages.harvest_day) / DAYS_PER_YEAR,
        _by_kind(forecast, _cannot_be_stored) > 0,
    )
    keeps = np.full(lots.size, np.inf)
    for at in np.flatnonzero(forecast.planting_stock).tolist():
        age[at], does_not_store[at] = forecast.stock_age_years(at), False
        years = forecast.stock_keeps_years(at)
        keeps[at] = np.inf if np.isnan(years) else years
    outlived = does_not_store & (age > OUTLIVED_YEARS)
    now, later, after = np.where(outlived, 0.0, chances.parents)
    # What has outlived its kind leads nowhere.
    best = _best_others(lots.variety_id, now, later, np.where(outlived, 0.0, lots.balance))
    return VerdictInputs(
        balance_seeds=lots.balance,
        counted=lots.counted,
        reserve=lots.reserve,
        parents_needed=parents,
        p_parents_now=now,
        p_parents_next=later,
        p_parents_after=after,
        p_below_regeneration=chances.below_regeneration,
        sowings_left=np.where(lots.counted, sowings, np.inf),
        viability_median=median,
        p_usable=np.where(outlived, 0.0, chances.usable),
        other_keepers=lots.other_keepers,
        keepers_unknown=lots.keepers_unknown,
        saves_true=np.array([_SAVES_TRUE[b] for b in lots.breeding], dtype=np.int64),
        p_best_other_lot_now=best.now,
        p_best_other_lot_next=best.later,
        is_best_lot=best.leads,
        plants_wanted=lots.plants_wanted,
        value_of_test=chances.value_of_test,
        cost_of_test=budget_of_tests(lots).cost(np.array([float(TEST_SEEDS)]))[:, 0],
        seeds_a_test_would_take=np.full(lots.size, float(TEST_SEEDS)),
        days_since_test=_days_since_test(forecast),
        open_test=lots.open_test,
        does_not_store=does_not_store,
        outlived=outlived,
        age_years=age,
        planting_stock=forecast.planting_stock & ~lots.mixture,
        keeps_years=keeps,
        mixture=lots.mixture,
    )


def _cannot_be_stored(facts: KindFacts) -> float:
    return float(facts.cannot_be_stored)


def _season_doses(forecast: Forecast) -> list[FloatArray]:
    """Dose this season, next and the one after; a biennial's later ones fall a year later still.

    Whether a biennial's seed crop failed is known only in its second summer, so seed held back to
    try again is a year older by then.
    """
    biennial = _by_kind(forecast, lambda f: f.flowers_next_year)
    lead = lead_years(biennial > 0)
    return [
        forecast.dose_on(np.asarray(forecast.today + DAYS_PER_YEAR * later, dtype=np.float64))
        for later in (0.0 * lead, 1.0 + lead, 2.0 + lead)
    ]


def _parents_needed(forecast: Forecast) -> FloatArray:
    """Seed parents wanted for the variety's rarity, or fewer where seed is too short.

    Fewer parents than advised are better than none: a lot that can't give the number for its
    rarity is judged by the number that maintains, then by half its seeds, but by no fewer than the
    fewest viable. Our choice.
    """
    rare = _by_kind(forecast, lambda f: _count(f.seed_parents_rare))
    maintain = _by_kind(forecast, lambda f: _count(f.seed_parents_maintain))
    # Where the gardener makes do with fewer than the fewest published, their word stands.
    least = np.minimum(_by_kind(forecast, lambda f: _count(f.seed_parents_viable)), maintain)
    wanted = np.where(forecast.collection.other_keepers == 0, rare, maintain)
    enough = 0.8 * forecast.collection.balance
    half = np.clip(np.floor(0.5 * forecast.collection.balance), least, maintain)
    return np.select([wanted <= enough, maintain <= enough], [wanted, maintain], half)


def _count(fact: object) -> float:
    value = getattr(fact, "value", None)
    return USUAL_PARENTS if value is None else float(value)


def _by_kind(forecast: Forecast, read: Callable[[KindFacts], float]) -> FloatArray:
    """One figure a kind, laid out over the lots."""
    kinds, at = np.unique(forecast.collection.kind_id, return_inverse=True)
    figures = np.array([float(read(forecast.facts[kind])) for kind in kinds.tolist()])
    return figures[at] if figures.size else np.zeros(0)


@dataclass(frozen=True, slots=True)
class _Others:
    now: FloatArray
    later: FloatArray
    leads: BoolArray


def _best_others(
    variety: IntArray, now: FloatArray, later: FloatArray, balance: FloatArray
) -> _Others:
    """Best chances among each lot's fellows of the variety, and which lot leads."""
    now, later = (np.where(balance > 0, p, 0.0) for p in (now, later))
    return _Others(
        now=_best_other(variety, now),
        later=_best_other(variety, later),
        leads=_leads(variety, later, now, balance),
    )


def _best_other(variety: IntArray, chance: FloatArray) -> FloatArray:
    """The highest chance among a lot's fellows: the second best for the best one itself."""
    order = np.lexsort((-chance, variety))
    group, value = np.append(variety[order], -1), np.append(chance[order], 0.0)
    place = np.arange(order.size)
    first = np.searchsorted(group[:-1], group[:-1], side="left")
    second = np.where(group[first + 1] == group[first], value[first + 1], 0.0)
    answer = np.empty_like(chance)
    answer[order] = np.where(place == first, second, value[first])
    return answer


def _leads(variety: IntArray, later: FloatArray, now: FloatArray, balance: FloatArray) -> BoolArray:
    order = np.lexsort((-balance, -now, -later, variety))
    group = variety[order]
    leads = np.zeros(variety.size, dtype=np.bool_)
    if group.size:
        leads[order] = np.concatenate([[True], group[1:] != group[:-1]])
    return leads


def budget_of_tests(lots: Collection) -> SeedBudget:
    """What testing costs each lot, in losses of a variety nobody else keeps; our choice."""
    # Of a lot not counted a packet is reckoned with, over and above its reserve.
    balance = np.maximum(lots.balance, 0.0) + np.where(lots.counted, 0.0, lots.reserve)
    spare = np.maximum(balance - lots.reserve, 0.0)
    return SeedBudget(
        balance=balance,
        reserve=lots.reserve,
        seed_cost=SEED_LOSS * RARITY_WEIGHT[lots.other_keepers] / (spare + 1.0),
        effort_per_test=np.full(lots.size, TEST_EFFORT),
        effort_per_seed=np.zeros(lots.size),
    )


def _days_since_test(forecast: Forecast) -> FloatArray:
    last, tests = np.full(forecast.collection.size, -np.inf), forecast.collection.tests.sound
    np.maximum.at(last, tests.lot, tests.day)
    return forecast.today - last
