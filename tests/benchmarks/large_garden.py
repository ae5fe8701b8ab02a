"""A large garden as its belief is worked out from: lots, their tests and their sowings."""

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from seedbank.facts.field_factors import published_shift_prior
from seedbank.facts.kinds import packaged_kinds
from seedbank.science.quantities import IntArray
from seedbank.science.shared_effects import SharedEffects
from seedbank.science.sowing.emergence import LEFT_BY_FAILURE, BetaShare
from seedbank.science.sowing.field_shift_prior import FAILURE, SOWING_SD, SowingConditions
from seedbank.science.sowing.seedling_losses import EatenRecord, patchiness_prior
from seedbank.science.sowing.sowing_evidence import SowingRecord
from seedbank.science.viability.circumstances import PossibleStorage
from seedbank.science.viability.decline import DAYS_PER_YEAR
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors
from seedbank.science.viability.storage_history import storage_history
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO as USUAL_RHO
from seedbank.viability.lot_records import in_rows
from seedbank.viability.past_sowings import PastSowing, season_of
from seedbank.viability.tables.stock_columns import EPOCH, Tests

Floats = NDArray[np.float64]
TESTS, PLACES, KINDS, SAVERS = 3, 40, 110, 60
SOWINGS, SOWN_OF = 3, 10
"""So many sowings of each lot in so many."""
_BEDS = (("row", "open"), ("row", "fleece"), ("station", "open"), ("module", "indoors"))


@dataclass(frozen=True)
class LargeGarden:
    """Lots (L,) as ``LotRecords`` tells of them: a year of storage is a unit of dose.

    ``dose`` and ``viable`` of ``seeds`` are those of their tests, (L, J); ``now`` is today's dose.
    """

    shared: SharedEffects
    alone: Priors
    dose: Floats
    viable: Floats
    seeds: Floats
    now: Floats
    sowings: tuple[PastSowing, ...]

    @property
    def size(self) -> int:
        return self.now.size

    @property
    def collection(self) -> Any:
        return self

    @property
    def facts(self) -> dict[int, Any]:
        return {}

    @property
    def lot_id(self) -> IntArray:
        return np.arange(self.size)

    kind_id = lots = lot_id

    @property
    def planting_stock(self) -> NDArray[np.bool_]:
        return np.zeros(self.size, dtype=np.bool_)

    @cached_property
    def storage(self) -> PossibleStorage:
        start, one, none = np.zeros(self.size), np.ones((self.size, 1)), np.zeros((self.size, 0))
        row, table = start.astype(np.int64), np.linspace([0.0], [1.0], 367, axis=1)
        history = storage_history(self.lot_id, start, row, table)
        is_open = np.zeros((self.size, 1, 0), dtype=np.bool_)
        place = none.astype(np.int64)
        return PossibleStorage(history, one, 0.0 * one, place, is_open, (), none)

    @cached_property
    def tests(self) -> Tests:
        lot = np.repeat(self.lot_id, TESTS)
        viable, seeds, day = (part.ravel() for part in (self.viable, self.seeds, self.dose))
        as_usual = np.full(lot.size, USUAL_RHO)
        sound = np.zeros(lot.size, dtype=np.bool_)
        return Tests(lot, DAYS_PER_YEAR * day, viable, viable, seeds, as_usual, sound)

    def tests_of(self, rho: float, lots: IntArray) -> Observations:
        counts = self.viable[lots], self.seeds[lots], np.full((lots.size, TESTS), rho)
        return Observations.of_tests(self.dose[lots], *counts)

    evidence = tests_of

    def doses_in_rows(self, lot: IntArray, day: Floats) -> Floats:
        return in_rows(lot, self.size, day / DAYS_PER_YEAR)[0][:, :, None]


def large_garden(lots: int, *, sown: bool = False) -> LargeGarden:
    """Three tests of each lot, in 40 places, of 110 kinds, from 60 people; fixed by a seed."""
    rng = np.random.default_rng(20261130)
    first = np.cumsum([0, 1, PLACES, KINDS])
    effect = np.column_stack(
        [
            first[at] + rng.integers(0, number, lots)
            for at, number in enumerate((1, PLACES, KINDS, SAVERS))
        ]
    )
    sds = np.repeat([0.31, 0.30, 0.32, 0.20], (1, PLACES, KINDS, SAVERS))
    effects = SharedEffects(effect, np.ones(effect.shape), sds**2, np.full(lots, 0.30))
    lam = rng.normal(0.0, sds)[effect].sum(axis=1) + rng.normal(0.0, 0.3, lots)
    priors = Priors(
        rng.uniform(1.2, 1.7, lots), rng.uniform(0.4, 0.8, lots), np.sqrt(effects.prior_variance),
        np.zeros(lots),
    )  # fmt: skip
    dose = np.sort(rng.uniform(0.05, 1.8, (lots, TESTS)), axis=1)
    start, wear = rng.normal(priors.ki_mean, priors.ki_sd), np.exp(-lam)
    seeds = rng.choice([10, 20, 25, 40, 50, 100], (lots, TESTS))
    viable = rng.binomial(seeds, ndtr(start[:, None] - wear[:, None] * dose)).astype(np.float64)
    now = dose[:, -1] + rng.uniform(0.0, 0.4, lots)
    kinds = effect[:, 2] - first[2]
    sowings = _sowings(rng, start, wear, now, kinds) if sown else ()
    return LargeGarden(effects, priors, dose, viable, seeds.astype(np.float64), now, sowings)


def _sowings(
    rng: np.random.Generator, start: Floats, wear: Floats, now: Floats, kinds: IntArray
) -> tuple[PastSowing, ...]:
    """Three sowings of every tenth lot, of any kind, in four sorts of bed, over two years."""
    prior, facts = published_shift_prior(), list(packaged_kinds().values())[:KINDS]
    shared = rng.normal(0.0, 0.25, len(_BEDS))
    made = []
    for lot in np.repeat(np.arange(0, start.size, SOWN_OF), SOWINGS).tolist():
        day = EPOCH + timedelta(days=int(DAYS_PER_YEAR * rng.uniform(0.0, now[lot])))
        bed, kind = int(rng.integers(len(_BEDS))), facts[kinds[lot]]
        conditions = SowingConditions(kind.slug, *_BEDS[bed], *season_of(day))
        shift = prior.published_shift(conditions) + shared[bed] + rng.normal(0.0, SOWING_SD)
        v = start[lot] - wear[lot] * (day - EPOCH).days / DAYS_PER_YEAR
        come = float(ndtr(v - max(shift, 0.0)))
        come *= LEFT_BY_FAILURE if rng.uniform() < FAILURE[conditions.exposure] else 1.0
        seeds = int(rng.integers(20, 200))
        made.append(_sowing(lot, day, conditions, kind, seeds, int(rng.binomial(seeds, come))))
    return tuple(made)


def _sowing(
    lot: int, day: date, conditions: SowingConditions, kind: Any, seeds: int, up: int
) -> PastSowing:
    bed = conditions.protection
    record = SowingRecord(conditions, seeds, up, patches=patchiness_prior(bed))
    eaten, awake = EatenRecord(bed, seeds, 0), BetaShare(999.0, 1.0)
    return PastSowing(lot, lot, str(lot), kind, day, None, None, record, eaten, awake)
