"""Which lots of one variety to sow, and how much of each: oldest usable first.

All lots share the bed, so they share the unknown shift and the pests: given those, each lot's
count is independent, the sum is their convolution, and the whole is mixed over the shared
unknowns. Adding the lots' own confidences would count one bad spring as several.

Outside checks: convolution of scipy's binomials, brute-force mixture over the shared shift.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len
from scipy.special import ndtr

from seedbank.science.emergence import (
    BetaShare,
    WeightedNodes,
    compress,
    emergence_probability,
    share_nodes,
    shift_nodes,
)
from seedbank.science.plant_counts import NO_PATCHES, Patches, transform
from seedbank.science.quantities import FloatArray
from seedbank.science.seed_need import check_wanted, sure_plants

# A lot whose expected viability is below this is kept for rescue, not for filling a row. Our
# choice.
USABLE_VIABILITY = 0.3

_SHIFT_COUNT = 16
_PEST_COUNT = 4
_LOT_CELLS = 16


@dataclass(frozen=True, slots=True)
class LotOffer:
    """A lot that may be sown: its code, harvest year, viability (probits) and units in hand."""

    code: str
    harvest_year: int
    viability: WeightedNodes
    available: int
    ready: float = 1.0

    @property
    def expected_viability(self) -> float:
        return float(self.viability.weight @ ndtr(self.viability.value))


@dataclass(frozen=True, slots=True)
class Bed:
    """What every lot in the bed shares: shift N(mean, sd^2), pests, patchiness."""

    shift_mean: float
    shift_sd: float
    pest: BetaShare | None = None
    patches: Patches = NO_PATCHES


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


def combined_pmf(offers: Sequence[LotOffer], seeds: Sequence[int], bed: Bed) -> FloatArray:
    """Probabilities of the plants of all lots together, shape (sum of seeds + 1,)."""
    total = sum(seeds)
    size = next_fast_len(total + 1, real=True)
    shift = shift_nodes(bed.shift_mean, bed.shift_sd, _SHIFT_COUNT)
    pest = share_nodes(bed.pest, _PEST_COUNT)
    mixed = np.zeros(size // 2 + 1, dtype=np.complex128)
    for here, here_weight in zip(shift.value, shift.weight, strict=True):
        product = np.ones((pest.value.size, size // 2 + 1), dtype=np.complex128)
        for offer, count in zip(offers, seeds, strict=True):
            if count:
                product *= _lot_transform(offer, count, float(here), pest.value, bed, size)
        mixed += here_weight * np.einsum("p,pf->f", pest.weight, product)
    pmf = np.maximum(irfft(mixed, n=size)[: total + 1], 0.0)
    return np.asarray(pmf / pmf.sum())


def _lot_transform(
    offer: LotOffer, count: int, shift: float, pest: FloatArray, bed: Bed, size: int
) -> NDArray[np.complex128]:
    """Transform of one lot's count given the shift, at each pest share: (P, size // 2 + 1)."""
    risen = compress(
        emergence_probability(offer.viability.value, shift, offer.ready),
        offer.viability.weight,
        _LOT_CELLS,
    )
    chance = (risen.value[None, :] * (1.0 - pest[:, None])).ravel()
    each = transform(chance, count, bed.patches, size).reshape(pest.size, risen.value.size, -1)
    return np.asarray(np.einsum("k,pkf->pf", risen.weight, each))


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
    seeds = [0] * len(usable)

    def enough(split: Sequence[int]) -> bool:
        return bool(combined_pmf(usable, split, bed)[wanted:].sum() >= confidence)

    for i, most in enumerate(spendable):
        seeds[i] = most
        if most and sum(seeds) >= wanted and enough(seeds):
            seeds[i] = _least(seeds, i, enough)
            break
    pmf = combined_pmf(usable, seeds, bed)
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


def _least(seeds: Sequence[int], lot: int, enough: Callable[[Sequence[int]], bool]) -> int:
    """Smallest amount of one lot that keeps the split good enough, the others as they are."""
    split, low, high = list(seeds), -1, seeds[lot]
    while high - low > 1:
        middle = (low + high) // 2
        split[lot] = middle
        low, high = (low, middle) if enough(split) else (middle, high)
    return high


def _share(offer: LotOffer, planned: dict[str, int], held: dict[str, int]) -> LotShare:
    if offer.code not in planned:
        why = f"about {offer.expected_viability:.0%} alive: too little to fill a row"
        return LotShare(offer.code, 0, why)
    seeds = planned[offer.code]
    if seeds:
        return LotShare(offer.code, seeds, f"oldest usable seed first ({offer.harvest_year})")
    if held[offer.code] >= offer.available:
        return LotShare(offer.code, 0, "kept as the reserve of a rare variety")
    return LotShare(offer.code, 0, "older seed is enough")
