"""The chance of losing a variety, given the seasons in which a seed crop of it is grown.

A variety lives as long as one of its lots can still raise the seed parents. A lot's curve is the
chance that it can in season t (t = 0 is this season); whether a lot can falls once and for all,
so one uniform number a lot decides every season (comonotone), and lots are independent.

A crop sown in season y, of a kind that gives seed after ``lead`` seasons (1 for annuals, 2 for
biennials), succeeds if a lot living in season y raises it and it does not fail; its seed is a
fresh lot from season y + lead on. Let F(d) be the chance that the variety's last lot has failed by
season d. A crop turns it, for d >= y, into

    F'(d) = F(y) + (F(d) - F(y)) (q + (1 - q) (1 - C(d - y - lead)))

with q the chance that the crop fails and C the fresh lot's curve by age: the maximum of two
independent lifetimes has the product of their distributions. That is exact for any number of
crops, as long as a crop's seed is ripe before the next crop is sown. Elementary probability, no
source needed; checked against enumeration of every lifetime and outcome, and by simulation.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray, IntArray

NO_CROP = -1
"""Fills the places of ``sown`` that hold no crop."""


def any_lot(curves: Sequence[FloatArray]) -> FloatArray:
    """Curve (T + 1,) of several independent lots taken together: at least one can.

    Exact, not an approximation: "one of them still can" falls once and for all as well. With no
    lot at all there is nothing to take together: raises ValueError.
    """
    if not curves:
        raise ValueError("a variety's lots need at least one curve")
    gone = np.prod([1.0 - check_curve(curve) for curve in curves], axis=0)
    return np.asarray(1.0 - gone, dtype=np.float64)


def check_curve(curve: FloatArray) -> FloatArray:
    """The curve itself; ValueError unless it holds probabilities that never rise."""
    values = np.asarray(curve, dtype=np.float64)
    if np.any(~((values >= 0.0) & (values <= 1.0))):
        raise ValueError("a lot's curve must hold probabilities between 0 and 1")
    if np.any(np.diff(values, axis=-1) > 1e-12):
        raise ValueError("a lot can't regain what it lost: its curve must never rise")
    return values


def with_standing(existing: FloatArray, fresh: FloatArray, ripe: int, failure: float) -> FloatArray:
    """A variety's curve (T + 1,) with a crop already standing, its seed ripe for season ``ripe``.

    Before it is ripe it counts as living, so no crop may be sown from it until then.
    """
    age = np.maximum(np.arange(existing.size) - ripe, 0)
    return any_lot([existing, (1.0 - failure) * fresh[age]])


def crop_failure(*chances: FloatArray | float) -> FloatArray:
    """Chance that a crop gives no seed fit to carry the variety on, from independent causes.

    Weather and pests, a site's own risk, a crossing (crossed seed is no longer the variety).
    """
    kept = np.asarray(1.0, dtype=np.float64)
    for chance in chances:
        kept = kept * (1.0 - np.asarray(chance, dtype=np.float64))
    return np.asarray(1.0 - kept, dtype=np.float64)


def expected_failure(
    crops: FloatArray, failed: FloatArray, mean: float, worth: float
) -> FloatArray:
    """Mean chance of failure from ``failed`` of ``crops``, prior Beta with ``mean``, ``worth``.

    ``worth`` is the number of crops the prior counts for. Beta-binomial mean, textbook.
    """
    return np.asarray((mean * worth + failed) / (worth + crops), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class SeedLives:
    """How long the seed of V varieties lives.

    ``existing`` and ``fresh`` (V, T + 1): the curves by season and by age; ``lead`` (V,): seasons
    from sowing to seed.
    """

    existing: FloatArray
    fresh: FloatArray
    lead: IntArray


def loss_by_end(
    lives: SeedLives, variety: IntArray, sown: IntArray, failure: FloatArray
) -> FloatArray:
    """Chance (N,) that the variety is lost by the last season T of its curves.

    Each of N sets of crops belongs to row ``variety`` (N,), with ``sown`` (N, K) seasons
    ascending, ``NO_CROP`` after the last, and ``failure`` (N, K).
    Raises ValueError when a crop is sown before the seed of the one before it is ripe.
    """
    last = lives.existing.shape[1] - 1
    _check_order(sown, lives.lead[variety])
    at = np.concatenate([sown, np.full((sown.shape[0], 1), last, dtype=sown.dtype)], axis=1)
    lost = 1.0 - lives.existing[variety[:, None], np.clip(at, 0, last)]
    for k in range(sown.shape[1]):
        y = sown[:, k]
        before = lost[:, k]  # the chance of being lost already in the season of sowing
        age = np.clip(at - (y + lives.lead[variety])[:, None], 0, last)
        fails = failure[:, k][:, None]
        kept = (1.0 - fails) * lives.fresh[variety[:, None], age]
        grown = (y != NO_CROP)[:, None] & (at >= y[:, None])
        lost = lost - (lost - before[:, None]) * kept * grown
    return np.asarray(lost[:, -1], dtype=np.float64)


def _check_order(sown: IntArray, lead: IntArray) -> None:
    if sown.shape[1] < 2:
        return
    early, late = sown[:, :-1], sown[:, 1:]
    late_there = late != NO_CROP
    if np.any(late_there & ((early == NO_CROP) | (late < early + lead[:, None]))):
        raise ValueError("a crop's seed must be ripe before the next crop of it is sown")
