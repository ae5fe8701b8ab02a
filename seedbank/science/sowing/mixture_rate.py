"""How much of a mixture to sow for the plants wanted: from its parts, which share one bed.

Of so many seeds each part is there by its share, to the nearest seed. Parts share the season and
its luck (``shared_bed``); what isn't known of a mixture is taken to give no plant.

Outside check: convolution of scipy's binomials.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from seedbank.science.sowing.large_bed import combined_law
from seedbank.science.sowing.plant_counts import CountLaw
from seedbank.science.sowing.shared_bed import Bed, LotOffer


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
        of_parts = seeds_of_parts(shares, seeds)
        plants = combined_law(offers, of_parts, bed, wanted)
        reached = float(plants.at_least(wanted))
        return MixtureRate(seeds, of_parts, plants, reached, reached >= confidence)

    best, under = rate(most), min(wanted, most) - 1
    while best.enough and best.seeds - under > 1:
        middle = rate((best.seeds + under) // 2)
        if middle.enough:
            best = middle
        else:
            under = middle.seeds
    return best
