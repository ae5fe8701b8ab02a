"""What plants come of much seed from several lots in one bed, millions as fast as thousands.

As in ``shared_bed``, but counts are told in cells, ``_CELLS`` of them up to each of a row of
scales, and what lies beyond a scale is one cell more. Given its chance a lot's count is taken as
normal there; counts too few for that are listed by ``shared_bed``.

Outside checks: every count listed, and scipy's normal for known chances.
"""

from collections.abc import Callable, Sequence
from typing import Any, Protocol

import numpy as np
import scipy
from numpy.typing import NDArray
from scipy.special import ndtr

from seedbank.science.quantities import FloatArray
from seedbank.science.sowing.plant_counts import CountLaw
from seedbank.science.sowing.shared_bed import (
    MOST_EXACT,
    Bed,
    LotOffer,
    SharedBed,
    SharedSeason,
    combined_pmf,
    most_telling,
)

FEW = 500  # plants up to which every count is listed however much is sown
_CELLS = 256
_SCALES_APART = 2


class Mixture(Protocol):
    """What a choice of lots asks of a bed: P(at least the plants wanted) from parts of lots."""

    def part_of(self, offer: LotOffer, count: int) -> NDArray[Any]: ...

    def reached(self, parts: Sequence[NDArray[Any]]) -> float: ...

    def with_more(
        self, parts: Sequence[NDArray[Any]], offer: LotOffer, most: int
    ) -> Callable[[int], float]: ...


def bed_for_many(bed: Bed, wanted: int) -> Mixture:
    """The bed told about ``wanted`` plants, whatever the stock."""
    return SharedBed(bed, wanted, wanted, False) if wanted <= FEW else LargeBed(bed, wanted)


class LargeBed:
    """Plants in cells of ``step``; the last cell holds ``most`` and all beyond.

    A lot's part are the probabilities of the cells in every row of the season, (R, cells + 1).
    """

    def __init__(self, bed: Bed, most: int) -> None:
        self._season, self._patches, self._most = SharedSeason(bed), bed.patches, most
        self.step = (most - 0.5) / (_CELLS - 0.5)  # so that the last cell begins with ``most``
        self._size = scipy.fft.next_fast_len(2 * _CELLS + 1, real=True)

    def part_of(self, offer: LotOffer, count: int) -> FloatArray:
        """The part of ``count`` units of a lot."""
        means = self._means(offer, count)
        cells = scipy.sparse.csr_array(self._cells(means.shape[1], count))  # mostly none
        return np.asarray((cells.T @ means.T).T)

    def reached(self, parts: Sequence[FloatArray]) -> float:
        """P(at least ``most`` plants)."""
        last = float(self._season.weight @ self._together(parts)[:, -1])
        return min(max(last, 0.0), 1.0)

    def above(self, parts: Sequence[FloatArray]) -> FloatArray:
        """P(at least k - 1/2 steps), k = 0 .. cells: (cells + 1,)."""
        cells = np.einsum("r,rc->c", self._season.weight, self._together(parts))
        return np.asarray(np.cumsum(cells[::-1])[::-1])

    def with_more(
        self, parts: Sequence[FloatArray], offer: LotOffer, most: int
    ) -> Callable[[int], float]:
        """The same with some number of units, up to ``most``, of one more lot."""
        del most
        beside = self._together(parts) * self._season.weight[:, None]
        # What lacks in a row after k cells' worth: P(k cells or more) of what is there already.
        lacking = np.cumsum(beside[:, ::-1], axis=1)

        def with_units(count: int) -> float:
            means = self._means(offer, count)
            cells = self._cells(means.shape[1], count)
            if not parts:
                return float(np.einsum("r,rm,m->", self._season.weight, means, cells[:, -1]))
            return float(np.einsum("mc,mc->", np.einsum("rm,rc->mc", means, lacking), cells))

        return with_units

    def _together(self, parts: Sequence[FloatArray]) -> FloatArray:
        """All parts in cells, given each row (R, cells + 1)."""
        if not parts:
            return np.eye(1, _CELLS + 1).repeat(self._season.weight.size, axis=0)
        whole = parts[0]
        for part in parts[1:]:
            product = scipy.fft.rfft(whole, n=self._size) * scipy.fft.rfft(part, n=self._size)
            each = scipy.fft.irfft(product, n=self._size)[:, : 2 * _CELLS + 1]
            whole = each[:, : _CELLS + 1].copy()
            whole[:, -1] += each[:, _CELLS + 1 :].sum(axis=1)
        return whole

    def _means(self, offer: LotOffer, count: int) -> FloatArray:
        """Weight of 0, 1, 2 ... steps as a lot's mean plants, in every row: (R, M)."""
        rows = self._season.chances(offer)
        most = most_telling(self._most, count, self._patches)
        place = np.minimum(rows * count, most) / self.step
        size = int(place.max()) + 2
        first = place.astype(np.int64)
        cell, past = first + size * np.arange(rows.shape[0])[:, None], place - first
        weight = np.broadcast_to(offer.viability.weight, rows.shape)
        spread = np.zeros(rows.shape[0] * size)
        for next_to, share in ((0, 1.0 - past), (1, past)):
            mass = (weight * share).ravel()
            spread += np.bincount((cell + next_to).ravel(), mass, spread.size)
        return np.asarray(spread.reshape(rows.shape[0], size))

    def _cells(self, means: int, count: int) -> FloatArray:
        """Probability of each cell given a mean of 0, 1, 2 ... steps: (means, cells + 1)."""
        mean = np.arange(means) * self.step
        clump = float(self._patches.inflation(np.asarray(float(count))))
        variance = mean * np.maximum(1.0 - mean / max(count, 1), 0.0) * clump
        edge = (np.arange(1, _CELLS + 1) - 0.5) * self.step
        sds = (mean[:, None] - edge) / np.sqrt(np.maximum(variance, 1e-9))[:, None]
        past = np.asarray(sds > 0.0, dtype=np.float64)
        doubtful = np.abs(sds) < 8.0  # few: most cells are far wider than a count spreads
        past[doubtful] = ndtr(sds[doubtful])
        return np.asarray(-np.diff(past, axis=1, prepend=1.0, append=0.0))


def combined_law(
    offers: Sequence[LotOffer], seeds: Sequence[int], bed: Bed, wanted: int = 0
) -> CountLaw:
    """The plants of all lots together; told most exactly about ``wanted``."""
    if sum(seeds) <= MOST_EXACT:
        return CountLaw.listed(combined_pmf(offers, seeds, bed))
    sown = [(offer, count) for offer, count in zip(offers, seeds, strict=True) if count]
    few = SharedBed(bed, FEW, whole=False)
    first = few.pmf([few.part_of(offer, count) for offer, count in sown])[:FEW]
    knots = [np.arange(FEW + 1) - 0.5]
    above = [1.0 - np.append(0.0, np.cumsum(first))]
    for most in _scales(sown, bed, wanted):
        scale = LargeBed(bed, most)
        tail = scale.above([scale.part_of(offer, count) for offer, count in sown])
        at = (np.arange(tail.size) - 0.5) * scale.step
        new = at > knots[-1][-1]
        knots.append(at[new])
        above.append(tail[new])
    known = np.minimum.accumulate(np.clip(np.concatenate(above), 0.0, 1.0))
    ends = np.concatenate(knots)
    return CountLaw(np.append(ends, ends[-1] + 1.0), np.append(known, 0.0))


def _scales(sown: Sequence[tuple[LotOffer, int]], bed: Bed, wanted: int) -> list[int]:
    """Plants up to which cells are told, one after another, ``wanted`` among them if it is not few;
    the last is more than can come.
    """
    season, possible = SharedSeason(bed), 0.0
    for offer, count in sown:
        mean = count * float(season.chances(offer).max())
        possible += min(most_telling(int(mean) + 1, count, bed.patches), float(count))
    first = wanted if wanted > FEW else FEW * _SCALES_APART
    while first > FEW * _SCALES_APART:
        first = -(-first // _SCALES_APART)
    scales = [first]
    while scales[-1] <= possible:
        further = scales[-1] * _SCALES_APART
        scales.append(wanted if scales[-1] < wanted <= further else further)
    return scales
