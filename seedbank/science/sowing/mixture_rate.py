"""How much of a mixture to sow for the plants wanted: from its parts, which share one bed.

Of so many seeds each part is there by its share, to the nearest seed. Parts share the season and
its luck (``shared_bed``); what isn't known of a mixture is taken to give no plant. For the rate of
least cost a mixture is one lot that comes up, in a usual bed, as much as its parts do by their
shares, each in doubt by itself. In a worse bed than usual a lot of weak seed loses more than living
seed mixed with dead, so what it comes to there is a little off.

Outside checks: convolution of scipy's binomials; mean and variance of a sum.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from seedbank.science.sowing.emergence import WeightedNodes
from seedbank.science.sowing.large_bed import combined_law
from seedbank.science.sowing.plant_counts import CountLaw
from seedbank.science.sowing.shared_bed import Bed, LotOffer

_STEPS = 200  # of the share alive
_NEXT_TO_NOTHING = 1e-9


@dataclass(frozen=True, slots=True)
class MixtureRate:
    """``seeds`` of the mixture, ``of_parts`` of them of each part known, and the ``plants`` they
    give; ``reached`` is the chance of those wanted, ``enough`` whether that is as sure as asked."""

    seeds: int
    of_parts: tuple[int, ...]
    plants: CountLaw
    reached: float
    enough: bool


def seeds_of_parts(shares: Sequence[float], seeds: int) -> tuple[int, ...]:
    """Seeds of each part among so many, of shares that come to 1 or less; the nearest numbers."""
    known = round(seeds * min(sum(shares), 1.0))
    exact = [seeds * share for share in shares]
    found = [math.floor(one) for one in exact]
    rests = sorted(range(len(found)), key=lambda at: found[at] - exact[at])
    for at in rests[: max(known - sum(found), 0)]:
        found[at] += 1
    return tuple(found)


def mixed_viability(
    parts: Sequence[WeightedNodes], shares: Sequence[float], shift: float = 0.0
) -> WeightedNodes:
    """Probits alive of a lot that comes up in a bed of this ``shift`` as a mixture does; without
    one, as much alive as the mixture.

    From its parts' probits alive and shares (0..1, in all 1 or less): what comes up of each is laid
    on a grid, and their sum found by convolution.
    """
    law = np.ones(1)
    for part, share in zip(parts, shares, strict=True):
        place = share * ndtr(part.value - shift) * _STEPS
        low = place.astype(np.int64)
        own = np.bincount(low, part.weight * (low + 1 - place), low.max() + 2)
        own += np.bincount(low + 1, part.weight * (place - low), low.max() + 2)
        law = np.convolve(law, own)
    alive = np.arange(law.size) / _STEPS
    some = law > _NEXT_TO_NOTHING
    inside = np.clip(alive[some], 1e-4, 1.0 - 1e-4)  # no lot is surely dead, or all alive
    return WeightedNodes(ndtri(inside) + shift, law[some] / law[some].sum())


def mixture_of(
    offers: Sequence[LotOffer],
    shares: Sequence[float],
    bed: Bed,
    wanted: int,
    seeds: int,
    confidence: float = 0.0,
) -> MixtureRate:
    """What so many seeds of a mixture give."""
    of_parts = seeds_of_parts(shares, seeds)
    plants = combined_law(offers, of_parts, bed, wanted)
    reached = float(plants.at_least(wanted))
    return MixtureRate(seeds, of_parts, plants, reached, reached >= confidence)


def mixture_rate(
    offers: Sequence[LotOffer],
    shares: Sequence[float],
    bed: Bed,
    wanted: int,
    confidence: float,
    most: int,
) -> MixtureRate:
    """The fewest seeds, up to ``most``, that give the plants ``wanted`` so surely, or ``most``."""

    def rate(seeds: int) -> MixtureRate:
        return mixture_of(offers, shares, bed, wanted, seeds, confidence)

    best, under = rate(most), min(wanted, most) - 1
    while best.enough and best.seeds - under > 1:
        middle = rate((best.seeds + under) // 2)
        if middle.enough:
            best = middle
        else:
            under = middle.seeds
    return best
