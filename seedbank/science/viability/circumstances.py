"""What nobody saw of a lot and what changes its doses: how old it is, whether its jar closes.

A lot may be in a few circumstances, at most 12, each with a chance and with doses of its own for
everything on record and for every day asked about. Age adds the same dose to all of them; a sealed
place that does not close ages what lies in it as the air of a room does. Outside checks: sums over
a dense grid of ages, and over every combination of places.
"""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from seedbank.science.quantities import BoolArray, FloatArray, IntArray
from seedbank.science.viability.decline import YearlyConditions, dose_since_new_year
from seedbank.science.viability.lot_age import HarvestDays
from seedbank.science.viability.storage_history import StorageHistory

MOST_CASES = 12
MOST_PLACES = 2
"""So many sealed places of a lot may be open, the last it lay in: our choice."""
OPEN_CHANCE = 0.02
"""That a sealed place has stood open since it was closed: our choice. From 0.05 on, the low end of
every jar's 90 % band is the open jar."""
RESEALED_OPEN_CHANCE = 0.01
"""That one sealed anew, or found dry, has stood open since: our choice."""
RESEALED = 1 << 32
"""Added to a sealed place's id for each time it was sealed anew: whether it closes is then another
question, and what was learned of it before says nothing."""
ROOM_RH_PCT = 50.5
FOLDED = 0.25
"""Doubt about age under so much of the spread of K, in dose, is added to that: our choice."""


def prior_open(sealing: IntArray) -> FloatArray:
    """Chance that sealed places are open, by their ids and how often they were sealed anew.

    0 for the id 0, which is none.
    """
    chance = np.where(sealing < RESEALED, OPEN_CHANCE, RESEALED_OPEN_CHANCE)
    return np.asarray(np.where(sealing > 0, chance, 0.0))


def opened(store: YearlyConditions) -> YearlyConditions:
    """A sealed place that does not close: its own temperature, the air of an ordinary room."""
    return replace(
        store,
        rh_winter_pct=ROOM_RH_PCT,
        rh_summer_pct=ROOM_RH_PCT,
        sealed=False,
        seed_moisture_pct=None,
    )


@dataclass(frozen=True, slots=True)
class PossibleStorage:
    """Storage of L lots in each of up to Z circumstances, the likeliest first.

    ``as_believed`` is each lot's history from the middle of the harvests it may have had,
    everything closed that is said to be. ``age_weight`` (L, Z) is how likely each is by its age
    alone, 0 where a lot has fewer, and ``before`` (L, Z) the dose taken up before that harvest,
    below 0 where the true one was later. ``place`` (L, Q) are the ids of the sealed places of each
    lot (one sealed anew counts as another, see ``RESEALED``), 0 for none, ``is_open`` (L, Z, Q)
    which of them are open, ``open_histories`` the Q histories with one open, and ``open_chance``
    (L, Q) how likely each is to be.
    """

    as_believed: StorageHistory
    age_weight: FloatArray
    before: FloatArray
    place: IntArray
    is_open: BoolArray
    open_histories: tuple[StorageHistory, ...]
    open_chance: FloatArray

    @property
    def weight(self) -> FloatArray:
        """How likely each circumstance is, (L, Z); each lot's sum to 1."""
        chance = self.open_chance[:, None, :]
        weight = self.age_weight * np.prod(np.where(self.is_open, chance, 1.0 - chance), axis=2)
        return np.asarray(weight / weight.sum(axis=1, keepdims=True))

    @property
    def state(self) -> IntArray:
        """Each circumstance's (L, Z) state of the lot's places: 1 the first open, 2 the second."""
        return np.asarray(self.is_open @ (1 << np.arange(self.place.shape[1])), dtype=np.int64)

    def take(self, lots: IntArray) -> "PossibleStorage":
        """That of some lots, numbered anew."""
        return PossibleStorage(
            self.as_believed.take(lots),
            self.age_weight[lots],
            self.before[lots],
            self.place[lots],
            self.is_open[lots],
            tuple(one.take(lots) for one in self.open_histories),
            self.open_chance[lots],
        )

    def as_others_are_unknown(self) -> "PossibleStorage":
        """The same by the prior alone, without what other lots have told of the places."""
        return replace(self, open_chance=prior_open(self.place))

    def doses_at(self, lot: IntArray, day: FloatArray) -> FloatArray:
        """Dose of each (lot, day) in each circumstance, (N, Z); 0 before its harvest there."""
        closed = self.as_believed.dose_at(lot, day)
        dose = closed[:, None] + self.before[lot]
        for at, one in enumerate(self.open_histories):
            more = (one.dose_at(lot, day) - closed)[:, None]
            dose = dose + np.where(self.is_open[lot, :, at], more, 0.0)
        return np.maximum(dose, 0.0)

    def doses_by(self, lot: IntArray, believed: FloatArray) -> FloatArray:
        """Doses (n, Z, Q) of some lots when that of their believed history is (n, Q)."""
        history, latest = self.as_believed.take(lot), 1000.0 * 365.25
        answer = np.empty((lot.size, self.before.shape[1], believed.shape[1]))
        for column in range(believed.shape[1]):
            day = history.day_of_dose(believed[:, column])
            begun = history.start_day[history.first]
            answer[:, :, column] = self.doses_at(lot, np.minimum(day, begun + latest))
        return answer


@dataclass(frozen=True, slots=True)
class SealedPlaces:
    """The sealed places of each lot, ``place`` (L, Q), and its history with each of them open."""

    place: IntArray
    open_histories: tuple[StorageHistory, ...]

    def hastened(self, lots: BoolArray, times: float) -> "SealedPlaces":
        """The same, but that some ``lots`` (L,) age so many times as fast."""
        faster = tuple(one.hastened(lots, times) for one in self.open_histories)
        return replace(self, open_histories=faster)


def possible_storage(
    history: StorageHistory, harvests: HarvestDays, sealed: SealedPlaces, ki_sd: FloatArray
) -> tuple[PossibleStorage, FloatArray]:
    """Every lot's circumstances, at most 12, and the spread of K (L,) with little doubts in it.

    ``history`` starts at the middle of ``harvests``; ``ki_sd`` (L,) is the spread of K at harvest.
    """
    before = _dose_before(history, harvests.day)
    mean = np.sum(harvests.weight * before, axis=1)
    variance = np.sum(harvests.weight * (before - mean[:, None]) ** 2, axis=1)
    folded = np.sqrt(variance) <= FOLDED * ki_sd
    weight = np.where(folded[:, None], np.arange(before.shape[1]) == 0, harvests.weight)
    before = np.where(folded[:, None], mean[:, None], before)
    size, places = sealed.place.shape
    states = np.array(list(product((False, True), repeat=places)), dtype=np.bool_)
    chance = prior_open(sealed.place)[:, None, :]
    of_state = np.prod(np.where(states, chance, 1.0 - chance), axis=2)
    both = weight[:, :, None] * of_state[:, None, :]
    both = both.reshape(size, weight.shape[1] * states.shape[0])
    order = np.argsort(-both, axis=1, kind="stable")[:, :MOST_CASES]
    likely = np.take_along_axis(both, order, axis=1)
    used = max(int(np.count_nonzero(likely, axis=1).max(initial=1)), 1)
    order, kept = order[:, :used], likely[:, :used] > 0.0
    age = order // states.shape[0]
    storage = PossibleStorage(
        as_believed=history,
        age_weight=np.where(kept, np.take_along_axis(weight, age, axis=1), 0.0),
        before=np.take_along_axis(before, age, axis=1),
        place=sealed.place,
        is_open=states[order % states.shape[0]] & kept[:, :, None],
        open_histories=sealed.open_histories,
        open_chance=prior_open(sealed.place),
    )
    return storage, np.where(folded, np.sqrt(ki_sd**2 + variance), ki_sd)


def _dose_before(history: StorageHistory, day: FloatArray) -> FloatArray:
    """Dose (L, A) from ``day`` to the start of the history, where it lay then; below 0 after."""
    size, days = day.shape
    lot = np.repeat(np.arange(size), days)
    start, row = history.start_day[history.first[lot]], history.row[history.first[lot]]
    flat = day.ravel()
    earlier = dose_since_new_year(history.table, row, start) - dose_since_new_year(
        history.table, row, np.minimum(flat, start)
    )
    later = history.dose_at(lot, np.maximum(flat, start))
    return np.asarray((earlier - later).reshape(size, days))
