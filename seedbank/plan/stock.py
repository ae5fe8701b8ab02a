"""What the stock says of each variety a plan may save: how its lots last, and how new seed would.

Everything is the verdict's: the lot that leads, how many plants, what a crop keeps of the line, and
when the next one is due.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from seedbank.facts.kinds import KindFacts
from seedbank.kinds.tables import Breeding
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.quantities import BAND_QUANTILES, Finding, FloatArray, IntArray
from seedbank.science.verdicts.line_decision import SEASONS, Act, crop_value
from seedbank.science.verdicts.verdict import FOR_SEED
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.science.viability.prior import (
    initial_viability,
    lot_log_sd,
    nodes_from_quantiles,
)
from seedbank.verdicts.judge_lots import Judgement
from seedbank.verdicts.lot_prospects import today_of, under_cover_shift, years_between

# Our choices.
_NEARLY_SURE = 1.0 - 1e-12  # no crop is certain
SEEDS_KEPT_PER_PARENT = 20  # of a new harvest, when asking how long it will serve
PURPOSES = (Purpose.RARE, Purpose.KEEP, Purpose.HOME)  # by Keepers: nobody else, few, many


@dataclass(frozen=True, slots=True)
class StockedVariety:
    """One variety that may be saved, and the lot (its position in the forecast) to sow.

    ``existing`` and ``fresh`` (T + 1,): share of the line that a seed crop keeps, as verdicts value
    it: of all the seed of that lot, by season from this year on, and of seed just saved, by its age
    in years. ``due``: season of its next seed crop by the verdict, None where none is in sight, and
    ``waiting``: what a season's waiting costs, as a share of the line.
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
    existing: FloatArray
    fresh: FloatArray
    due: int | None
    waiting: float
    years_between: float

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


def stock_for_plan(
    judged: Judgement, seasons: int, in_the_ground: frozenset[int], wanted: frozenset[int]
) -> PlanStock:
    """Every variety the gardener saves with its curves over ``seasons`` (T + 1), this year's first.

    Varieties ``in_the_ground`` are planned even when all their seed is sown, those ``wanted`` by a
    pin even where growing them doesn't pay.
    """
    lots = judged.forecast.collection
    best = _lots_to_sow(judged)
    ahead = np.array([_years_ahead(judged, at) for at in best.tolist()], dtype=np.int64)
    existing = _existing(judged, best, ahead, seasons)
    fresh = _fresh(judged, best, seasons)
    varieties, left_out = [], []
    for place, at in enumerate(best.tolist()):
        fellows = np.flatnonzero(lots.variety_id == lots.variety_id[at])
        facts = judged.forecast.facts_of(at)
        number = int(lots.variety_id[at])
        grown = number in in_the_ground
        why = _why_not(judged, at, float(lots.balance[fellows].max()), grown)
        if why is None and not grown and number not in wanted:
            why = _why_not_grown(judged, at)
        if why is not None:
            left_out.append(LeftOut(number, lots.variety[at], facts.slug, why))
            continue
        line = judged.verdicts.inputs.line
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
                parents=int(judged.verdicts.inputs.parents_needed[at]),
                existing=existing[:, place],
                fresh=fresh[:, place],
                due=_due(judged, at, int(ahead[place])),
                waiting=float(line.waiting[at] / line.value[at]),
                years_between=years_between(facts),
            )
        )
    return PlanStock(judged, tuple(varieties), tuple(left_out))


def _lots_to_sow(judged: Judgement) -> IntArray:
    """The lot (V,) of each variety to raise the parents from: of those that verdicts would grow the
    most urgent, else the one that leads."""
    verdicts, variety = judged.verdicts, judged.forecast.collection.variety_id
    urgent = np.where(verdicts.where(*FOR_SEED), verdicts.urgency, -1.0)
    order = np.lexsort((~verdicts.inputs.leads, -urgent, variety))
    first = np.append(True, np.diff(variety[order]) != 0) if order.size else np.zeros(0, bool)
    return np.asarray(order[first], dtype=np.int64)


def _years_ahead(judged: Judgement, at: int) -> int:
    """Years from this one to a lot's next sowing time: none is planned once it is over."""
    return max(judged.time_of(at).sown_on.year - today_of(judged.forecast).year, 0)


def _due(judged: Judgement, at: int, ahead: int) -> int | None:
    """The season, this year's being 0, in which the verdict has the next seed crop; None: never."""
    line = judged.verdicts.inputs.line
    if judged.verdicts.verdict(at) in FOR_SEED:
        return ahead
    if line.next_act[at] not in (Act.SOW_SOME, Act.SOW_ALL) or line.acts_in[at] >= SEASONS:
        return None
    return ahead + int(line.acts_in[at])


def _existing(judged: Judgement, best: IntArray, ahead: IntArray, seasons: int) -> FloatArray:
    """What a crop of all its seed would keep of each line (T + 1, V), sown in each season."""
    after = np.clip(np.arange(seasons)[:, None] - ahead, 0, SEASONS)
    crops = np.minimum(judged.verdicts.inputs.line.crops_all[best, after], _NEARLY_SURE)
    return np.minimum.accumulate(crops, axis=0)


def _fresh(judged: Judgement, best: IntArray, seasons: int) -> FloatArray:
    """The same (T + 1, V) of seed just saved, by its age, stored as the best lot is now.

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
    parents = judged.verdicts.inputs.parents_needed[best]
    shift = under_cover_shift()
    crops = []
    for dose in doses:
        alive = nodes_from_quantiles(posterior.probit_quantile(BAND_QUANTILES, dose)).probit
        crops.append(crop_value(SEEDS_KEPT_PER_PARENT * parents, ndtr(alive - shift), parents))
    values = np.minimum(np.array(crops), _NEARLY_SURE)
    values[1:, judged.verdicts.inputs.does_not_store[best]] = 0.0
    return np.minimum.accumulate(values, axis=0)


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


def _why_not_grown(judged: Judgement, at: int) -> Finding | None:
    """Why a variety that could be grown for seed isn't: it isn't saved, or fresh seed is better."""
    if not judged.verdicts.inputs.saved[at]:
        return Finding("not-saved")
    line = judged.verdicts.inputs.line
    if judged.verdicts.parent[at] and line.act[at] == Act.REPLACE:
        return Finding("replaced-not-grown")
    return None
