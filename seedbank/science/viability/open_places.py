"""Whether sealed places close, learned from all lots in each, with how the garden keeps.

That a place stands open is one thing for all lots in it: its odds are the prior odds times how much
likelier all their tests together are if it is, how they keep summed over in each case. What lots
elsewhere say of that (``shared_effects``) is kept; places and effects take turns, two rounds,
always two. Where a lot lay in two sealed places, each is summed over under what is known of the
other. Outside check: sums over every combination of places and a dense grid of keeping.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import expit, logit, logsumexp

from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.shared_effects import (
    PLACES,
    EffectEvidence,
    LearnedEffects,
    NormalFactors,
    SharedEffects,
    learn_effects,
)
from seedbank.science.viability.circumstances import prior_open

ROUNDS = 2
MOST_LOTS = 300
"""So many lots of a place, those whose tests say most of it, tell enough: our choice."""
_COMMON = np.linspace(-5.0, 5.0, 25)
_MOST_TOLD = 30.0  # of log odds, by one lot


@dataclass(frozen=True, slots=True)
class StateEvidence:
    """What each lot says of lam in each state of its Q sealed places: (T, 2^Q, 97).

    State 0 is all closed; the first place's being open adds 1, the second's 2. ``place`` (T, Q) are
    the places' ids, 0 for none; values are -inf in states a lot can't be in.
    """

    reach: FloatArray
    log_likelihood: FloatArray
    place: IntArray

    def mixed(self, chance: FloatArray) -> EffectEvidence:
        """What it says of lam where each place is open with ``chance`` (T, Q)."""
        if self.place.shape[1] == 0:
            return EffectEvidence(self.reach, self.log_likelihood[:, 0])
        values = self.log_likelihood + self.log_weight(chance)[:, :, None]
        return EffectEvidence(self.reach, np.asarray(logsumexp(values, axis=1)))

    def told_of_places(
        self, mean: FloatArray, variance: FloatArray, chance: FloatArray
    ) -> FloatArray:
        """log of how much likelier each lot's tests are with each place open, (T, Q).

        lam is N(``mean``, ``variance``) (T,); ``chance`` (T, Q) is of the other places.
        """
        lam = self.reach[:, None] * PLACES
        prior = -0.5 * (lam - mean[:, None]) ** 2 / variance[:, None]
        whole = logsumexp(self.log_likelihood + prior[:, None, :], axis=2)
        told = np.zeros(self.place.shape)
        for at in range(self.place.shape[1]):
            others = np.array(chance)
            others[:, at] = 0.5
            likely = whole + self.log_weight(others)
            is_open = _open_in_states(self.place.shape[1])[:, at]
            ratio = logsumexp(likely[:, is_open], axis=1) - logsumexp(likely[:, ~is_open], axis=1)
            told[:, at] = np.where(self.place[:, at] > 0, ratio, 0.0)
        return np.clip(told, -_MOST_TOLD, _MOST_TOLD)

    def log_weight(self, chance: FloatArray) -> FloatArray:
        """log chance (T, 2^Q) of each state where places are open with ``chance`` (T, Q)."""
        is_open = _open_in_states(self.place.shape[1])[None]
        each = np.where(is_open, chance[:, None, :], 1.0 - chance[:, None, :])
        with np.errstate(divide="ignore"):  # a lot has no such place
            return np.asarray(np.log(each).sum(axis=2))


def _open_in_states(places: int) -> IntArray:
    """Whether each place (Q,) is open in each state, (2^Q, Q)."""
    return np.asarray((np.arange(2**places)[:, None] >> np.arange(places)) & 1 == 1)


@dataclass(frozen=True, slots=True)
class LearnedPlaces:
    """What the lots taught: the shared effects, and of their sealed places.

    ``log_odds`` (P,) that each of the places ``place`` (P,) is open, ``told`` (T, Q) what of it
    each lot has said itself; ``rounds`` are the factors of each round, to begin with next time.
    """

    learned: LearnedEffects
    place: IntArray
    log_odds: FloatArray
    told: FloatArray
    rounds: tuple[NormalFactors, ...]

    def chance(self, place: IntArray, told: FloatArray) -> FloatArray:
        """Chance (L, Q) that sealed places are open by all that lots have said but ``told``."""
        if self.place.size == 0:
            return prior_open(place)
        at = np.minimum(np.searchsorted(self.place, place), self.place.size - 1)
        known = self.place[at] == place
        odds = np.where(known, self.log_odds[at], _prior_odds(place)) - told
        return np.where(place > 0, expit(odds), 0.0)


def learn_places(
    effects: SharedEffects, evidence: StateEvidence, start: tuple[NormalFactors, ...] = ()
) -> LearnedPlaces:
    """Learn from T lots with tests, whose ``effects`` and ``evidence`` these are."""
    place = np.unique(evidence.place[evidence.place > 0])
    told = np.zeros(evidence.place.shape)
    chance = prior_open(evidence.place)
    prior = odds = _prior_odds(place)
    rounds: list[NormalFactors] = []
    for turn in range(ROUNDS if place.size else 1):
        begun = start[turn] if turn < len(start) else (rounds[-1] if rounds else None)
        if begun is not None and place.size:  # what lots say has changed with what is open
            begun = begun.outdated()
        learned = learn_effects(effects, evidence.mixed(chance), begun)
        rounds.append(learned.factors)
        if place.size:
            found = [_told_of(effects, evidence, learned, chance, one) for one in place.tolist()]
            odds = prior + np.array([whole for _, whole, _ in found])
            for start_odds, (at, whole, others) in zip(prior.tolist(), found, strict=True):
                told[at] = whole - others
                chance[at] = expit(start_odds + others)
    return LearnedPlaces(learned, place, odds, told, tuple(rounds))


def _prior_odds(place: IntArray) -> FloatArray:
    """Log odds that sealed places are open before anything speaks of them; 0 for the id 0."""
    return np.asarray(logit(np.where(place > 0, prior_open(place), 0.5)))


_Cells = tuple[IntArray, IntArray]


def _told_of(
    effects: SharedEffects,
    evidence: StateEvidence,
    learned: LearnedEffects,
    chance: FloatArray,
    place: int,
) -> tuple[_Cells, float, FloatArray]:
    """What all lots in a place say of its being open: log ratio of their chances.

    Gives the cells of ``evidence.place`` it rests on, that of all of them, and that (n,) of all but
    each. What lots outside say of the effects is kept, what those in it say is taken out. lam is
    then one part they share (their mean covariance) and one of each lot's own, both summed over on
    a grid: how all keep is judged apart if the place is open and if it is closed.
    """
    lot, column = np.nonzero(evidence.place == place)
    ratio = np.abs(evidence.told_of_places(*_own_law(effects, learned), chance)[lot, column])
    most = np.sort(np.argsort(-ratio, kind="stable")[:MOST_LOTS])
    lot, column = lot[most], column[most]
    mean, covariance = _without(effects.take(lot), learned, lot)
    size, own = lot.size, np.diag(covariance)
    shared = (covariance.sum() - own.sum()) / max(size * (size - 1), 1)
    shared = float(np.clip(shared, 0.0, own.min()))
    rest = own - shared + effects.own_sd[lot] ** 2
    common = np.sqrt(shared) * _COMMON
    lam = evidence.reach[lot, None] * PLACES
    away = lam[:, :, None] - mean[:, None, None] - common
    law = -0.5 * away**2 / rest[:, None, None]
    others = np.array(chance[lot])
    others[np.arange(size), column] = 0.5
    values = evidence.log_likelihood[lot] + evidence.log_weight(others)[:, :, None]
    in_state = _open_in_states(evidence.place.shape[1])[:, column].T
    without, whole = np.zeros(size), 0.0
    for sign, is_open in ((1.0, in_state), (-1.0, ~in_state)):
        of_lam = logsumexp(np.where(is_open[:, :, None], values, -np.inf), axis=1)
        each = logsumexp(of_lam[:, :, None] + law, axis=1)
        total = each.sum(axis=0) - 0.5 * _COMMON**2
        whole += sign * float(logsumexp(total))
        without += sign * logsumexp(total - each, axis=1)
    return (lot, column), float(np.clip(whole, -_MOST_TOLD, _MOST_TOLD)), without


def _own_law(effects: SharedEffects, learned: LearnedEffects) -> tuple[FloatArray, FloatArray]:
    mean, sd = learned.without_own(effects)
    return mean, sd**2


def _without(
    some: SharedEffects, learned: LearnedEffects, at: IntArray
) -> tuple[FloatArray, FloatArray]:
    """Mean (n,) and covariance (n, n) of x b of lots ``at`` by what all other lots have said."""
    used, where = np.unique(some.effect, return_inverse=True)
    design = np.zeros((at.size, used.size))
    np.add.at(design, (np.arange(at.size)[:, None], where.reshape(some.effect.shape)), some.share)
    covariance = design @ learned.covariance[np.ix_(used, used)] @ design.T
    mean = design @ learned.mean[used]
    precision, weighted = (
        part[at] for part in (learned.factors.precision, learned.factors.weighted_mean)
    )
    apart = np.eye(at.size) - covariance * precision
    return (
        np.asarray(np.linalg.solve(apart, mean - covariance @ weighted), dtype=np.float64),
        np.asarray(np.linalg.solve(apart, covariance), dtype=np.float64),
    )
