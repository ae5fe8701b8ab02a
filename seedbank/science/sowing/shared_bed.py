"""What plants come from several lots in one bed: they share its season, and so their luck.

Given the shift and the pests that all share, each lot's count is independent and the sum is their
convolution; the whole is mixed over the shared unknowns. Every count is listed here, or the first
ones alone; ``large_bed`` tells how many come of more.

Outside checks: convolution of scipy's binomials, brute-force mixture over the shared shift.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray
from scipy.special import ndtr

from seedbank.science.quantities import FloatArray
from seedbank.science.sowing.emergence import (
    LEFT_BY_FAILURE,
    BetaShare,
    ShiftLaw,
    WeightedNodes,
    emergence_probability,
    share_nodes,
    shift_nodes,
)
from seedbank.science.sowing.patches import NO_PATCHES, Patches, transform

MOST_EXACT = 1500  # units of all lots together; above it not every count is listed

_SHIFT_COUNT = 16
_PEST_COUNT = 4
_STEP_OF_WIDTH, _LEAST_POINTS = 0.3, 16  # of the grid of chances, in widths of the count's noise
_FOLDED = 1e-9  # what is left of counts that fold back on the first ones

Transform = NDArray[np.complex128]


@dataclass(frozen=True, slots=True)
class LotOffer:
    """A lot that may be sown: its code, harvest year, viability (probits) and units in hand.

    ``counted`` is false where ``available`` only bounds what may be advised: no reserve is taken
    to lie in such a lot.
    """

    code: str
    harvest_year: int
    viability: WeightedNodes
    available: int
    ready: float = 1.0
    counted: bool = True

    @property
    def expected_viability(self) -> float:
        return float(self.viability.weight @ ndtr(self.viability.value))


@dataclass(frozen=True, slots=True)
class Bed:
    """What every lot in the bed shares: shift, pests, patchiness."""

    shift: ShiftLaw
    pest: BetaShare | None = None
    patches: Patches = NO_PATCHES


class SharedSeason:
    """What the lots share, as nodes: every pair of a shift and a pest share is a row, (R,).

    Once more for the sowing that fails outright, where it may.
    """

    def __init__(self, bed: Bed) -> None:
        shift = shift_nodes(bed.shift.mean, bed.shift.sd, _SHIFT_COUNT)
        pest = share_nodes(bed.pest, _PEST_COUNT)
        self._shift, self._left, left_weight = shift.value, 1.0 - pest.value, pest.weight
        if (failure := bed.shift.failure) > 0.0:
            self._left = np.append(self._left, LEFT_BY_FAILURE * self._left)
            left_weight = np.append((1.0 - failure) * left_weight, failure * left_weight)
        self.weight = np.outer(shift.weight, left_weight).ravel()

    def chances(self, offer: LotOffer) -> FloatArray:
        """The chance that a unit of a lot gives a plant, in every row at every node: (R, N)."""
        risen = emergence_probability(
            offer.viability.value[None, :], self._shift[:, None], offer.ready
        )
        left = risen[:, None, :] * self._left[None, :, None]
        return np.asarray(left.reshape(-1, offer.viability.value.size))


def combined_pmf(offers: Sequence[LotOffer], seeds: Sequence[int], bed: Bed) -> FloatArray:
    """Probabilities of the plants of all lots together, shape (sum of seeds + 1,)."""
    mixture = SharedBed(bed, sum(seeds))
    parts = [
        mixture.part_of(offer, count) for offer, count in zip(offers, seeds, strict=True) if count
    ]
    return mixture.pmf(parts)[: sum(seeds) + 1]


class SharedBed:
    """The lots' plants, listed up to ``most`` in all; more can come where it isn't the ``whole``.

    A lot's part is the transform of its count given each shift and pest share, a row for each pair,
    (R, F); parts multiply where counts add.
    """

    def __init__(self, bed: Bed, most: int, wanted: int = 0, whole: bool = True) -> None:
        self._season, self._patches = SharedSeason(bed), bed.patches
        self._most, self._wanted, self._whole = most, wanted, whole
        self._size = scipy.fft.next_fast_len((1 if whole else 2) * most + 1, real=True)
        self._damping = 1.0 if whole else float(_FOLDED ** (1.0 / self._size))

    def part_of(self, offer: LotOffer, count: int) -> Transform:
        """The part of ``count`` units of a lot."""
        chance, weight = self._on_grid(offer, count)
        # einsum, not @: threaded BLAS spins for longer than this small product takes.
        mixed = np.einsum("rm,mf->rf", weight, self._each(chance, count).view(np.float64))
        return np.asarray(mixed.view(np.complex128))

    def pmf(self, parts: Sequence[Transform]) -> FloatArray:
        """Probabilities of 0..``most`` plants from lots with these parts."""
        return self._back(np.einsum("rf->f", self._weighed(parts)))

    def reached(self, parts: Sequence[Transform]) -> float:
        """P(at least ``wanted`` plants)."""
        return self._enough(self.pmf(parts))

    def with_more(
        self, parts: Sequence[Transform], offer: LotOffer, most: int
    ) -> Callable[[int], float]:
        """The same with some number of units, up to ``most``, of one more lot.

        Of the whole, everything but that number is mixed once, so many numbers can be tried.
        """
        beside = self._weighed(parts).view(np.float64)

        def grid(count: int) -> tuple[FloatArray, Transform]:
            chance, weight = self._on_grid(offer, count)
            return chance, np.einsum("rm,rk->mk", weight, beside).view(np.complex128)

        for_all = grid(most) if self._whole else None

        def with_units(count: int) -> float:
            chance, joint = for_all or grid(count)
            each = self._each(chance, count)
            return self._enough(self._back(np.einsum("mf,mf->f", joint, each)))

        return with_units

    def _each(self, chance: FloatArray, count: int) -> Transform:
        return transform(chance, count, self._patches, self._size, self._damping)

    def _enough(self, pmf: FloatArray) -> float:
        if self._whole:
            return float(min(pmf[self._wanted :].sum(), 1.0))
        return float(max(1.0 - pmf[: self._wanted].sum(), 0.0))

    def _weighed(self, parts: Sequence[Transform]) -> Transform:
        """All parts together, each row weighed: (R, F)."""
        weight = self._season.weight
        product = np.ones((weight.size, self._size // 2 + 1), dtype=np.complex128)
        for part in parts:
            product *= part
        product *= weight[:, None]
        return product

    def _back(self, mixed: Transform) -> FloatArray:
        pmf = np.maximum(scipy.fft.irfft(mixed, n=self._size)[: self._most + 1], 0.0)
        if self._whole:
            return np.asarray(pmf / pmf.sum())
        return np.asarray(pmf / self._damping ** np.arange(pmf.size))

    def _on_grid(self, offer: LotOffer, count: int) -> tuple[FloatArray, FloatArray]:
        """A lot's chances as a grid (M,), and the weight of each in every row (R, M)."""
        rows = self._season.chances(offer)
        noise = float(self._patches.inflation(np.asarray(float(count)))) / max(count, 1)
        if not self._whole:  # chances that surely give more than are listed are all one
            rows = np.minimum(rows, most_telling(self._most, count, self._patches) / max(count, 1))
        return _on_grid(rows, offer.viability.weight, 0.5 * float(np.sqrt(noise)))


def most_telling(most: int, count: int, patches: Patches) -> float:
    """Mean plants, of ``count`` units, from which on fewer than ``most`` are out of the question.

    Ten standard deviations above.
    """
    clump = float(patches.inflation(np.asarray(float(count))))
    return most + 100.0 * clump + 10.0 * float(np.sqrt(most * clump))


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
