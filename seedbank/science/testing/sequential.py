"""Test in groups and stop once the best action is probably enough the right one.

Every path is counted exactly, never by an asymptotic formula, so the error rates stated are the
ones the gardener gets.
"""

from dataclasses import dataclass

import numpy as np

from seedbank.science.binomial import hypergeometric_pmf
from seedbank.science.quantities import BoolArray, FloatArray, IntArray, ProbitNodes
from seedbank.science.testing.test_plan import count_probabilities


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
    checks: the convolution of a staircase plan's binomials and every path of a small test walked.
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
