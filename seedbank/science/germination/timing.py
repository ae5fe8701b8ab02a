"""How fast and how evenly the seeds germinated, from dated counts.

Definitions as gathered by Ranal & Santana 2006, Revista Brasileira de Botanica 29:1-11 (from
memory). Seeds are seen only on counting days, so a mean or spread is late by up to the gap between
counts.

Outside checks: hand-worked examples in the tests, ``numpy.average`` / ``numpy.var`` of the seeds
written out one by one, and ``numpy.interp`` for the quantiles.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from seedbank.science.quantities import FloatArray


@dataclass(frozen=True, slots=True)
class GerminationTiming:
    """Times in days from the start of the test, over the seeds that germinated.

    ``half_between_days``: the two counts (or the start and the first) that time to half lies
    between; a wide gap means it is only roughly known. ``sd_days`` is None for a single seed.
    """

    germinated: int
    mean_days: float
    sd_days: float | None
    half_days: float
    half_between_days: tuple[float, float]
    quarter_days: float
    three_quarter_days: float

    @property
    def middle_half_days(self) -> float:
        """Days the middle half of the germinating seeds took (time to 75 % less time to 25 %)."""
        return self.three_quarter_days - self.quarter_days


def germination_timing(days: ArrayLike, newly_germinated: ArrayLike) -> GerminationTiming | None:
    """Timing from counts on ``days`` (C,) after the start and seeds newly germinated on each (C,).

    mean = sum(n t) / sum n; sd^2 = sum n (t - mean)^2 / (sum n - 1) (Ranal & Santana 2006). Time to
    half of the final germination is Coolbear, Francis & Grierson 1984, J. Exp. Bot. 35:1609-1617
    (from memory): t_i + ((N + 1)/2 - n_i)(t_j - t_i)/(n_j - n_i) with n_i < (N + 1)/2 <= n_j
    cumulative; the quarters use (N + 1)/4 and 3(N + 1)/4 the same way, kept within 1..N. Before the
    first count none had germinated at day 0. None if nothing germinated. Raises ``ValueError`` for
    days not above 0 and rising, or negative counts. Checked against hand-worked examples and numpy.
    """
    at, new = np.asarray(days, dtype=np.float64), np.asarray(newly_germinated, dtype=np.float64)
    if at.shape != new.shape or at.ndim != 1:
        raise ValueError(f"one count a day is needed, got shapes {at.shape} and {new.shape}")
    if np.any(np.diff(at, prepend=0.0) <= 0):
        raise ValueError(f"days must be above 0 and rising, got {days!r}")
    if np.any(new < 0) or np.any(new != np.rint(new)):
        raise ValueError(f"counts are whole seeds, none negative, got {newly_germinated!r}")
    total = float(new.sum())
    if total == 0:
        return None
    mean = float((new * at).sum() / total)
    sd = float(np.sqrt((new * (at - mean) ** 2).sum() / (total - 1))) if total > 1 else None
    running = np.cumsum(new)
    quarter, half, three_quarter = (
        _reached(at, running, float(np.clip(part * (total + 1), 1.0, total)))
        for part in (0.25, 0.5, 0.75)
    )
    return GerminationTiming(
        germinated=int(total),
        mean_days=mean,
        sd_days=sd,
        half_days=half[0],
        half_between_days=half[1],
        quarter_days=quarter[0],
        three_quarter_days=three_quarter[0],
    )


def _reached(
    at: FloatArray, running: FloatArray, wanted: float
) -> tuple[float, tuple[float, float]]:
    """When the running count reaches ``wanted``, and the counts it lies between."""
    j = int(np.searchsorted(running, wanted))
    before, after = (float(at[j - 1]) if j else 0.0), float(at[j])
    low = float(running[j - 1]) if j else 0.0
    time = before + (wanted - low) * (after - before) / (float(running[j]) - low)
    return time, (before, after)
