"""Published staircase plans by exact convolution: what ``stop_early`` is held against.

A plan is a pair of staircases over the cumulative count of germinated seeds.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from seedbank.science.binomial import binomial_pmf
from seedbank.science.quantities import FloatArray, IntArray


class Step(StrEnum):
    """What a sequential test says after a group has been counted (genebank trade words)."""

    REGENERATE = "regenerate"
    KEEP = "keep"
    TEST_MORE = "test more"


@dataclass(frozen=True, slots=True)
class SequentialPlan:
    """A staircase plan; three integer arrays of shape (G,), one entry a group.

    ``tested`` is cumulative. ``regenerate_at_most`` is -1 where no count regenerates yet, and
    ``keep_at_least`` is ``tested + 1`` where no count keeps yet. The last group always decides.
    The form is that of Ellis, Hong & Roberts 1985 (Handbook of Seed Technology for Genebanks,
    vol. I). Raises ValueError for staircases that cross, leave a gap at the end or run backwards.
    """

    tested: IntArray
    regenerate_at_most: IntArray
    keep_at_least: IntArray

    def __post_init__(self) -> None:
        tested, low, high = self.tested, self.regenerate_at_most, self.keep_at_least
        if tested.ndim != 1 or tested.size == 0 or not tested.shape == low.shape == high.shape:
            raise ValueError("a plan needs three arrays of one entry a group")
        if tested[0] < 1 or np.any(np.diff(tested) < 1):
            raise ValueError(f"seeds tested must rise from group to group, got {tested.tolist()}")
        if np.any(low < -1) or np.any(high > tested + 1) or np.any(low >= high):
            raise ValueError("each group needs -1 <= regenerate_at_most < keep_at_least <= n + 1")
        if high[-1] != low[-1] + 1:
            raise ValueError("the last group must decide: keep_at_least = regenerate_at_most + 1")

    @classmethod
    def from_rows(cls, rows: Iterable[tuple[int, int | None, int | None]]) -> "SequentialPlan":
        """Build from rows ``(tested, regenerate if <=, keep if >=)``; None means "not yet".

        Outside check: the printed plan of Rao et al. 2006, table 8.3 (see tests).
        """
        table = [
            (n, -1 if low is None else low, n + 1 if high is None else high)
            for n, low, high in rows
        ]
        tested, lows, highs = (
            np.array(column, dtype=np.int64) for column in zip(*table, strict=True)
        )
        return cls(tested, lows, highs)

    def step(self, tested: int, germinated: int) -> Step:
        """The next step after ``germinated`` of ``tested`` seeds; ValueError off the plan's stages.

        Outside check: flowchart 8.1 of Rao et al. 2006 (64 of 80 regenerates, 76 of 80 keeps).
        """
        at = np.flatnonzero(self.tested == tested)
        if at.size == 0:
            raise ValueError(f"tested must be one of {self.tested.tolist()}, got {tested}")
        if not 0 <= germinated <= tested:
            raise ValueError(f"germinated must lie in 0..{tested}, got {germinated}")
        if germinated <= self.regenerate_at_most[at[0]]:
            return Step.REGENERATE
        return Step.KEEP if germinated >= self.keep_at_least[at[0]] else Step.TEST_MORE


@dataclass(frozen=True, slots=True)
class OperatingCurve:
    """What a plan does at each true viability: arrays (P,), ``stopping`` (P, G).

    ``stopping[i, g]`` is the probability that the test ends with group g. Seeds are counts.
    Outside checks: see ``exact_operating_curve``.
    """

    viability: FloatArray
    regenerate: FloatArray
    keep: FloatArray
    mean_seeds: FloatArray
    sd_seeds: FloatArray
    stopping: FloatArray


def exact_operating_curve(plan: SequentialPlan, viability: FloatArray) -> OperatingCurve:
    """P(regenerate), P(keep) and seeds used at each true viability (fractions, shape (P,)).

    Exact convolution of the group binomials over the paths still undecided. Outside checks: every
    path of a small plan enumerated, an independent ordering-count recursion, and the figures for
    the plan of Ellis, Hong & Roberts 1985. Raises ValueError for a viability outside 0..1.
    """
    p = np.atleast_1d(np.asarray(viability, dtype=np.float64))
    if np.any(~((p >= 0) & (p <= 1))):
        raise ValueError("viability must lie in 0..1")
    stages = plan.tested.size
    regenerate, keep = np.zeros((p.size, stages)), np.zeros((p.size, stages))
    live = np.ones((p.size, 1))
    before = 0
    for stage, tested in enumerate(plan.tested.tolist()):
        live = _add_group(live, p, tested - before)
        low, high = int(plan.regenerate_at_most[stage]), int(plan.keep_at_least[stage])
        regenerate[:, stage] = live[:, : low + 1].sum(axis=1)
        keep[:, stage] = live[:, high:].sum(axis=1)
        live[:, : low + 1] = 0.0
        live[:, high:] = 0.0
        before = tested
    stopping = regenerate + keep
    seeds = plan.tested.astype(np.float64)
    mean = stopping @ seeds
    # Centred sum: the difference of squares would lose the small spreads near p = 0 and 1.
    spread = np.sqrt((stopping * (seeds - mean[:, None]) ** 2).sum(axis=1))
    return OperatingCurve(p, regenerate.sum(axis=1), keep.sum(axis=1), mean, spread, stopping)


def _add_group(live: FloatArray, p: FloatArray, seeds: int) -> FloatArray:
    """Distribution of the cumulative count after ``seeds`` more, from the undecided paths."""
    counts = binomial_pmf(np.arange(seeds + 1), seeds, p[:, None])
    total = np.zeros((p.size, live.shape[1] + seeds))
    for k in np.flatnonzero(live.any(axis=0)).tolist():
        total[:, k : k + seeds + 1] += live[:, k, None] * counts
    return total
