"""How far seed crops must stand apart, and how much crossing is to be feared when they don't.

The risk index is ours: it puts chances in order, it is not a share of crossed seed. Pollen carried
by insects or wind falls off steeply near its source and then slowly (Bateman 1947, Heredity
1:235-246, from memory), which a fall with the square of the distance still lacking imitates.

Outside checks: nine in ten of the packaged isolation distances, monotone properties.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from seedbank.science.quantities import FloatArray


class Mating(StrEnum):
    SELFING = "selfing"
    MIXED = "mixed"
    OUTCROSSING = "outcrossing"


class Carrier(StrEnum):
    """What carries the pollen."""

    SELF = "self"
    INSECT = "insect"
    WIND = "wind"


class Purpose(StrEnum):
    """What seed is saved for: home use, keeping a variety, or keeping a rare one."""

    HOME = "home"
    KEEP = "keep"
    RARE = "rare"


class Relation(StrEnum):
    """How readily pollen of another group makes seed; ``same`` is the group itself."""

    SAME = "same"
    OFTEN = "often"
    SOMETIMES = "sometimes"
    RARELY = "rarely"


class Likelihood(StrEnum):
    """What a stand means for the seed: nothing, a small chance, or crossing to be expected."""

    NONE = "none"
    UNLIKELY = "unlikely"
    LIKELY = "likely"


# Our choice: how readily it crosses, against its own kind and an outcrosser.
RELATION_WEIGHT = {
    Relation.SAME: 1.0,
    Relation.OFTEN: 1.0,
    Relation.SOMETIMES: 0.3,
    Relation.RARELY: 0.03,
}
MATING_WEIGHT = {Mating.OUTCROSSING: 1.0, Mating.MIXED: 0.5, Mating.SELFING: 0.1}

LIKELY_FROM = 0.05
"""Risk index from which crossing is called likely: our choice."""

# Home and strict distances in m, least and most, where the kind has none of its own: what nine in
# ten kinds of the packaged table keep to by mating and carrier, wind being one. Our choice.
_USUAL_DISTANCES_M = {
    (Mating.SELFING, False): ((3.0, 30.0), (6.0, 140.0)),
    (Mating.MIXED, False): ((30.0, 400.0), (200.0, 1000.0)),
    (Mating.OUTCROSSING, False): ((300.0, 800.0), (800.0, 1500.0)),
    (Mating.SELFING, True): ((3.0, 30.0), (6.0, 140.0)),
    (Mating.MIXED, True): ((400.0, 900.0), (600.0, 3200.0)),
    (Mating.OUTCROSSING, True): ((400.0, 900.0), (600.0, 3200.0)),
}


@dataclass(frozen=True, slots=True)
class PartialCross:
    """Pollen of ``pollen_group`` that may set seed on ``seed_group``, and how readily."""

    seed_group: str
    pollen_group: str
    relation: Relation


@dataclass(frozen=True, slots=True)
class Requirement:
    """Distance to keep in m for a purpose; ``assumed`` where the kind has none of its own.

    It is then the most that kinds like it are kept apart, ``least_m`` the least.
    """

    purpose: Purpose
    distance_m: float
    assumed: bool
    least_m: float | None = None


def distance_required(
    purpose: Purpose,
    isolation_home_m: float | None,
    isolation_strict_m: float | None,
    mating: Mating = Mating.OUTCROSSING,
    carrier: Carrier = Carrier.INSECT,
) -> Requirement:
    """The distance a purpose asks of a kind: home its home distance, keep and rare the strict one.

    Which purpose takes which distance is our choice. Where the kind has neither, the most that is
    usual of its mating and carrier serves: too far loses a place, too near the variety. Where it
    has one, that one serves, never a shorter strict distance. Raises ``ValueError`` for a negative
    distance. Outside check: the packaged table, nine kinds in ten.
    """
    for given in (isolation_home_m, isolation_strict_m):
        if given is not None and not given >= 0.0:
            raise ValueError(f"a distance must be 0 m or more, got {given!r}")
    usual_home, usual_strict = _USUAL_DISTANCES_M[mating, carrier is Carrier.WIND]
    if purpose is Purpose.HOME:
        if isolation_home_m is not None:
            return Requirement(purpose, isolation_home_m, False)
        bound = isolation_strict_m if isolation_strict_m is not None else usual_home[1]
        least, most = (min(one, bound) for one in usual_home)
        return Requirement(purpose, most, True, least)
    if isolation_strict_m is not None:
        return Requirement(purpose, isolation_strict_m, False)
    least, most = (max(one, isolation_home_m or 0.0) for one in usual_strict)
    return Requirement(purpose, most, True, least)


def relation_of(
    seed_group: str, pollen_group: str, pairs: Iterable[PartialCross]
) -> Relation | None:
    """How readily ``pollen_group`` crosses onto ``seed_group``; None if it doesn't.

    One group is one species, whose forms all cross. Where several pairs are listed the readiest
    counts. Outside check: the packaged pairs, one way and both ways.
    """
    if seed_group == pollen_group:
        return Relation.SAME
    found = [
        pair.relation
        for pair in pairs
        if (pair.seed_group, pair.pollen_group) == (seed_group, pollen_group)
    ]
    return max(found, key=lambda relation: RELATION_WEIGHT[relation], default=None)


def risk_index(
    distance_ratio: ArrayLike,
    overlap_share: ArrayLike,
    relation_weight: ArrayLike = 1.0,
    mating_weight: ArrayLike = 1.0,
) -> FloatArray:
    """An order of crossing risks, 0..1: 0 at the required distance or with no shared day.

    ``distance_ratio`` is metres over metres required (0 or more), ``overlap_share`` the share of
    the seed crop's flowering days that both flower. ``(1 - ratio)^2 x share x relation x mating``;
    arguments broadcast together. Our choice. Raises ``ValueError`` outside those ranges. Outside
    check: monotone in each argument, by property test.
    """
    ratio, share = np.asarray(distance_ratio), np.asarray(overlap_share)
    if np.any(~(ratio >= 0.0)) or np.any(~((share >= 0.0) & (share <= 1.0))):
        raise ValueError("a distance ratio is 0 or more, a share of days lies in 0..1")
    near = np.clip(1.0 - ratio, 0.0, None) ** 2
    weight = np.asarray(relation_weight) * np.asarray(mating_weight)
    return np.asarray(near * share * weight, dtype=np.float64)


def likelihood(index: float) -> Likelihood:
    """The word for a risk index: none at 0, likely from ``LIKELY_FROM``, unlikely between.

    Our choice. Outside check: the edges, written out.
    """
    if index <= 0.0:
        return Likelihood.NONE
    return Likelihood.LIKELY if index >= LIKELY_FROM else Likelihood.UNLIKELY
