"""What is on record of lots, and what follows of it for each lot by itself: age, storage, prior.

Other lots' tests come in with ``garden_keeping``, the lot's own with ``forecast_viability``.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from sqlmodel import Session, col, select

from seedbank.database.find import row_id
from seedbank.facts.keeping import KeepingPrior, keeping_prior, packaged_keeping
from seedbank.facts.kinds import KindFacts, packaged_kinds
from seedbank.kinds.edit_kinds import facts_for_kinds
from seedbank.kinds.tables import Kind
from seedbank.lots.tables.lots import SeedForm
from seedbank.lots.tables.places import Place
from seedbank.science.quantities import BoolArray, FloatArray, IntArray
from seedbank.science.viability.circumstances import (
    MOST_PLACES,
    RESEALED,
    PossibleStorage,
    SealedPlaces,
    opened,
    possible_storage,
)
from seedbank.science.viability.decline import (
    DAYS_PER_YEAR,
    ORDINARY_STORE,
    YearlyConditions,
    yearly_dose,
)
from seedbank.science.viability.evidence import EvidenceTables, Observations
from seedbank.science.viability.failed_tests import least_alive
from seedbank.science.viability.packet_evidence import printed_likelihood
from seedbank.science.viability.posterior import Priors
from seedbank.science.viability.prior import (
    PELLETED_LIFE,
    PELLETED_LOG_SD,
    initial_viability,
    lot_log_sd,
)
from seedbank.science.viability.storage_history import StorageHistory, storage_history
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO
from seedbank.viability.lot_ages import LotAges, lot_ages
from seedbank.viability.tables.stock_columns import Collection, Tests

NOWHERE = 0
"""Stands for the ordinary store in place of a place's id."""


@dataclass(frozen=True, slots=True)
class LotRecords:
    """Lots with what is known of them but for what other lots teach. Columns are (L,).

    ``facts`` and ``keeping`` go by kind id, ``conditions`` by place id; ``history`` is how each lot
    was most likely kept, ``stay_place`` (S,) the place of each stay of it; ``storage`` has all the
    circumstances it may have been in. ``alone`` is each lot's prior as if it were the only one;
    ``store_known`` is false where a default stands in for what its present place is like.
    ``planting_stock`` marks lots that aren't seed of one kind, mixtures too: what is fitted of them
    means nothing and is told to nobody.
    """

    collection: Collection
    facts: dict[int, KindFacts]
    keeping: dict[int, KeepingPrior]
    ages: LotAges
    history: StorageHistory
    stay_place: IntArray
    storage: PossibleStorage
    conditions: dict[int, YearlyConditions]
    alone: Priors
    store_known: BoolArray
    planting_stock: BoolArray
    today: float

    @property
    def lots(self) -> IntArray:
        return np.arange(self.collection.size)

    def dose_on(self, day: float | FloatArray) -> FloatArray:
        """Each lot's storage dose on a day, or on one day a lot, if it stays where it is.

        In each circumstance it may be in, (L, Z).
        """
        days = np.broadcast_to(np.asarray(day, dtype=np.float64), (self.collection.size,))
        return self.storage.doses_at(self.lots, days)

    def facts_of(self, position: int) -> KindFacts:
        return self.facts[int(self.collection.kind_id[position])]

    def reckoned(self, position: int) -> bool:
        """Whether how much of a lot is alive can be reckoned: it is seed of a kind that keeps."""
        return not (self.planting_stock[position] or self.facts_of(position).cannot_be_stored)

    def recalled_share(self, position: int) -> float:
        """Share (0..1) of the evidence on how long a lot's kind keeps that was recalled."""
        stock = self.planting_stock[position]
        return 0.0 if stock else round(self.keeping_of(position).recalled_share, 4)

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

    def evidence(self, rho: float, lots: IntArray) -> Observations:
        """All that speaks of some lots: their tests and what is printed on their packets."""
        tests = self.all_tests_of(rho, lots)
        return tests.and_those(self.printed_on(lots)) if self.printed[lots].any() else tests

    @property
    def printed(self) -> BoolArray:
        """Lots (L,) of seed on whose packet a germination is printed."""
        packets, found = self.collection.packets, np.zeros(self.collection.size, dtype=np.bool_)
        found[packets.lot[~np.isnan(packets.printed_pct)]] = True
        return found & ~self.planting_stock

    def printed_on(self, lots: IntArray) -> Observations:
        """Germination printed on the packets of some lots, on the day of that test.

        Where no day is told it was before the seed came.
        """
        packets, size = self.collection.packets, self.collection.size
        here = np.isin(packets.lot, lots) & ~np.isnan(packets.printed_pct)
        whose = packets.lot[here]
        minimum = [_minimum(self.facts_of(one)) for one in whose.tolist()]
        printed = np.stack([packets.printed_pct[here], 100.0 * np.array(minimum)], axis=1)
        distinct, table = np.unique(printed, axis=0, return_inverse=True)
        came = np.fmin(self.collection.acquired_day, self.collection.created_day)[whose]
        day = np.minimum(np.fmin(packets.tested_day[here], came), self.today)
        (rows,) = in_rows(whose, size, np.asarray(table.ravel() + 1.0, dtype=np.float64))
        tables = EvidenceTables.of(printed_likelihood(*distinct.T))
        found = Observations(self.doses_in_rows(whose, day), rows.astype(np.int64), tables)
        return found.weighed(self.storage.weight).take(lots)

    def tests_of(self, rho: float, lots: IntArray) -> Observations:
        """Tests of some lots where two tests of one lot vary by ``rho`` beyond their seeds.

        One whose replicates disagree varies by its own, if that is more. Those that went wrong
        aren't among them.
        """
        tests, size = self.collection.tests.sound, self.collection.size
        tests = tests.take(np.isin(tests.lot, lots))
        columns = (tests.viable, tests.seeds, spread_of(tests, rho))
        of_tests = in_rows(tests.lot, size, *columns)
        dose = self.doses_in_rows(tests.lot, tests.day)
        return Observations.of_tests(dose, *of_tests).weighed(self.storage.weight).take(lots)

    def all_tests_of(self, rho: float, lots: IntArray) -> Observations:
        """Those and the tests that went wrong, which say the least that was alive."""
        sound = self.tests_of(rho, lots)
        if not self.collection.tests.faulty.any():
            return sound
        return sound.and_those(self._faulty_tests_of(rho, lots))

    def _faulty_tests_of(self, rho: float, lots: IntArray) -> Observations:
        tests = self.collection.tests
        tests = tests.take(tests.faulty & (tests.seeds > 0) & np.isin(tests.lot, lots))
        counts = np.stack([tests.viable, tests.seeds, spread_of(tests, rho)], axis=1)
        distinct, table = np.unique(counts, axis=0, return_inverse=True)
        number = np.asarray(table.ravel() + 1.0, dtype=np.float64)
        (rows,) = in_rows(tests.lot, self.collection.size, number)
        tables = EvidenceTables.of(least_alive(*distinct.T), one_peak=False)
        dose = self.doses_in_rows(tests.lot, tests.day)
        told = Observations(dose, rows.astype(np.int64), tables)
        return told.weighed(self.storage.weight).take(lots)

    def doses_in_rows(self, lot: IntArray, day: FloatArray) -> FloatArray:
        """Doses on the days of what is on record of lots, (L, J, Z), laid out as by ``in_rows``."""
        doses = self.storage.doses_at(lot, day)
        return np.stack(in_rows(lot, self.collection.size, *doses.T), axis=2)


def spread_of(tests: Tests, rho: float) -> FloatArray:
    """Correlation of each test: ``rho``, or its own where its replicates disagree by more."""
    own = np.where(tests.correlation > BETWEEN_TESTS_RHO, tests.correlation, 0.0)
    return np.maximum(own, rho)


def in_rows(row: IntArray, rows: int, *columns: FloatArray) -> tuple[FloatArray, ...]:
    """Each column's values laid out in their rows, (rows, W), in order and filled up with 0."""
    order = np.argsort(row, kind="stable")
    number = np.bincount(row, minlength=rows)
    turn = np.arange(row.size) - np.repeat(np.cumsum(number) - number, number)
    tables = np.zeros((len(columns), rows, int(number.max(initial=0))))
    tables[:, row[order], turn] = np.stack(columns)[:, order]
    return tuple(tables)


def records_of(session: Session, collection: Collection, today: float) -> LotRecords:
    """Lots already read, with what else is on record of their kinds and places."""
    facts, keeping = _kinds(session, collection)
    conditions = _conditions(session, collection)
    ages = lot_ages(collection, today)
    kinds = _Kinds(facts, keeping, conditions)
    history, stay_place, sealed = _histories(collection, kinds, ages, today)
    short = short_lived(collection)
    history = history.hastened(short, 1.0 / PELLETED_LIFE)
    sealed = sealed.hastened(short, 1.0 / PELLETED_LIFE)
    known = {place: store.known for place, store in conditions.items()}
    present = stay_place[history.last].tolist() if collection.size else []
    store_known = np.array([known[place] for place in present], dtype=np.bool_)
    alone = _priors(collection, facts, keeping, store_known)
    storage, ki_sd = possible_storage(history, ages.possible, sealed, alone.ki_sd)
    return LotRecords(
        collection=collection,
        facts=facts,
        keeping=keeping,
        ages=ages,
        history=history,
        stay_place=stay_place,
        storage=storage,
        conditions=conditions,
        alone=replace(alone, ki_sd=ki_sd).widened(np.where(short, PELLETED_LOG_SD, 0.0)),
        store_known=store_known,
        planting_stock=_planting_stock(collection, facts),
        today=today,
    )


def short_lived(lots: Collection) -> BoolArray:
    """Lots (L,) of seed that is pelleted or primed."""
    found = np.zeros(lots.size, dtype=np.bool_)
    pelleted = [one in (SeedForm.PELLETED, SeedForm.PRIMED) for one in lots.packets.forms]
    found[lots.packets.lot[np.array(pelleted, dtype=np.bool_)]] = True
    return found


def _planting_stock(lots: Collection, facts: Mapping[int, KindFacts]) -> BoolArray:
    if not any(lots.kept_as) and not any(one.kept_as for one in facts.values()):
        return lots.mixture
    kinds = zip(lots.kind_id.tolist(), lots.kept_as, strict=True)
    stock = [facts[kind].is_planting_stock(own) for kind, own in kinds]
    return np.array(stock, dtype=np.bool_) | lots.mixture


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
        return packaged_keeping(facts.slug)
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


@dataclass(frozen=True, slots=True)
class _Kinds:
    """What is known of kinds and places, by their ids."""

    facts: dict[int, KindFacts]
    keeping: dict[int, KeepingPrior]
    conditions: dict[int, YearlyConditions]

    def yearly_doses(self, kind: IntArray, place: IntArray) -> FloatArray:
        """Cumulative yearly dose, (P, 367), of each pair; a ``place`` below 0 is one left open."""
        table = np.empty((kind.size, 367))
        for at, (one, where) in enumerate(zip(kind.tolist(), place.tolist(), strict=True)):
            store = self.conditions[abs(where)]
            if self.facts[one].cannot_be_stored:
                store = ORDINARY_STORE
            elif where < 0:
                store = opened(store)
            prior = self.keeping[one]
            table[at] = yearly_dose(prior.constants, prior.isotherm, store)
        return table


def _histories(
    collection: Collection, kinds: _Kinds, ages: LotAges, today: float
) -> tuple[StorageHistory, IntArray, SealedPlaces]:
    """Every lot's stays from harvest on, the place (its id) of each, and how it is if left open.

    Before its first recorded stay a lot was nowhere known. Seed that can't be stored goes by its
    age alone: the response to moisture is of seed that dries.
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
    lot, day, place, sealing = _cut_where_sealed(lot, day, place, collection, today)
    sealed = _sealed_places(lot, sealing, collection, kinds)
    ways = [place, *(np.where(one[lot] == sealing, -place, place) for one in sealed.T)]
    pairs, row = np.unique(
        np.stack([np.tile(collection.kind_id[lot], len(ways)), np.concatenate(ways)], axis=1),
        axis=0,
        return_inverse=True,
    )
    table = kinds.yearly_doses(pairs[:, 0], pairs[:, 1])
    rows = row.ravel().astype(np.int64).reshape(len(ways), -1)
    believed, *if_open = (storage_history(lot, day, one, table) for one in rows)
    return believed, place, SealedPlaces(sealed, tuple(if_open))


def _cut_where_sealed(
    lot: IntArray, day: FloatArray, place: IntArray, collection: Collection, today: float
) -> tuple[IntArray, FloatArray, IntArray, IntArray]:
    """Stays in order, each cut on the days its place was sealed anew, and the sealing of each.

    A sealing is the place's id, and ``RESEALED`` more for each time it was sealed anew by then.
    """
    order = np.lexsort((day, lot))
    lot, day, place = lot[order], day[order], place[order]
    anew = collection.sealings.day <= today
    places, days = collection.sealings.place_id[anew], collection.sealings.day[anew]
    last = np.append(np.diff(lot) != 0, True)[: lot.size]
    end = np.where(last, np.inf, np.append(day[1:], np.inf)[: lot.size])
    stay, cut = np.nonzero(
        (place[:, None] == places) & (day[:, None] < days) & (days < end[:, None])
    )
    lot, place = np.append(lot, lot[stay]), np.append(place, place[stay])
    day = np.append(day, days[cut])
    order = np.lexsort((day, lot))
    lot, day, place = lot[order], day[order], place[order]
    times = np.count_nonzero((place[:, None] == places) & (days <= day[:, None]), axis=1)
    return lot, day, place, place + RESEALED * times


def _sealed_places(
    lot: IntArray, sealing: IntArray, collection: Collection, kinds: _Kinds
) -> IntArray:
    """The sealings each lot lay in last, (L, 0 to 2), 0 for none; stays in order."""
    of_kinds = {one for one, facts in kinds.facts.items() if not facts.cannot_be_stored}
    found: dict[int, list[int]] = {}
    closed = {one for one, store in kinds.conditions.items() if store.sealed}
    for at in np.flatnonzero(np.isin(sealing % RESEALED, list(closed)))[::-1].tolist():
        mine = found.setdefault(int(lot[at]), [])
        fits = len(mine) < MOST_PLACES and int(sealing[at]) not in mine
        if fits and int(collection.kind_id[lot[at]]) in of_kinds:
            mine.append(int(sealing[at]))
    sealed = np.zeros((collection.size, max(map(len, found.values()), default=0)), dtype=np.int64)
    for one, mine in found.items():
        sealed[one, : len(mine)] = mine
    return sealed


def _priors(
    collection: Collection,
    facts: dict[int, KindFacts],
    keeping: dict[int, KeepingPrior],
    known: BoolArray,
) -> Priors:
    kinds = np.unique(collection.kind_id)
    at = np.searchsorted(kinds, collection.kind_id)
    minimum = np.array([_minimum(facts[kind]) for kind in kinds.tolist()])
    kind_sd = np.array([keeping[kind].estimate.log_sigma_sd for kind in kinds.tolist()])
    mean, sd = initial_viability(minimum[at], collection.bought)
    return Priors(mean, sd, lot_log_sd(kind_sd[at], known))


def _minimum(facts: KindFacts) -> float:
    fact = facts.minimum_germination_pct
    return float("nan") if fact is None else fact.value / 100.0
