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
    emergence_probability,
    share_nodes,
    shift_nodes,
)
from seedbank.science.plant_counts import NO_PATCHES, Patches, transform
from seedbank.science.quantities import FloatArray
from seedbank.science.reasons import about
from seedbank.science.seed_need import check_wanted, sure_plants

# A lot whose expected viability is below this is kept for rescue, not for filling a row. Our
# choice.
USABLE_VIABILITY = 0.3

_SHIFT_COUNT = 16
_PEST_COUNT = 4
_STEP_OF_WIDTH, _LEAST_POINTS = 0.3, 16  # of the grid of chances, in widths of the count's noise

Transform = NDArray[np.complex128]


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
    mixture = SharedBed(bed, sum(seeds))
    parts = [
        mixture.transform_of(offer, count)
        for offer, count in zip(offers, seeds, strict=True)
        if count
    ]
    return mixture.pmf(parts, sum(seeds))


class SharedBed:
    """What the lots share, as nodes; it has room for ``most`` plants in all.

    A lot's part is the transform of its count given each shift and pest share, a row for each pair,
    (R, F); parts multiply where counts add.
    """

    def __init__(self, bed: Bed, most: int) -> None:
        self._bed = bed
        self._size = next_fast_len(most + 1, real=True)
        self._shift = shift_nodes(bed.shift_mean, bed.shift_sd, _SHIFT_COUNT)
        self._pest = share_nodes(bed.pest, _PEST_COUNT)

    def transform_of(self, offer: LotOffer, count: int) -> Transform:
        """The part of ``count`` units of a lot."""
        chance, weight = self._on_grid(offer, count)
        each = transform(chance, count, self._bed.patches, self._size)
        # einsum, not @: threaded BLAS spins for longer than this small product takes.
        mixed = np.einsum("rm,mf->rf", weight, each.view(np.float64))
        return np.asarray(mixed.view(np.complex128))

    def pmf(self, parts: Sequence[Transform], most: int) -> FloatArray:
        """Probabilities of 0..``most`` plants from lots with these parts."""
        return self._back(np.einsum("rf->f", self._weighed(parts)), most)

    def with_more(
        self, parts: Sequence[Transform], sown: int, offer: LotOffer, most: int
    ) -> Callable[[int], FloatArray]:
        """The same with some number of units, up to ``most``, of one more lot.

        Everything but that number is mixed once, so many numbers can be tried.
        """
        chance, weight = self._on_grid(offer, most)
        beside = self._weighed(parts).view(np.float64)
        joint = np.einsum("rm,rk->mk", weight, beside).view(np.complex128)

        def with_units(count: int) -> FloatArray:
            each = transform(chance, count, self._bed.patches, self._size)
            return self._back(np.einsum("mf,mf->f", joint, each), sown + count)

        return with_units

    def _weighed(self, parts: Sequence[Transform]) -> Transform:
        """All parts together, each row weighed: (R, F)."""
        weight = np.outer(self._shift.weight, self._pest.weight).ravel()
        product = np.ones((weight.size, self._size // 2 + 1), dtype=np.complex128)
        for part in parts:
            product *= part
        product *= weight[:, None]
        return product

    def _back(self, mixed: Transform, most: int) -> FloatArray:
        pmf = np.maximum(irfft(mixed, n=self._size)[: most + 1], 0.0)
        return np.asarray(pmf / pmf.sum())

    def _on_grid(self, offer: LotOffer, count: int) -> tuple[FloatArray, FloatArray]:
        """A lot's chances as a grid (M,), and the weight of each in every row (R, M)."""
        risen = emergence_probability(
            offer.viability.value[None, :], self._shift.value[:, None], offer.ready
        )
        left = risen[:, None, :] * (1.0 - self._pest.value[None, :, None])
        noise = self._bed.patches.inflation(np.asarray(float(count))) / max(count, 1)
        rows = left.reshape(-1, offer.viability.value.size)
        return _on_grid(rows, offer.viability.weight, 0.5 * float(np.sqrt(noise)))


def _on_grid(chance: FloatArray, weight: FloatArray, width: float) -> tuple[FloatArray, FloatArray]:
    """Each row of chances (R, N) as weights (R, M) on a grid of chances (M,) common to all.

    A count's probabilities are smooth in arcsin(sqrt(p)), where its noise has one width; a grid
    several times finer than ``width``, that noise's sd, carries them by cubic interpolation.
    """
    angle = np.arcsin(np.sqrt(np.clip(chance, 0.0, 1.0)))
    low, high = float(angle.min()), float(angle.max())
    points = max(int(np.ceil((high - low) / (_STEP_OF_WIDTH * width))) + 1, _LEAST_POINTS)
    step = max(high - low, 1e-9) / (points - 1)
    place = (angle - low) / step
    first = np.clip(place.astype(np.int64) - 1, 0, points - 4)
    past = place - first
    # Lagrange's weights of four neighbours 0, 1, 2, 3 at ``past``.
    a, b, c, d = past, past - 1.0, past - 2.0, past - 3.0
    shares = (-b * c * d / 6.0, a * c * d / 2.0, -a * b * d / 2.0, a * b * c / 6.0)
    cell = first + points * np.arange(chance.shape[0])[:, None]
    spread = np.zeros(chance.shape[0] * points)
    for next_to, share in enumerate(shares):
        mass = np.broadcast_to(weight, chance.shape) * share
        spread += np.bincount((cell + next_to).ravel(), mass.ravel(), spread.size)
    grid = np.sin(low + step * np.arange(points)) ** 2
    return np.asarray(grid), np.asarray(spread.reshape(chance.shape[0], points))


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
    """Units of each lot, and the probabilities of the plants they give together."""
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
