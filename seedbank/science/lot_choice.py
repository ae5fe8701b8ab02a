"""Which lots of one variety to sow, and how much of each: oldest usable first.

All lots share the bed (``shared_bed``). Adding the lots' own confidences would count one bad
spring as several.

Outside checks: convolution of scipy's binomials, brute-force mixture over the shared shift.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray
from seedbank.science.reasons import about
from seedbank.science.seed_need import check_wanted, sure_plants
from seedbank.science.shared_bed import (
    MOST_EXACT,
    Bed,
    LotOffer,
    SharedBed,
    Transform,
    bundle_size,
    in_bundles,
    unbundled,
)

# A lot whose expected viability is below this is kept for rescue, not for filling a row. Our
# choice.
USABLE_VIABILITY = 0.3


@dataclass(frozen=True, slots=True)
class LotShare:
    """Units of one lot to sow (0 when left alone), and why."""

    code: str
    seeds: int
    reason: str


@dataclass(frozen=True, slots=True)
class LotChoice:
    """The split over lots: ``reached`` is P(at least ``wanted`` plants) of all together."""

    shares: tuple[LotShare, ...]
    wanted: int
    confidence: float
    reached: float
    attained: bool
    sure_plants: int
    kept_back: int


def choose_lots(
    offers: Sequence[LotOffer],
    wanted: int,
    bed: Bed,
    confidence: float = 0.9,
    reserve: int = 0,
    rare: bool = False,
) -> LotChoice:
    """Sow the oldest usable lots first, adding younger ones until the plants are sure enough.

    A rare variety keeps ``reserve`` units unsown, held in its youngest usable lots. Raises
    ``ValueError`` on an empty list or a negative reserve.
    """
    check_wanted(wanted, confidence)
    if not offers or reserve < 0:
        raise ValueError(f"need at least one lot and no negative reserve, got {reserve!r}")
    ordered = sorted(offers, key=lambda offer: (offer.harvest_year, offer.code))
    usable = [o for o in ordered if o.expected_viability >= USABLE_VIABILITY]
    spendable = _spendable(usable, reserve if rare else 0)
    seeds, pmf = _split(usable, spendable, wanted, bed, confidence)
    reached = float(min(pmf[wanted:].sum(), 1.0))
    planned = {offer.code: count for offer, count in zip(usable, seeds, strict=True)}
    held = {o.code: o.available - s for o, s in zip(usable, spendable, strict=True)}
    shares = tuple(_share(offer, planned, held) for offer in ordered)
    return LotChoice(
        shares,
        wanted,
        confidence,
        reached,
        reached >= confidence,
        sure_plants(pmf, confidence),
        sum(held.values()),
    )


def _spendable(usable: Sequence[LotOffer], reserve: int) -> list[int]:
    """Units of each lot that may be sown, the reserve taken from the youngest backwards."""
    left, spend = reserve, []
    for offer in reversed(usable):
        kept = min(left, offer.available)
        spend.append(offer.available - kept)
        left -= kept
    return spend[::-1]


def _split(
    usable: Sequence[LotOffer],
    spendable: Sequence[int],
    wanted: int,
    bed: Bed,
    confidence: float,
) -> tuple[list[int], FloatArray]:
    """Units of each lot, and the probabilities of the plants they give together.

    Of a large stock no more is looked at than each lot would need by itself, and where that is
    still much, seed is counted in bundles.
    """
    if sum(spendable) <= MOST_EXACT:
        return _split_exactly(usable, spendable, wanted, bed, confidence)
    most = [
        _enough_alone(offer, units, wanted, bed, confidence)
        for offer, units in zip(usable, spendable, strict=True)
    ]
    return _split_bundled(usable, most, wanted, bed, confidence)


def _enough_alone(offer: LotOffer, most: int, wanted: int, bed: Bed, confidence: float) -> int:
    """Units of a lot, at most twice the least, that are enough by themselves; else ``most``."""
    units = wanted
    while units < most:
        _, pmf = _split_bundled([offer], [units], wanted, bed, confidence)
        if pmf[wanted:].sum() >= confidence:
            return units
        units *= 2
    return most


def _split_bundled(
    usable: Sequence[LotOffer],
    spendable: Sequence[int],
    wanted: int,
    bed: Bed,
    confidence: float,
) -> tuple[list[int], FloatArray]:
    size = bundle_size(sum(spendable))
    if size == 1:
        return _split_exactly(usable, spendable, wanted, bed, confidence)
    room = [units // size for units in spendable]
    bundles, pmf = _split_exactly(
        usable, room, -(-wanted // size), in_bundles(bed, size), confidence
    )
    seeds = [
        most if count == held else count * size
        for count, held, most in zip(bundles, room, spendable, strict=True)
    ]
    return seeds, unbundled(pmf, size, sum(seeds))


def _split_exactly(
    usable: Sequence[LotOffer],
    spendable: Sequence[int],
    wanted: int,
    bed: Bed,
    confidence: float,
) -> tuple[list[int], FloatArray]:
    mixture = SharedBed(bed, sum(spendable))
    seeds: list[int] = [0] * len(usable)
    parts: list[Transform] = []
    pmf = np.ones(1)
    for i, most in enumerate(spendable):
        if not most:
            continue
        before = sum(seeds)
        seeds[i] = most
        part = mixture.transform_of(usable[i], most)
        pmf = mixture.pmf([*parts, part], before + most)
        if pmf[wanted:].sum() >= confidence:
            with_units = mixture.with_more(parts, before, usable[i], most)
            seeds[i], pmf = _least(with_units, wanted, confidence, max(wanted - before, 0), most)
            break
        parts.append(part)
    return seeds, pmf


def _least(
    with_units: Callable[[int], FloatArray], wanted: int, confidence: float, low: int, high: int
) -> tuple[int, FloatArray]:
    """Smallest number of units, between two, that is enough; ``high`` is. And the plants then."""
    low, pmf = low - 1, with_units(high)
    while high - low > 1:
        middle = (low + high) // 2
        fewer = with_units(middle)
        if fewer[wanted:].sum() >= confidence:
            high, pmf = middle, fewer
        else:
            low = middle
    return high, pmf


def _share(offer: LotOffer, planned: dict[str, int], held: dict[str, int]) -> LotShare:
    if offer.code not in planned:
        why = f"{about(offer.expected_viability)} alive: too little to fill a row"
        return LotShare(offer.code, 0, why)
    seeds = planned[offer.code]
    if seeds:
        return LotShare(offer.code, seeds, f"oldest usable seed first ({offer.harvest_year})")
    if held[offer.code] >= offer.available:
        return LotShare(offer.code, 0, "kept as the reserve of a rare variety")
    return LotShare(offer.code, 0, "older seed is enough")
