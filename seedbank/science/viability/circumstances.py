"""What nobody saw of a lot and what changes its doses: how old it is, whether its jar closes.

A lot may be in a few circumstances, at most 12, each with a chance and with doses of its own for
everything on record and for every day asked about. Age adds the same dose to all of them; a sealed
place that stands open ages what lies in it as the air of a room does.
"""

from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import BoolArray, FloatArray, IntArray
from seedbank.science.viability.storage_history import StorageHistory

MOST_CASES = 12


@dataclass(frozen=True, slots=True)
class PossibleStorage:
    """Storage of L lots in each of up to Z circumstances.

    ``weight`` (L, Z) is how likely each is, 0 where a lot has fewer. ``as_believed`` is each lot's
    history from the harvest it most likely had, everything closed that is said to be; ``before``
    (L, Z) the dose taken up before that harvest, below 0 where the true one was later. ``opened``
    are the histories with each lot's first, second ... sealed place open, and ``is_open`` (L, Z, Q)
    which of the Q are.
    """

    weight: FloatArray
    as_believed: StorageHistory
    before: FloatArray
    opened: tuple[StorageHistory, ...]
    is_open: BoolArray

    def doses_at(self, lot: IntArray, day: FloatArray) -> FloatArray:
        """Dose of each (lot, day) in each circumstance, (N, Z); 0 before its harvest there."""
        closed = self.as_believed.dose_at(lot, day)
        dose = closed[:, None] + self.before[lot]
        for at, one in enumerate(self.opened):
            more = (one.dose_at(lot, day) - closed)[:, None]
            dose = dose + np.where(self.is_open[lot, :, at], more, 0.0)
        return np.maximum(dose, 0.0)

    def doses_by(self, lot: IntArray, believed: FloatArray) -> FloatArray:
        """Doses (n, Z, Q) of some lots when that of their believed history is (n, Q)."""
        history, latest = self.as_believed.take(lot), 1000.0 * 365.25
        answer = np.empty((lot.size, self.weight.shape[1], believed.shape[1]))
        for column in range(believed.shape[1]):
            day = history.day_of_dose(believed[:, column])
            begun = history.start_day[history.first]
            answer[:, :, column] = self.doses_at(lot, np.minimum(day, begun + latest))
        return answer


def known_storage(history: StorageHistory) -> PossibleStorage:
    """Lots whose age and storage nobody doubts."""
    lots = history.first.size
    one, none = np.ones((lots, 1)), np.zeros((lots, 1, 0), dtype=np.bool_)
    return PossibleStorage(one, history, np.zeros((lots, 1)), (), none)
