"""What sowings say of the seed that was sown, and what seed tells of the beds it was sown in.

Both are learned in turn: how alive each lot was on the day it was sown, without what that sowing
itself says; what its bed cost, from those laws; and, from the other sowings' shifts, what each
sowing says of its lot. No count is used twice.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from seedbank.facts.field_factors import published_shift_prior
from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.sowing.field_shift_learning import FieldShiftModel, learn_shift
from seedbank.science.sowing.sowing_evidence import SownCounts, seed_law
from seedbank.science.viability.evidence import GRID, EvidenceTables, Observations
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.viability.lot_records import LotRecords, in_rows
from seedbank.viability.past_sowings import PastSowing
from seedbank.viability.tables.stock_columns import day_number

_NODES = 33  # of each lot's law; what a bed cost is far less sharp


@dataclass(frozen=True, slots=True)
class SownEvidence:
    """R sowings whose outcome is known, and what they say.

    ``counts`` are theirs; ``seed_by_tests`` (R, 501) is the law of each one's seed on its sowing
    day by tests alone; ``model`` what they teach of this garden's beds; ``tables`` what each says
    of its lot, in row r + 1 for sowing r.
    """

    sowings: tuple[PastSowing, ...]
    counts: SownCounts
    seed_by_tests: FloatArray
    model: FieldShiftModel
    tables: EvidenceTables

    def evidence(self, records: LotRecords) -> Observations:
        """What sowings say of these lots, each at its lot's dose on the day it was sown."""
        lot, sowing, day = self.sown(records)
        (table,) = in_rows(lot, records.collection.size, np.arange(1.0, sowing.size + 1.0))
        dose = records.doses_in_rows(lot, day)
        told = Observations(dose, table.astype(np.int64), self.tables.take(sowing + 1))
        return told.weighed(records.storage.weight)

    def sown(self, records: LotRecords) -> tuple[IntArray, IntArray, FloatArray]:
        """Position of the lot, number of the sowing, and its day, of each sowing of these lots."""
        ids = records.collection.lot_id
        lot_id = np.array([one.lot_id for one in self.sowings], dtype=np.int64)
        sowing = np.flatnonzero(np.isin(lot_id, ids))
        lot = np.searchsorted(ids, lot_id[sowing])
        day = np.array([day_number(self.sowings[at].sown_on) for at in sowing.tolist()])
        return lot, sowing, day

    def again(self, records: LotRecords, priors: Priors, tests: Observations) -> "SownEvidence":
        """Learned anew from lots as their tests and all *other* sowings show them."""
        lot, sowing, day = self.sown(records)
        dose = records.storage.doses_at(lot, day)
        others = self.evidence(records).take(lot)
        own = others.table == np.arange(1, sowing.size + 1)[:, None]
        others = replace(others, table=np.where(own, 0, others.table))
        posterior = fit_posterior(
            priors.take(lot), tests.take(lot).and_those(others), dose, kept=False
        )
        seed = np.empty((lot.size, GRID.size))
        for part, fitted in posterior.in_parts():
            seed[part] = seed_law(fitted.nodes(dose[part], _NODES))
        model = learn_shift(
            published_shift_prior(), [one.record for one in self.sowings], seed, self.counts
        )
        tables = EvidenceTables.of(model.of_seed(), one_peak=False)
        by_tests = self.seed_by_tests if self.seed_by_tests.size else seed
        return SownEvidence(self.sowings, self.counts, by_tests, model, tables)


def not_yet_learned(sowings: Sequence[PastSowing]) -> SownEvidence:
    """Sowings that say nothing of their lots yet, and beds as published."""
    nothing = np.zeros((0, GRID.size))
    return SownEvidence(
        tuple(sowings),
        SownCounts.of([one.record for one in sowings]),
        nothing,
        learn_shift(published_shift_prior(), (), nothing),
        EvidenceTables.of(np.zeros((len(sowings), GRID.size))),
    )
