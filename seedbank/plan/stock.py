"""What the stock says of each variety a plan may save: how its lots last, and how new seed would.

A variety's curve is that of its best lot season by season, not of its lots taken as independent:
what isn't known of a kind's keeping strikes them all alike.
"""

from dataclasses import dataclass

import numpy as np

from seedbank.facts.growing import under_cover_factor
from seedbank.facts.kinds import KindFacts
from seedbank.kinds.tables import Breeding
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.quantities import Finding, FloatArray, IntArray
from seedbank.science.sowing.emergence import shift_of_factor
from seedbank.science.verdicts.regeneration import viability_needed, viability_needed_in_field
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.science.viability.prior import initial_viability, lot_log_sd
from seedbank.verdicts.judge_lots import Judgement, over_amounts
from seedbank.verdicts.lot_prospects import PARENTS_CONFIDENCE, viability_for_parents

# Our choices.
SEEDS_KEPT_PER_PARENT = 20  # of a new harvest, when asking how long it will serve
LIKELY = 0.5  # chance of raising them under which fewer parents are planned for
PLANTS_SHARE = 0.5  # of the plants likely to come up, planned for as seed parents
PURPOSES = (Purpose.RARE, Purpose.KEEP, Purpose.HOME)  # by Keepers: nobody else, few, many


@dataclass(frozen=True, slots=True)
class StockedVariety:
    """One variety that may be saved, and the lot (its position in the forecast) to sow.

    ``existing`` and ``fresh`` (T + 1,): chance of raising ``parents`` seed parents from what is
    in stock, by season from this one on, and from seed just saved, by its age in years.
    ``parents`` are fewer than ``parents_advised`` where the lot isn't likely to give so many.
    """

    variety_id: int
    name: str
    kind_id: int
    facts: KindFacts
    keepers: int
    breeding: Breeding
    wanted: float
    lot: int
    parents: int
    parents_advised: int
    existing: FloatArray
    fresh: FloatArray

    @property
    def key(self) -> str:
        """Its name in the plan: sorts by number, so the same stock gives the same plan."""
        return key_of(self.variety_id)

    @property
    def purpose(self) -> Purpose:
        return PURPOSES[self.keepers]

    @property
    def lead(self) -> int:
        """Seasons from sowing to seed; perennials that flower in their second year as biennials."""
        return 2 if self.facts.flowers_next_year else 1


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A variety no plan is made for, and why."""

    variety_id: int
    name: str
    kind: str
    why: Finding


@dataclass(frozen=True, slots=True)
class PlanStock:
    """The judged stock as a plan sees it."""

    judged: Judgement
    varieties: tuple[StockedVariety, ...]
    left_out: tuple[LeftOut, ...]


def key_of(variety_id: int) -> str:
    """A variety's name in the plan."""
    return f"{variety_id:010d}"


def stock_for_plan(judged: Judgement, seasons: int, in_the_ground: frozenset[int]) -> PlanStock:
    """Every variety with its curves over ``seasons`` (T + 1).

    Varieties ``in_the_ground`` are kept even when all their seed is sown.
    """
    forecast = judged.forecast
    lots = forecast.collection
    parents = parents_hoped_for(judged)
    chances = _chances(judged, parents, seasons)
    best = _best_lots(chances, lots.variety_id, lots.balance)
    fresh = _fresh(judged, best, parents[best], seasons)
    varieties, left_out = [], []
    for place, at in enumerate(best.tolist()):
        fellows = np.flatnonzero(lots.variety_id == lots.variety_id[at])
        facts = forecast.facts_of(at)
        number = int(lots.variety_id[at])
        why = _why_not(judged, at, float(lots.balance[fellows].max()), number in in_the_ground)
        if why is not None:
            left_out.append(LeftOut(number, lots.variety[at], facts.slug, why))
            continue
        varieties.append(
            StockedVariety(
                variety_id=number,
                name=lots.variety[at],
                kind_id=int(lots.kind_id[at]),
                facts=facts,
                keepers=int(lots.other_keepers[at]),
                breeding=lots.breeding[at],
                wanted=float(lots.plants_wanted[at]),
                lot=at,
                parents=int(parents[at]),
                parents_advised=int(judged.verdicts.inputs.parents_needed[at]),
                existing=chances[:, fellows].max(axis=1),
                fresh=fresh[:, place],
            )
        )
    return PlanStock(judged, tuple(varieties), tuple(left_out))


def parents_hoped_for(judged: Judgement) -> FloatArray:
    """Seed parents (L,) to plan for: those the verdicts ask, or fewer from a failing lot.

    A variety isn't lost as long as a few parents keep it going. A lot not likely to raise the
    number advised is planned for by half the plants it would most likely give, but by no fewer
    than the fewest viable. Our choice.
    """
    inputs, lots = judged.verdicts.inputs, judged.forecast.collection
    advised = np.maximum(inputs.parents_needed, 1.0)
    plants = judged.viability.median * under_cover_factor().value * np.maximum(lots.balance, 0.0)
    kinds = [judged.forecast.facts_of(at).seed_parents_viable for at in range(lots.size)]
    viable = np.array([np.inf if fact is None else float(fact.value) for fact in kinds])
    fewer = np.clip(np.floor(PLANTS_SHARE * plants), np.minimum(viable, advised), advised)
    return np.where(inputs.p_parents_now < LIKELY, fewer, advised)


def _in_field(needed: FloatArray) -> FloatArray:
    return viability_needed_in_field(needed, float(shift_of_factor(under_cover_factor().value)))


def _chances(judged: Judgement, parents: FloatArray, seasons: int) -> FloatArray:
    """Chance (T + 1, L) that each lot can raise its ``parents``, season by season."""
    forecast = judged.forecast
    needed = viability_for_parents(forecast.collection.balance, parents)
    doses = [forecast.dose_on(forecast.today + DAYS_PER_YEAR * season) for season in range(seasons)]
    counted = np.array([forecast.posterior.probability_at_least(needed, dose) for dose in doses])
    chances = over_amounts(
        forecast, counted.reshape(seasons, forecast.collection.size), parents, doses
    )
    chances[:, (forecast.collection.balance <= 0) | forecast.planting_stock] = 0.0
    chances[1:, judged.verdicts.inputs.does_not_store] = 0.0
    # Quadrature errs in the ninth digit; a lot regains nothing.
    return np.minimum.accumulate(np.clip(chances, 0.0, 1.0), axis=0)


def _best_lots(chances: FloatArray, variety: IntArray, balance: FloatArray) -> IntArray:
    """The lot (V,) of each variety to raise the parents from: likeliest now, then the fuller."""
    order = np.lexsort((-balance, -chances[1], -chances[0], variety))
    first = np.append(True, np.diff(variety[order]) != 0) if order.size else np.zeros(0, bool)
    return np.asarray(order[first], dtype=np.int64)


def _fresh(judged: Judgement, best: IntArray, parents: FloatArray, seasons: int) -> FloatArray:
    """The same chance (T + 1, V) for seed just saved, stored as the best lot is now.

    Nothing but the prior is known of it. Of a harvest a gardener keeps a packet, not all of it.
    """
    forecast = judged.forecast
    if not best.size:
        return np.zeros((seasons, 0))
    minimum = np.array([_minimum(forecast.facts_of(at)) for at in best.tolist()])
    kind_sd = np.array([forecast.keeping_of(at).estimate.log_sigma_sd for at in best.tolist()])
    mean, sd = initial_viability(minimum, np.zeros(best.size, dtype=np.bool_))
    priors = Priors(mean, sd, lot_log_sd(kind_sd, forecast.store_known[best]))
    days = [forecast.today + DAYS_PER_YEAR * age for age in range(seasons)]
    worn = [forecast.history.dose_at(best, np.full(best.size, day)) for day in days]
    doses = [dose - worn[0] for dose in worn]
    posterior = fit_posterior(priors, Observations.none(best.size), doses[-1])
    needed = _in_field(
        viability_needed(SEEDS_KEPT_PER_PARENT * parents, parents, PARENTS_CONFIDENCE)
    )
    chances = np.array([posterior.probability_at_least(needed, dose) for dose in doses])
    chances[1:, judged.verdicts.inputs.does_not_store[best]] = 0.0
    return np.minimum.accumulate(np.clip(chances, 0.0, 1.0), axis=0)


def _minimum(facts: KindFacts) -> float:
    known = facts.minimum_germination_pct
    return float("nan") if known is None else known.value / 100.0


def _why_not(judged: Judgement, at: int, held: float, in_the_ground: bool) -> Finding | None:
    lots = judged.forecast.collection
    if lots.breeding[at] is Breeding.F1:
        return Finding("hybrid")
    if judged.verdicts.inputs.does_not_store[at]:
        return Finding("cannot-be-stored")
    if lots.mixture[at]:
        return Finding("mixture-not-saved")
    if judged.forecast.planting_stock[at] and held > 0.0:
        return Finding("planted-not-saved")
    if held <= 0.0 and not in_the_ground:
        return Finding("no-seed")
    return None
