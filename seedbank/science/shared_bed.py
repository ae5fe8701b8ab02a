"""What plants come from several lots in one bed: they share its season, and so their luck.

Given the shift and the pests that all share, each lot's count is independent and the sum is their
convolution; the whole is mixed over the shared unknowns. Large amounts are counted in bundles:
room and time grow faster than the amounts, and a bundle's own noise (1 in 60) is nothing beside
that of the season (checked: the amounts come out within 1 % of counting every unit).

Outside checks: convolution of scipy's binomials, brute-force mixture over the shared shift.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

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

MOST_EXACT = 4000  # units of all lots together; above it they are counted in bundles

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


def bundle_size(units: int) -> int:
    """Units to a bundle, so that at most ``MOST_EXACT`` bundles are counted."""
    return max(-(-units // MOST_EXACT), 1)


def in_bundles(bed: Bed, size: int) -> Bed:
    """The bed, its patches counted in bundles of ``size`` units."""
    units = bed.patches.units
    return replace(
        bed, patches=replace(bed.patches, units=None if units is None else -(-units // size))
    )


def unbundled(pmf: FloatArray, size: int, most: int) -> FloatArray:
    """Probabilities of plants from those of bundles of ``size``, with room for ``most`` units."""
    spread = np.zeros(max(most, (pmf.size - 1) * size) + 1)
    spread[: pmf.size * size : size] = pmf
    return spread


def combined_pmf(offers: Sequence[LotOffer], seeds: Sequence[int], bed: Bed) -> FloatArray:
    """Probabilities of the plants of all lots together, shape (sum of seeds + 1,)."""
    size = bundle_size(sum(seeds))
    if size > 1:
        bundles = combined_pmf(offers, [count // size for count in seeds], in_bundles(bed, size))
        return unbundled(bundles, size, sum(seeds))
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
