"""What every lot's tests and sowings teach about how seed keeps here, and so about each lot.

A lot's keeping is an effect of the garden, of the places it lay in (by the share of its ageing that
it took up in each), of its kind, of whom it came from, and what is its own. What tests have told of
the shared parts is kept until something they rest on changes; then only lots whose own records
changed are worked out anew.
"""

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from hashlib import blake2b
from typing import Final

import numpy as np
from sqlmodel import Session

from seedbank.database.cache import CacheRegion
from seedbank.database.transaction import let_go
from seedbank.facts.keeping import keeping_model
from seedbank.science.quantities import BoolArray, FloatArray, IntArray
from seedbank.science.shared_effects import (
    REACH_SD,
    LearnedEffects,
    NormalFactors,
    SharedEffects,
)
from seedbank.science.viability.between_tests import MOST_LOTS, RHO, learn_rho, rho_evidence
from seedbank.science.viability.circumstances import PossibleStorage
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.open_places import LearnedPlaces, StateEvidence, learn_places
from seedbank.science.viability.posterior import Priors
from seedbank.science.viability.prior import (
    KNOWN_STORE_LOG_SD,
    LOT_LOG_SD,
    PELLETED_LOG_SD,
    SAVER_LOG_SD,
    UNKNOWN_STORE_LOG_SD,
)
from seedbank.science.viability.shared_keeping import evidence_by_state
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO as USUAL_RHO
from seedbank.viability.lot_records import (
    NOWHERE,
    LotRecords,
    in_rows,
    records_of,
    short_lived,
)
from seedbank.viability.past_sowings import PastSowing, read_past_sowings
from seedbank.viability.sown_evidence import SownEvidence, not_yet_learned
from seedbank.viability.tables.stock_columns import Collection, read_collection

GARDEN, PLACE, KIND, SAVER = "garden", "place", "kind", "saver"
Effect = tuple[str, int | str]
"""The sort of a shared effect, and whose: a place's or a kind's id, a saver's name."""
LEAST_KIND_VARIANCE: Final = 0.1**2
_ROUNDS: Final = 2  # of beds


@dataclass(frozen=True, slots=True)
class GardenKeeping:
    """What the garden's tests and sowings have taught; lots (L,) in order of ``lot_id``.

    ``mean`` and ``sd`` are the law of each lot's lam from all other lots. ``teachers`` (T,) are the
    positions of lots with evidence of their own, ``tests`` in all; in their order stand
    ``evidence`` and the factors of ``learned``, and ``evidence_keys``, which tell whether a lot's
    evidence is still the same. Two tests of one lot vary by ``rho`` beyond their seeds;
    ``rho_evidence`` is what each lot with several tests says of that, by like keys.
    """

    lot_id: IntArray
    effects: SharedEffects
    names: tuple[Effect, ...]
    places: LearnedPlaces
    mean: FloatArray
    sd: FloatArray
    teachers: IntArray
    evidence: StateEvidence
    evidence_keys: tuple[bytes, ...]
    tests: int = 0
    rho: float = USUAL_RHO
    rho_evidence: Mapping[bytes, FloatArray] = field(default_factory=dict)
    sown: SownEvidence = field(default_factory=lambda: not_yet_learned(()))

    def priors(self, records: LotRecords) -> Priors:
        """The prior of each lot of ``records`` from its records and all other lots' tests."""
        at = np.searchsorted(self.lot_id, records.collection.lot_id)
        return Priors(records.alone.ki_mean, records.alone.ki_sd, self.sd[at], self.mean[at])

    @property
    def learned(self) -> LearnedEffects:
        """The shared effects."""
        return self.places.learned

    def rho_by_others(self, records: LotRecords, lot: int) -> float:
        """How much two tests of one lot vary, by the tests of all other lots alone."""
        one = np.array([lot])
        [own] = _evidence_keys(records.alone.take(one), records.tests_of(USUAL_RHO, one))
        others = [told for key, told in self.rho_evidence.items() if key != own]
        return learn_rho(np.array(others).reshape(-1, RHO.size))

    def storage(self, records: LotRecords) -> PossibleStorage:
        """What each lot of ``records`` may have gone through, by what all other lots' tests say."""
        storage = records.storage
        told = np.zeros((self.lot_id.size, storage.place.shape[1]))
        told[self.teachers] = self.places.told[:, : told.shape[1]]
        at = np.searchsorted(self.lot_id, records.collection.lot_id)
        return replace(storage, open_chance=self.places.chance(storage.place, told[at]))


_GARDENS: CacheRegion[GardenKeeping] = CacheRegion()


def garden_keeping(
    session: Session, state: Hashable, today: float, all_lots: LotRecords | None = None
) -> GardenKeeping:
    """What the garden has taught as of ``state``, the counters of what is alive.

    ``all_lots`` are every lot's records where the caller has read them since.
    """

    def learned() -> GardenKeeping:
        records = all_lots or records_of(session, read_collection(session, amounts=False), today)
        sowings = read_past_sowings(session, records)
        if all_lots is not None:  # the caller has let go of its connection
            let_go(session)
        return learn_from(records, sowings, _GARDENS.last(session))

    return _GARDENS.get(session, (today, state), learned)


def garden_if(session: Session, today: float, changed: Collection) -> GardenKeeping:
    """What the garden would teach if the tests of these lots were as in ``changed``."""
    everything = read_collection(session, amounts=False)
    at = np.searchsorted(everything.lot_id, changed.lot_id)
    kept, new = everything.tests, changed.tests
    kept = kept.take(np.flatnonzero(~np.isin(kept.lot, at)))
    both = kept.and_those(replace(new, lot=at[new.lot]))
    tests = both.take(np.argsort(both.lot, kind="stable"))
    records = records_of(session, replace(everything, tests=tests), today)
    return learn_from(records, read_past_sowings(session, records), _GARDENS.last(session))


def learn_from(
    records: LotRecords,
    sowings: Sequence[PastSowing] = (),
    before: GardenKeeping | None = None,
) -> GardenKeeping:
    """Learn from these lots and their sowings; ``before`` saves work where lots are as they were.

    Lots from tests, beds from lots, lots from beds too, and again: three rounds of lots, always.
    """
    counted = records.collection.tests.sound
    tests = np.bincount(counted.lot[counted.seeds > 0], minlength=records.collection.size)
    tests[_does_not_store(records)] = 0
    of_rho, rho_evidence = _rho_evidence(
        records, tests, {} if before is None else before.rho_evidence
    )
    rho = learn_rho(of_rho)
    by_tests = records.evidence(rho, records.lots)
    shared, sown = shared_effects(records), not_yet_learned(sowings)
    keeping = _keeping(records, shared, by_tests, before)
    for _ in range(_ROUNDS if sowings else 0):
        now = by_tests.weighed(keeping.storage(records).weight)
        sown = sown.again(records, keeping.priors(records), now)
        both = by_tests.and_those(sown.evidence(records))
        keeping = _keeping(records, shared, both, keeping)
    return replace(keeping, tests=int(tests.sum()), rho=rho, rho_evidence=rho_evidence, sown=sown)


def _keeping(
    records: LotRecords,
    shared: tuple[SharedEffects, tuple[Effect, ...]],
    observations: Observations,
    before: GardenKeeping | None,
) -> GardenKeeping:
    """What lots teach each other by all these pieces of evidence."""
    effects, names = shared
    teachers = np.flatnonzero((observations.number > 0) & ~_does_not_store(records))
    alone, observations = records.alone.take(teachers), observations.take(teachers)
    keys = _evidence_keys(alone, observations)
    known = {} if before is None else {key: at for at, key in enumerate(before.evidence_keys)}
    place = np.array([known.get(key, -1) for key in keys], dtype=np.int64)
    evidence = _evidence(alone, observations, records.storage.take(teachers), place, before)
    start = _start(before, records.collection.lot_id[teachers], place)
    own = effects.take(teachers)
    places = learn_places(own, evidence, start)
    mean, sd = places.learned.untested(effects)
    mean[teachers], sd[teachers] = places.learned.without_own(own)
    return GardenKeeping(
        lot_id=records.collection.lot_id,
        effects=effects,
        names=names,
        places=places,
        mean=mean,
        sd=sd,
        teachers=teachers,
        evidence=evidence,
        evidence_keys=keys,
    )


def _start(
    before: GardenKeeping | None, lot_id: IntArray, known: IntArray
) -> tuple[NormalFactors, ...]:
    """Factors to begin with: where the evidence is ``known`` its own, else the lot's, outdated."""
    if before is None or before.teachers.size == 0:
        return ()
    had = before.lot_id[before.teachers]
    lot = np.minimum(np.searchsorted(had, lot_id), had.size - 1)
    at = np.where(known >= 0, known, np.where(had[lot] == lot_id, lot, -1))
    new = np.flatnonzero(known < 0)
    return tuple(one.take(at).outdated(new) for one in before.places.rounds)


def _evidence(
    alone: Priors,
    observations: Observations,
    storage: PossibleStorage,
    known: IntArray,
    before: GardenKeeping | None,
) -> StateEvidence:
    """Each lot's evidence: as it was where ``known`` says where, else worked out."""
    new = np.flatnonzero(known < 0)
    states = 2 ** storage.place.shape[1]
    by_age = observations.take(new)
    by_age = by_age.weighed(storage.age_weight[new, : by_age.cases])
    fresh = evidence_by_state(alone.take(new), by_age, storage.state[new], states)
    reach = REACH_SD * alone.log_sigma_sd
    if before is None or new.size == known.size:
        return StateEvidence(reach, fresh, storage.place)
    values = np.full((known.size, states, fresh.shape[2]), -np.inf)
    had = before.evidence.log_likelihood[known, :states]
    values[:, : had.shape[1]] = had
    values[new] = fresh
    return StateEvidence(reach, values, storage.place)


def _evidence_keys(alone: Priors, observations: Observations) -> tuple[bytes, ...]:
    """What each lot's evidence is worked out from; alike only where that is the same."""
    of_each = observations.tables.pieces.reshape(observations.tables.guess.size, -1)
    tables = [blake2b(pieces.tobytes(), digest_size=16).digest() for pieces in of_each]
    prior = np.stack([alone.ki_mean, alone.ki_sd, alone.log_sigma_sd], axis=1)
    return tuple(
        law.tobytes()
        + dose[which > 0, :cases].tobytes()
        + weight[:cases].tobytes()
        + b"".join(tables[at] for at in which if at)
        for law, dose, weight, cases, which in zip(
            prior,
            observations.dose,
            observations.weight,
            observations.cases_of_each,
            observations.table,
            strict=True,
        )
    )


def _rho_evidence(
    records: LotRecords, tests: IntArray, known: Mapping[bytes, FloatArray]
) -> tuple[FloatArray, dict[bytes, FloatArray]]:
    """What lots tested twice say of rho, (T, 7), and by their keys: at most 300 with most tests."""
    lots = np.argsort(-tests, kind="stable")[:MOST_LOTS]
    lots = lots[tests[lots] > 1]
    keys = _evidence_keys(records.alone.take(lots), records.tests_of(USUAL_RHO, lots))
    new = lots[[key not in known for key in keys]]
    fresh = iter(
        rho_evidence(records.alone.take(new), lambda rho: records.tests_of(rho, new))
        if new.size
        else ()
    )
    rows = [known[key] if key in known else next(fresh) for key in keys]
    return np.array(rows).reshape(-1, RHO.size), dict(zip(keys, rows, strict=True))


def _does_not_store(records: LotRecords) -> BoolArray:
    """Lots (L,) that go by a law of their own and teach no one: fleeting seed, planting stock."""
    fleeting = [kind for kind, facts in records.facts.items() if facts.cannot_be_stored]
    return records.planting_stock | np.isin(records.collection.kind_id, fleeting)


def shared_effects(records: LotRecords) -> tuple[SharedEffects, tuple[Effect, ...]]:
    """The effects that act on each lot, and whose each is.

    Their variances add up to that of the lot's prior alone. What lay somewhere unknown before it
    came, or came from nobody named, shares that part with no other lot.
    """
    lots = records.collection
    shared = ~_does_not_store(records)
    lot, where, weight = _by_place(records.history.lot, records.stay_place, _dose_shares(records))
    somewhere = where == NOWHERE
    named = np.array([saver != "" for saver in lots.saver], dtype=np.bool_)
    own = LOT_LOG_SD**2 - SAVER_LOG_SD**2 * named
    own += (PELLETED_LOG_SD * short_lived(lots)) ** 2
    np.add.at(own, lot[somewhere], weight[somewhere] ** 2 * UNKNOWN_STORE_LOG_SD**2)
    everyone = np.arange(lots.size)
    rows = [
        (everyone, [(GARDEN, "")] * lots.size, np.ones(lots.size)),
        (everyone, [(KIND, kind) for kind in lots.kind_id.tolist()], np.ones(lots.size)),
        (everyone, [(SAVER, saver) for saver in lots.saver], named.astype(np.float64)),
        (
            lot[~somewhere],
            [(PLACE, at) for at in where[~somewhere].tolist()],
            weight[~somewhere],
        ),
    ]
    names = tuple(dict.fromkeys(name for _, part, _ in rows for name in part))
    column = {name: at for at, name in enumerate(names)}
    whose = np.concatenate([part[0] for part in rows])
    effect = np.array([column[name] for _, part, _ in rows for name in part], dtype=np.float64)
    amount = np.concatenate([part[2] for part in rows])
    effects, amounts = in_rows(whose, lots.size, effect, amount * shared[whose])
    return (
        SharedEffects(
            effects.astype(np.int64),
            amounts,
            np.array([_variance(records, name) for name in names]),
            np.where(shared, np.sqrt(own), records.alone.log_sigma_sd),
        ),
        names,
    )


def _variance(records: LotRecords, name: Effect) -> float:
    sort, whose = name
    common = keeping_model().common_sd ** 2
    if sort == GARDEN:
        return common
    if sort == SAVER:
        return SAVER_LOG_SD**2
    if sort == PLACE:
        known = records.conditions[int(whose)].known
        return KNOWN_STORE_LOG_SD**2 if known else UNKNOWN_STORE_LOG_SD**2
    whole = records.keeping[int(whose)].estimate.log_sigma_sd ** 2
    return max(whole - common - LOT_LOG_SD**2, LEAST_KIND_VARIANCE)


def _dose_shares(records: LotRecords) -> FloatArray:
    """What share of its lot's dose each stay (S,) laid down.

    Until the lot's last test, whose evidence it explains; until today where there is none.
    """
    history, lots = records.history, records.collection
    until = np.full(lots.size, -np.inf)
    np.maximum.at(until, lots.tests.lot, lots.tests.day)
    until = np.where(np.isinf(until), records.today, until)
    last = np.zeros(history.lot.size, dtype=np.bool_)
    last[history.last] = True
    by_then = history.dose_at(records.lots, until)[history.lot]
    end = np.where(last, np.inf, np.append(history.before[1:], 0.0))
    taken = np.maximum(np.minimum(end, by_then) - history.before, 0.0)
    whole = np.bincount(history.lot, taken, minlength=lots.size)[history.lot]
    return np.divide(taken, whole, out=last.astype(np.float64), where=whole > 0.0)


def _by_place(
    lot: IntArray, place: IntArray, share: FloatArray
) -> tuple[IntArray, IntArray, FloatArray]:
    """Lot, place and share with one row a pair of them, those of no share left out."""
    pairs, at = np.unique(np.stack([lot, place], axis=1), axis=0, return_inverse=True)
    whole = np.bincount(at.ravel(), share, minlength=pairs.shape[0])
    used = whole > 0.0
    return pairs[used, 0], pairs[used, 1], np.asarray(whole[used], dtype=np.float64)
