"""Group-sequential germination tests: test a few seeds, stop as soon as the lot has answered.

A plan is a pair of staircases over the cumulative count of germinated (or viable) seeds. What it
does to a lot of true viability p is found by exact binomial convolution, never by an asymptotic
formula, so the error rates stated are the ones the gardener gets.

Test in groups and stop once the best action is probably enough the right one.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from seedbank.science.binomial import binomial_pmf, hypergeometric_pmf
from seedbank.science.quantities import BoolArray, FloatArray, IntArray, ProbitNodes
from seedbank.science.testing.test_plan import count_probabilities

HOME_GROUPS = (5, 10, 20, 25, 40)
"""Seeds that fit one paper towel or saucer; common practice, no single source."""


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


@dataclass(frozen=True, slots=True)
class StopEarly:
    """A stop-early rule for L lots over stages ``tested`` (G,), the first being 0 seeds.

    ``action`` and ``stop`` have shape (L, G, K): what is best, and whether the test is over,
    after k seeds have come up (entries with k > tested are unused, action -1). ``stopping``
    (L, G) is the chance of ending at each stage; ``right`` (L,) that the action taken is the best
    at the true viability; ``right_when_early`` (L,) the same among tests that stopped as sure
    enough (NaN if none can); ``wrong_at_node`` (L, N) the exact error rate at each viability.
    Outside checks: see the function ``stop_early``.
    """

    tested: IntArray
    action: IntArray
    stop: BoolArray
    stopping: FloatArray
    mean_seeds: FloatArray
    right: FloatArray
    right_when_early: FloatArray
    wrong_at_node: FloatArray


def stop_early(
    nodes: ProbitNodes,
    losses: FloatArray,
    confidence: float,
    group: int,
    max_seeds: int,
    overdispersion: FloatArray | float = 0.0,
) -> StopEarly:
    """Stop when P(best action is right | counts so far) >= ``confidence``, or at ``max_seeds``.

    ``losses`` (L, A, N) as in ``plan_test``. Every path is counted exactly: seeds come in any
    order with equal chance given their total, so P(stopping at k of n | node) is the share of
    orders still undecided times P(k of n | node); that holds for the beta-binomial too. Outside
    checks: the binomial convolution of ``sequential`` and every path of a small test walked.
    The posterior rule is Bayes' own; the stated confidence is met among early stops by
    construction and checked. Raises ValueError for a confidence outside 0..1 or bad sizes.
    """
    if not 0 < confidence <= 1:
        raise ValueError(f"confidence must lie in 0 < c <= 1, got {confidence}")
    if not 1 <= group <= max_seeds:
        raise ValueError(f"need 1 <= group <= max_seeds, got {group}, {max_seeds}")
    tested = np.arange(0, max_seeds + 1, group, dtype=np.int64)
    lots, count = nodes.probit.shape
    shape = (lots, tested.size, int(tested[-1]) + 1)
    action, stop = np.full(shape, -1, dtype=np.int64), np.zeros(shape, dtype=np.bool_)
    stopping, right, early = np.zeros(shape[:2]), np.zeros(lots), np.zeros((2, lots))
    wrong = np.zeros((lots, count))
    alive = np.ones((lots, 1))
    for stage, seeds in enumerate(tested.tolist()):
        if stage:
            alive = alive @ _orders(int(tested[stage - 1]), seeds)
        counts = count_probabilities(nodes, seeds, overdispersion)
        chosen, is_right, sure = _best_action(nodes, losses, counts)
        enough = sure >= confidence
        ends = enough | (stage == tested.size - 1)
        action[:, stage, : seeds + 1], stop[:, stage, : seeds + 1] = chosen, ends
        paths = counts * (alive * ends)[:, None, :]
        wrong += (paths * ~is_right).sum(axis=2)
        mass = (nodes.weight[..., None] * paths).sum(axis=1)
        good = (nodes.weight[..., None] * paths * is_right).sum(axis=1)
        stopping[:, stage], right = mass.sum(axis=1), right + good.sum(axis=1)
        early += np.stack([(part * enough).sum(axis=1) for part in (good, mass)])
        alive = alive * ~ends
    with np.errstate(invalid="ignore", divide="ignore"):
        when_early = np.where(early[1] > 0, early[0] / early[1], np.nan)
    mean = stopping @ tested.astype(np.float64)
    return StopEarly(tested, action, stop, stopping, mean, right, when_early, wrong)


def _orders(before: int, after: int) -> FloatArray:
    """(before + 1, after + 1): share of orders of k in ``after`` with j among the first."""
    j, k = np.arange(before + 1)[:, None], np.arange(after + 1)[None, :]
    return hypergeometric_pmf(j, after, k, before)


def _best_action(
    nodes: ProbitNodes, losses: FloatArray, counts: FloatArray
) -> tuple[IntArray, BoolArray, FloatArray]:
    """After each count: action (L, K), whether it is right at a node (L, N, K), P(right) (L, K)."""
    chosen = np.argmin((losses * nodes.weight[:, None, :]) @ counts, axis=1)
    tie = 1e-9 * np.abs(losses).max(axis=(1, 2))[:, None, None]
    best = losses <= losses.min(axis=1, keepdims=True) + tie
    is_right = np.swapaxes(np.take_along_axis(best, chosen[..., None], axis=1), 1, 2)
    joint = nodes.weight[..., None] * counts
    total = joint.sum(axis=1)
    with np.errstate(invalid="ignore", divide="ignore"):
        sure = np.where(total > 0, (joint * is_right).sum(axis=1) / total, 0.0)
    return chosen, is_right, sure
