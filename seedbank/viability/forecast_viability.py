"""How alive each lot is, on any day: its storage, its age, its tests and its kind put together.

Seed that is there and that nobody has counted: how it is told, and what stands in for a number.

It is never taken for none. Advice on what to sow isn't bounded by it; what a verdict or a plan
asks of it is answered for three amounts it may be (a packet of such seed, the table
``written_amounts``, less what was taken), and mixed. Where one number is told, it is the middle.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import Final

import numpy as np
from sqlmodel import Session

from seedbank.database.change_counters import changes
from seedbank.database.transaction import let_go
from seedbank.facts.growing import packet_row
from seedbank.facts.kinds import KindFacts, packaged_kinds
from seedbank.lots.weighing import kind_weight
from seedbank.science.amounts import AmountLaw
from seedbank.science.quantities import FloatArray, IntArray, ProbitNodes
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Posterior, Priors, fit_posterior
from seedbank.viability.garden_keeping import GardenKeeping, garden_if, garden_keeping
from seedbank.viability.lot_records import LotRecords, records_of
from seedbank.viability.tables.change_topics import ALIVE
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


KEPT_LOTS = 2048
"""Of so many lots at most all that is worked out is kept at hand, 70 MB; more are fitted anew for
each question, a part at a time. Our choice."""


@dataclass(frozen=True, slots=True)
class Forecast(LotRecords):
    """Lots with their posterior viability. Positions index every column, (L,).

    ``priors`` are what the lots' records and every other lot's tests say of each; ``garden`` is
    what was learned from those.
    """

    garden: GardenKeeping
    priors: Priors
    observations: Observations
    posterior: Posterior

    def amounts_left(self, lots: IntArray) -> AmountLaw:
        """What some lots that aren't counted may hold."""
        return amount_law(self.collection, self.facts, lots)


def crossing_days(
    seen: Forecast,
    lots: IntArray,
    posterior: Posterior,
    viability: FloatArray | float,
    probabilities: Sequence[float],
) -> FloatArray:
    """Days (n, Q) by which some lots, of this ``posterior``, have fallen through ``viability``.

    As likely as ``probabilities`` say; infinite where none could be named.
    """

    def others(at: IntArray, dose: FloatArray) -> FloatArray:
        return seen.storage.doses_by(lots[at], dose)

    dose = posterior.crossing_dose(viability, probabilities, others)
    history = seen.history.take(lots)
    return np.stack([history.day_of_dose(column) for column in dose.T], axis=1)


def refit(seen: Forecast, position: int, dose: FloatArray) -> Posterior:
    """One lot's posterior over again, once for each of several doses (D, Z)."""
    same = np.full(dose.shape[0], position)
    tests = seen.observations.take(same)
    return fit_posterior(seen.priors.take(same), tests, dose)


def with_tests(seen: Forecast, tests: Tests, rho: float) -> Forecast:
    """The same lots with other tests of their own, what other lots teach held as it is."""
    lots = replace(seen, collection=replace(seen.collection, tests=tests))
    observations = lots.evidence(rho, lots.lots).and_those(seen.garden.sown.evidence(lots))
    return replace(lots, observations=observations.weighed(seen.observations.weight))


def lot_nodes(seen: Forecast, position: int, day: float) -> ProbitNodes:
    """One lot's probit viability on a day, as weighted points to mix over."""
    dose = seen.storage.doses_at(np.array([position]), np.array([day]))
    return refit(seen, position, dose).nodes(dose)


def fitted_again(
    seen: Forecast, positions: IntArray, dose: FloatArray
) -> Iterator[tuple[IntArray, Posterior]]:
    """Some lots fitted over again for questions at about ``dose``, (P, Z), as they are asked.

    Gives places in ``positions`` with the posterior of the lots there. Some hundreds are fitted
    together and let go, so that memory doesn't grow with their number.
    """
    tests = seen.observations.take(positions)
    return fit_posterior(seen.priors.take(positions), tests, dose, kept=False).in_parts()


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
    now, state = day_number(today), changes(session, ALIVE)
    records = records_of(session, read_collection(session, lot_ids), now)
    if lot_ids is None:
        let_go(session)
    garden = garden_keeping(session, state, now, all_lots=records if lot_ids is None else None)
    return _fitted(records, garden, ahead_years)


def forecast_of(
    session: Session, collection: Collection, *, today: date, ahead_years: float = 1.0
) -> Forecast:
    """Fit lots as they would be if their tests were those of ``collection``."""
    now = day_number(today)
    records = records_of(session, collection, now)
    return _fitted(records, garden_if(session, now, collection), ahead_years)


def _fitted(records: LotRecords, garden: GardenKeeping, ahead_years: float) -> Forecast:
    priors = garden.priors(records)
    horizon = records.dose_on(records.today + DAYS_PER_YEAR * ahead_years)
    storage = garden.storage(records)
    observations = records.evidence(garden.rho, records.lots).and_those(
        garden.sown.evidence(records)
    )
    observations = observations.weighed(storage.weight)
    small = records.collection.size <= KEPT_LOTS
    return Forecast(
        collection=with_packets_reckoned(records.collection, records.facts),
        facts=records.facts,
        keeping=records.keeping,
        ages=records.ages,
        history=records.history,
        stay_place=records.stay_place,
        storage=storage,
        conditions=records.conditions,
        alone=records.alone,
        store_known=records.store_known,
        planting_stock=records.planting_stock,
        today=records.today,
        garden=garden,
        priors=priors,
        observations=observations,
        posterior=fit_posterior(priors, observations, horizon, kept=small),
    )
