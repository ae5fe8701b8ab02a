"""How alive each lot is, on any day: its storage, its age, its tests and its kind put together.

Seed that is there and that nobody has counted: how it is told, and what stands in for a number.

It is never taken for none. Advice on what to sow isn't bounded by it; what a verdict or a plan
asks of it is answered for three amounts it may be (a packet of such seed, the table
``written_amounts``, less what was taken), and mixed. Where one number is told, it is the middle.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import Final

import numpy as np
from sqlmodel import Session, col, select

from seedbank.database.find import row_id
from seedbank.database.transaction import let_go
from seedbank.facts.growing import packet_row
from seedbank.facts.keeping import KeepingPrior, keeping_prior, packaged_keeping
from seedbank.facts.kinds import KindFacts, packaged_kinds
from seedbank.kinds.edit_kinds import facts_for_kinds
from seedbank.kinds.tables import Kind
from seedbank.lots.tables.places import Place
from seedbank.lots.weighing import kind_weight
from seedbank.science.amounts import AmountLaw
from seedbank.science.quantities import BoolArray, FloatArray, IntArray, ProbitNodes
from seedbank.science.viability.decline import (
    DAYS_PER_YEAR,
    ORDINARY_STORE,
    YearlyConditions,
    yearly_dose,
)
from seedbank.science.viability.posterior import Observations, Posterior, Priors, fit_posterior
from seedbank.science.viability.prior import initial_viability, lot_log_sd
from seedbank.science.viability.storage_history import StorageHistory, storage_history
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO, discount_counts
from seedbank.viability.tables.stock_columns import Collection, Tests, day_number, read_collection

MOST_ADVISED: Final = 20_000
"""Seeds, at most, that are advised of a lot nobody has counted. Our choice."""
_RANGE_IN_SD: Final = 2 * 1.96
_ONE_KIND_LOG_SD: Final = 0.2  # lots of one kind differ so in weight: common practice
SEEDS_A_PLANT: Final = 50
"""So many at most for each plant wanted: where they won't do, more hardly would. Our choice."""


def seeds_counted(lots: Collection, at: int) -> int | None:
    """What a lot of a forecast holds, None where nobody has counted it."""
    return int(lots.balance[at]) if lots.counted[at] else None


def most_to_advise(lots: Collection, at: int) -> int:
    """Seeds of a lot of a forecast that advice may spend."""
    return max(int(lots.balance[at]), 0) if lots.counted[at] else MOST_ADVISED


def amount_law(lots: Collection, facts: Mapping[int, KindFacts], at: IntArray) -> AmountLaw:
    """What lots nobody has counted may hold: a packet of their kind's seed, less what was taken.

    The table's range is taken to hold 95 % of packets. Where it was weighed, its grams of seed as
    heavy as its kind's, or of any kind if that isn't known.
    """
    median, log_sd = np.empty(at.size), np.empty(at.size)
    for place, one in enumerate(at.tolist()):
        weight, grams = kind_weight(facts[int(lots.kind_id[one])]), lots.grams[one]
        if grams > 0.0:
            any_g, any_sd = _seed_of_any_kind()
            tsw_g, sd = (any_g, any_sd) if weight is None else (weight.tsw_g, _ONE_KIND_LOG_SD)
            median[place], log_sd[place] = 1000.0 * grams / tsw_g, sd
        else:
            row = packet_row(None if weight is None else weight.tsw_g)
            assert row.low is not None
            assert row.high is not None
            median[place] = row.typical
            log_sd[place] = math.log(row.high / row.low) / _RANGE_IN_SD
    return AmountLaw(median, log_sd, lots.known[at])


@cache
def _seed_of_any_kind() -> tuple[float, float]:
    """Thousand-seed weight of a kind nobody has weighed, g, and the sd of its log: as of the
    packaged kinds."""
    weights = [kind_weight(facts) for facts in packaged_kinds().values()]
    logs = np.log([one.tsw_g for one in weights if one is not None])
    return float(np.exp(np.median(logs))), float(np.std(logs))


def with_packets_reckoned(lots: Collection, facts: Mapping[int, KindFacts]) -> Collection:
    """The same lots, each that is not counted reckoned to hold the middle of what it may."""
    if lots.counted.all():
        return lots
    at, balance = np.flatnonzero(~lots.counted), lots.balance.copy()
    balance[at] = amount_law(lots, facts, at).nodes()[1]
    return replace(lots, balance=balance)


# All of these are our choice; the harvest season is common practice, no single source.
HARVEST_DAY_OF_YEAR = 258.0  # mid-September, when only the year is known
YEAR_SD = 0.15  # years either side of it
ESTIMATED_SD = 1.0
SHOP_YEARS = 1.0  # bought seed was harvested about a year before it was bought
SHOP_SD = 0.7
UNKNOWN_YEARS = 3.0  # of other seed, when it came or was first seen here
UNKNOWN_LOG_SD = 0.9


@dataclass(frozen=True, slots=True)
class LotAges:
    """``harvest_day`` (L,) as believed, and the spread of log age that doubt about it adds.

    ``known`` is true where a harvest year or date is on record.
    """

    harvest_day: FloatArray
    log_sd: FloatArray
    known: BoolArray


def lot_ages(collection: Collection, today: float) -> LotAges:
    """Take the best on record: harvest date, harvest year, the day it was bought or gathered here.

    Of other seed the day it came only says that it is older than that, and if that isn't known
    either, the day it was entered does: how old it was by then is a wide guess.
    A day that is only guessed gives way to any record of the seed from before it.
    """
    new_year = (collection.harvest_year - 2000.0) * DAYS_PER_YEAR
    by_date = ~np.isnan(collection.harvest_day)
    by_year = ~by_date & ~np.isnan(collection.harvest_year)
    fresh = (collection.bought | collection.saved_here) & ~np.isnan(collection.acquired_day)
    by_purchase = ~by_date & ~by_year & fresh
    came = np.fmin(collection.acquired_day, collection.created_day)
    bought_day = collection.acquired_day - SHOP_YEARS * DAYS_PER_YEAR
    guess = np.select(
        [by_date, by_year, by_purchase],
        [collection.harvest_day, new_year + HARVEST_DAY_OF_YEAR, bought_day],
        came - UNKNOWN_YEARS * DAYS_PER_YEAR,
    )
    harvest = np.minimum(guess, _first_seen(collection))
    sure = ~collection.harvest_estimated
    harvest = np.where(by_year & sure, np.maximum(harvest, new_year), harvest)
    harvest = np.minimum(np.where(by_date & sure, collection.harvest_day, harvest), today)
    age_years = np.maximum((today - harvest) / DAYS_PER_YEAR, 0.5)
    at_first = UNKNOWN_LOG_SD * UNKNOWN_YEARS  # years in doubt; those since then are sure
    sd_years = np.select([by_date, by_year, by_purchase], [0.0, YEAR_SD, SHOP_SD], at_first)
    sd_years = np.where(collection.harvest_estimated & (by_date | by_year), ESTIMATED_SD, sd_years)
    log_sd = sd_years / age_years
    return LotAges(harvest, np.minimum(log_sd, UNKNOWN_LOG_SD), by_date | by_year)


def _first_seen(collection: Collection) -> FloatArray:
    """The first day a lot is on record as seed: got, entered, put somewhere or tested."""
    first = np.fmin(collection.acquired_day, collection.created_day)
    for record in (collection.stays, collection.tests):
        np.minimum.at(first, record.lot, record.day)
    return first


KEPT_LOTS = 2048
"""Of so many lots at most all that is worked out is kept at hand, 70 MB; more are fitted anew for
each question, a part at a time. Our choice."""
NOWHERE = 0
"""Stands for the ordinary store in place of a place's id."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """Lots with their posterior viability. Positions index every column, (L,).

    ``facts`` and ``keeping`` go by kind id, ``conditions`` by place id. ``store_known`` is false
    where a default stood in for the conditions of the lot's present place. ``planting_stock`` marks
    lots that aren't seed: what is fitted of them means nothing and is told to nobody.
    """

    collection: Collection
    facts: dict[int, KindFacts]
    keeping: dict[int, KeepingPrior]
    ages: LotAges
    history: StorageHistory
    conditions: dict[int, YearlyConditions]
    priors: Priors
    observations: Observations
    posterior: Posterior
    store_known: BoolArray
    planting_stock: BoolArray
    today: float

    @property
    def lots(self) -> IntArray:
        return np.arange(self.collection.size)

    def dose_on(self, day: float | FloatArray) -> FloatArray:
        """Each lot's storage dose on a day, or on one day a lot, if it stays where it is."""
        days = np.broadcast_to(np.asarray(day, dtype=np.float64), (self.collection.size,))
        return self.history.dose_at(self.lots, days)

    def facts_of(self, position: int) -> KindFacts:
        return self.facts[int(self.collection.kind_id[position])]

    def amounts_left(self, lots: IntArray) -> AmountLaw:
        """What some lots that aren't counted may hold."""
        return amount_law(self.collection, self.facts, lots)

    def reckoned(self, position: int) -> bool:
        """Whether how much of a lot is alive can be reckoned: it is seed of a kind that keeps."""
        return not (self.planting_stock[position] or self.facts_of(position).cannot_be_stored)

    def stock_keeps_years(self, position: int) -> float:
        """How long planting stock of a lot's kind keeps; nan: nobody has said."""
        years = self.facts_of(position).planting_stock_years
        return math.nan if years is None else math.sqrt(years.value.low * years.value.high)

    def stock_age_years(self, position: int) -> float:
        """Years since planting stock was lifted; since it came or was entered, if not known."""
        lots = self.collection
        came = np.fmin(lots.acquired_day[position], lots.created_day[position])
        since = self.ages.harvest_day[position] if self.ages.known[position] else came
        return max(0.0, (self.today - float(since)) / DAYS_PER_YEAR)

    def keeping_of(self, position: int) -> KeepingPrior:
        return self.keeping[int(self.collection.kind_id[position])]


def refit(seen: Forecast, position: int, dose: FloatArray) -> Posterior:
    """One lot's posterior over again, once for each of several doses (D,)."""
    same = np.full(dose.size, position)
    tests = seen.observations.take(same, seen.observations.width)
    return fit_posterior(seen.priors.take(same), tests, dose)


def lot_nodes(seen: Forecast, position: int, day: float) -> ProbitNodes:
    """One lot's probit viability on a day, as weighted points to mix over."""
    dose = seen.history.dose_at(np.array([position]), np.array([day]))
    return refit(seen, position, dose).nodes(dose)


def fitted_again(
    seen: Forecast, positions: IntArray, dose: FloatArray
) -> Iterator[tuple[IntArray, Posterior]]:
    """Some lots fitted over again for questions at about ``dose``, (P,), as they come to be asked.

    Gives places in ``positions`` with the posterior of the lots there. Some hundreds are fitted
    together and let go, so that memory doesn't grow with their number.
    """
    tests = seen.observations.take(positions, seen.observations.width)
    return fit_posterior(seen.priors.take(positions), tests, dose, kept=False).in_parts()


def nodes_of_lots(
    seen: Forecast, positions: IntArray, day: float
) -> Iterator[tuple[int, ProbitNodes]]:
    """``lot_nodes`` of many lots, each with its position, in the order they are fitted."""
    dose = seen.history.dose_at(positions, np.full(positions.size, day))
    for places, part in fitted_again(seen, positions, dose):
        nodes = part.nodes(dose[places])
        for row, position in enumerate(positions[places].tolist()):
            yield position, ProbitNodes(nodes.probit[row : row + 1], nodes.weight[row : row + 1])


def forecast(
    session: Session,
    *,
    today: date,
    lot_ids: Iterable[int] | None = None,
    ahead_years: float = 1.0,
) -> Forecast:
    """Fit the lots asked for, or all. ``ahead_years`` hints how far questions will look.

    All may take seconds, and the connection is let go of before they are fitted.
    """
    collection = read_collection(session, lot_ids)
    kinds, conditions = _kinds(session, collection), _conditions(session, collection)
    if lot_ids is None:
        let_go(session)
    return _fitted(collection, kinds, conditions, day_number(today), ahead_years)


def forecast_of(
    session: Session, collection: Collection, *, today: date, ahead_years: float = 1.0
) -> Forecast:
    """Fit lots already read."""
    kinds, conditions = _kinds(session, collection), _conditions(session, collection)
    return _fitted(collection, kinds, conditions, day_number(today), ahead_years)


def _fitted(
    collection: Collection,
    kinds: tuple[dict[int, KindFacts], dict[int, KeepingPrior]],
    conditions: dict[int, YearlyConditions],
    now: float,
    ahead_years: float,
) -> Forecast:
    facts, keeping = kinds
    collection = with_packets_reckoned(collection, facts)
    ages = lot_ages(collection, now)
    history, known = _history(collection, facts, keeping, ages, conditions, now)
    priors = _priors(collection, facts, keeping, ages, known)
    lots = np.arange(collection.size)
    observations = _observations(collection.tests, history, collection.size)
    horizon = history.dose_at(lots, np.full(collection.size, now + DAYS_PER_YEAR * ahead_years))
    return Forecast(
        collection=collection,
        facts=facts,
        keeping=keeping,
        ages=ages,
        history=history,
        conditions=conditions,
        priors=priors,
        observations=observations,
        posterior=fit_posterior(priors, observations, horizon, kept=collection.size <= KEPT_LOTS),
        store_known=known,
        planting_stock=_planting_stock(collection, facts),
        today=now,
    )


def _planting_stock(lots: Collection, facts: Mapping[int, KindFacts]) -> BoolArray:
    if not any(lots.kept_as) and not any(one.kept_as for one in facts.values()):
        return np.zeros(lots.size, dtype=np.bool_)
    kinds = zip(lots.kind_id.tolist(), lots.kept_as, strict=True)
    return np.array([facts[kind].is_planting_stock(own) for kind, own in kinds], dtype=np.bool_)


def _kinds(
    session: Session, collection: Collection
) -> tuple[dict[int, KindFacts], dict[int, KeepingPrior]]:
    ids = np.unique(collection.kind_id).tolist()
    kinds = session.exec(select(Kind).where(col(Kind.id).in_(ids))).all()
    facts = facts_for_kinds(session, kinds)
    keeping = {number: _keeping(known) for number, known in facts.items()}
    return facts, keeping


def _keeping(facts: KindFacts) -> KeepingPrior:
    """The packaged prior where the gardener overrides nothing: it is worked out once."""
    if packaged_kinds().get(facts.slug) == facts:
        return packaged_keeping()[facts.slug]
    return keeping_prior(facts)


def conditions_of(place: Place) -> YearlyConditions:
    """A place's conditions through the year; the ordinary store stands in for what isn't known."""
    usual = ORDINARY_STORE
    temps = [t for t in (place.temp_winter_c, place.temp_summer_c) if t is not None]
    air = [rh for rh in (place.rh_winter_pct, place.rh_summer_pct) if rh is not None]
    wet_known = bool(air) or place.seed_moisture_pct is not None

    def or_else(value: float | None, others: list[float], default: float) -> float:
        return value if value is not None else others[0] if others else default

    return YearlyConditions(
        temp_winter_c=or_else(place.temp_winter_c, temps, usual.temp_winter_c),
        temp_summer_c=or_else(place.temp_summer_c, temps, usual.temp_summer_c),
        rh_winter_pct=or_else(place.rh_winter_pct, air, usual.rh_winter_pct),
        rh_summer_pct=or_else(place.rh_summer_pct, air, usual.rh_summer_pct),
        sealed=place.sealed,
        seed_moisture_pct=place.seed_moisture_pct,
        known=bool(temps) and wet_known,
    )


def _conditions(session: Session, collection: Collection) -> dict[int, YearlyConditions]:
    """Conditions by place id, of every place in the lots' histories and of nowhere known."""
    places = np.unique(collection.stays.place_id).tolist()
    wanted = select(Place).where(col(Place.id).in_(places))
    return {NOWHERE: ORDINARY_STORE} | {
        row_id(place.id): conditions_of(place) for place in session.exec(wanted)
    }


def _history(
    collection: Collection,
    facts: dict[int, KindFacts],
    keeping: dict[int, KeepingPrior],
    ages: LotAges,
    conditions: dict[int, YearlyConditions],
    today: float,
) -> tuple[StorageHistory, BoolArray]:
    """Every lot's stays from harvest on; before its first recorded one it was nowhere known.

    Seed that can't be stored goes by its age alone: the response to moisture is of seed that dries.
    """
    stays, size = collection.stays_until(today), collection.size
    harvested = ages.harvest_day
    first_day = np.full(size, np.inf)
    np.minimum.at(first_day, stays.lot, stays.day)
    before = np.flatnonzero(harvested < first_day)
    lot = np.concatenate([before, stays.lot])
    # A stay recorded from before the harvest begins at the harvest.
    day = np.concatenate([harvested[before], np.maximum(stays.day, harvested[stays.lot])])
    place = np.concatenate([np.full(before.size, NOWHERE), stays.place_id])
    numbers = max(conditions) + 1
    pair = collection.kind_id[lot] * numbers + place
    pairs, row = np.unique(pair, return_inverse=True)
    table = np.empty((pairs.size, 367))
    for at, number in enumerate(pairs.tolist()):
        kind, where = divmod(number, numbers)
        prior = keeping[kind]
        store = ORDINARY_STORE if facts[kind].cannot_be_stored else conditions[where]
        table[at] = yearly_dose(prior.constants, prior.isotherm, store).cumulative
    history = storage_history(lot, day, row.astype(np.int64), table)
    order = np.lexsort((day, lot))
    known_place = np.array([conditions[number].known for number in place[order].tolist()], bool)
    return history, known_place[history.last] if size else np.zeros(0, dtype=np.bool_)


def _priors(
    collection: Collection,
    facts: dict[int, KindFacts],
    keeping: dict[int, KeepingPrior],
    ages: LotAges,
    known: BoolArray,
) -> Priors:
    kinds = np.unique(collection.kind_id)
    at = np.searchsorted(kinds, collection.kind_id)
    minimum = np.array([_minimum(facts[kind]) for kind in kinds.tolist()])
    kind_sd = np.array([keeping[kind].estimate.log_sigma_sd for kind in kinds.tolist()])
    mean, sd = initial_viability(minimum[at], collection.bought)
    return Priors(mean, sd, lot_log_sd(kind_sd[at], known, ages.log_sd))


def _minimum(facts: KindFacts) -> float:
    fact = facts.minimum_germination_pct
    return float("nan") if fact is None else fact.value / 100.0


def _observations(tests: Tests, history: StorageHistory, lots: int) -> Observations:
    """Tests as (L, J) columns; those whose replicates agree are binomial of a discounted size."""
    number = np.bincount(tests.lot, minlength=lots)
    width = int(number.max(initial=0))
    turn = np.arange(tests.lot.size) - (np.cumsum(number) - number)[tests.lot]
    even = tests.correlation <= BETWEEN_TESTS_RHO
    counts = discount_counts(tests.viable, tests.seeds)

    def spread(values: FloatArray) -> FloatArray:
        table = np.zeros((lots, width))
        table[tests.lot, turn] = values
        return table

    return Observations(
        dose=spread(history.dose_at(tests.lot, tests.day)),
        viable=spread(np.where(even, counts.viable, tests.viable)),
        seeds=spread(np.where(even, counts.seeds, tests.seeds)),
        overdispersion=spread(np.where(even, 0.0, tests.correlation)),
    )
