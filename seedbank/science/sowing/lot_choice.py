"""Which lots of one variety to sow, and how much of each: oldest usable first.

All lots share the bed (``shared_bed``, ``large_bed`` for much seed). Adding the lots' own
confidences would count one bad spring as several.

Outside checks: convolution of scipy's binomials, brute-force mixture over the shared shift.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from numpy.typing import NDArray

from seedbank.science.quantities import USUAL_CONFIDENCE, Finding
from seedbank.science.sowing.large_bed import Mixture, bed_for_many, combined_law
from seedbank.science.sowing.plant_counts import CountLaw
from seedbank.science.sowing.seed_need import check_wanted
from seedbank.science.sowing.shared_bed import MOST_EXACT, Bed, LotOffer, SharedBed

# A lot whose expected viability is below this is kept for rescue, not for filling a row. Our
# choice.
USABLE_VIABILITY = 0.3
_BED_LEFT = 0.05  # share of a bed that may stay empty and it is sown all the same; our choice


@dataclass(frozen=True, slots=True)
class LotShare:
    """Units of one lot to sow (0 when left alone), and why."""

    code: str
    seeds: int
    reason: Finding


@dataclass(frozen=True, slots=True)
class LotChoice:
    """The split over lots: ``reached`` is P(at least ``wanted``) of the ``plants`` of all."""

    shares: tuple[LotShare, ...]
    wanted: int
    confidence: float
    reached: float
    attained: bool
    sure_plants: int
    kept_back: int
    plants: CountLaw


def choose_lots(
    offers: Sequence[LotOffer],
    wanted: int,
    bed: Bed,
    confidence: float = USUAL_CONFIDENCE,
    reserve: int = 0,
) -> LotChoice:
    """Sow the oldest usable lots first, adding younger ones until the plants are sure enough.

    ``reserve`` units stay unsown, held in its youngest usable lots. Raises
    ``ValueError`` on an empty list or a negative reserve.
    """
    check_wanted(wanted, confidence)
    if not offers or reserve < 0:
        raise ValueError(f"need at least one lot and no negative reserve, got {reserve!r}")
    ordered = sorted(offers, key=lambda offer: (offer.harvest_year, offer.code))
    usable = [o for o in ordered if o.expected_viability >= USABLE_VIABILITY]
    spendable = _spendable(usable, reserve)
    few = sum(spendable) <= MOST_EXACT
    mixture = SharedBed(bed, sum(spendable), wanted) if few else bed_for_many(bed, wanted)
    seeds, reached = _oldest_first(mixture, usable, spendable, wanted, confidence)
    plants = combined_law(usable, seeds, bed, wanted)
    planned = {offer.code: count for offer, count in zip(usable, seeds, strict=True)}
    held = {o.code: o.available - s for o, s in zip(usable, spendable, strict=True)}
    shares = tuple(_share(offer, planned, held) for offer in ordered)
    return LotChoice(
        shares,
        wanted,
        confidence,
        reached,
        reached >= confidence,
        plants.surely(confidence),
        sum(held.values()),
        plants,
    )


def share_by_rate(
    offers: Sequence[LotOffer],
    units: Mapping[str, float],
    wanted: int,
    bed: Bed,
    reserve: int = 0,
) -> LotChoice:
    """Sow each lot at its own rate, the oldest first, until the bed is full.

    ``units`` are what would fill the bed from each lot alone, by code; a lot without is left alone.
    ``attained`` says whether they fill it. ``reserve`` as for ``choose_lots``.
    """
    ordered = sorted(offers, key=lambda offer: (offer.harvest_year, offer.code))
    usable = [o for o in ordered if o.expected_viability >= USABLE_VIABILITY]
    spendable = _spendable(usable, reserve)
    left, seeds = 1.0, []
    for offer, most in zip(usable, spendable, strict=True):
        all_of_it = units.get(offer.code, 0.0)
        sown = min(most, round(left * all_of_it)) if all_of_it else 0
        left -= sown / all_of_it if all_of_it else 0.0
        seeds.append(sown)
    plants = combined_law(usable, seeds, bed, wanted)
    planned = {offer.code: count for offer, count in zip(usable, seeds, strict=True)}
    held = {o.code: o.available - s for o, s in zip(usable, spendable, strict=True)}
    return LotChoice(
        tuple(_share(offer, planned, held) for offer in ordered),
        wanted,
        USUAL_CONFIDENCE,
        float(plants.at_least(wanted)),
        left <= _BED_LEFT,
        plants.surely(USUAL_CONFIDENCE),
        sum(held.values()),
        plants,
    )


def _spendable(usable: Sequence[LotOffer], reserve: int) -> list[int]:
    """Units of each lot that may be sown, the reserve taken from the youngest backwards."""
    left, spend = reserve, []
    for offer in reversed(usable):
        kept = min(left, offer.available) if offer.counted else 0
        spend.append(offer.available - kept)
        left -= kept
    return spend[::-1]


def _oldest_first(
    mixture: Mixture,
    usable: Sequence[LotOffer],
    spendable: Sequence[int],
    wanted: int,
    confidence: float,
) -> tuple[list[int], float]:
    """Units of each lot, and the chance that together they give the plants."""
    seeds: list[int] = [0] * len(usable)
    parts: list[NDArray[Any]] = []
    reached = float(wanted <= 0)
    for i, most in enumerate(spendable):
        if not most:
            continue
        before = sum(seeds)
        seeds[i] = most
        part = mixture.part_of(usable[i], most)
        reached = mixture.reached([*parts, part])
        if reached >= confidence:
            with_units = mixture.with_more(parts, usable[i], most)
            low = max(wanted - before, 0)
            seeds[i], reached = _least(with_units, confidence, low, most, reached)
            break
        parts.append(part)
    return seeds, reached


def _least(
    with_units: Callable[[int], float], confidence: float, low: int, high: int, reached: float
) -> tuple[int, float]:
    """Smallest number of units, between two, that is enough; ``high`` is. And the chance then."""
    low -= 1
    while high - low > 1:
        middle = (low + high) // 2
        fewer = with_units(middle)
        if fewer >= confidence:
            high, reached = middle, fewer
        else:
            low = middle
    return high, reached


def _share(offer: LotOffer, planned: dict[str, int], held: dict[str, int]) -> LotShare:
    seeds = planned.get(offer.code, 0)
    if offer.code not in planned:
        why = Finding("lot-too-little-alive", {"p_alive": offer.expected_viability})
    elif seeds:
        why = Finding("lot-oldest-first", {"harvest_year": offer.harvest_year})
    elif held[offer.code] >= offer.available:
        why = Finding("lot-kept-as-reserve")
    else:
        why = Finding("lot-older-enough")
    return LotShare(offer.code, seeds, why)
