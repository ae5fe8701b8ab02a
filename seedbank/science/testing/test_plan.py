"""How many seeds to test, down to none: what a test is worth against the seeds it spends.

Preposterior analysis (Raiffa & Schlaifer 1961, Applied Statistical Decision Theory, ch. 4-5) by
summing over every count a test could give; no sampling. Losses and costs share one unit, for a
gardener usually plants foregone.

How many seeds of a test come up: exact distribution at each viability node.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr, ndtr

from seedbank.science.binomial import log_ways
from seedbank.science.quantities import BoolArray, Finding, FloatArray, IntArray, ProbitNodes, Value

_FAR = 37.0  # probits; the normal tail there is 1e-300, still a number


def count_probabilities(
    nodes: ProbitNodes, seeds: int, overdispersion: FloatArray | float = 0.0
) -> FloatArray:
    """P(k of ``seeds`` come up | node), shape (L, N, seeds + 1).

    ``overdispersion`` is the intra-class correlation rho of the whole test, scalar or (L,), in
    0 <= rho < 1: 0 is binomial, else beta-binomial with mean p and a + b = (1 - rho) / rho
    (Skellam 1948, JRSS B 10:257-261). Outside checks: scipy ``binom`` and ``betabinom``.
    Raises ValueError for a negative count or rho outside its range.
    """
    rho = np.broadcast_to(np.asarray(overdispersion, dtype=np.float64), nodes.probit.shape[:1])
    if seeds < 0:
        raise ValueError(f"seeds must be 0 or more, got {seeds}")
    if np.any(~((rho >= 0) & (rho < 1))):
        raise ValueError("overdispersion must lie in 0 <= rho < 1")
    probit = np.clip(nodes.probit, -_FAR, _FAR)
    count = np.arange(seeds + 1, dtype=np.float64)
    ways = log_ways(seeds, count)
    if not rho.any():
        up, down = log_ndtr(probit), log_ndtr(-probit)
        logs = (up - down)[..., None] * count
        logs += (seeds * down)[..., None] + ways
    else:
        up = _urn_logs(ndtr(probit), seeds, rho)
        down = _urn_logs(ndtr(-probit), seeds, rho)
        drawn = np.log((1 - rho)[:, None] + rho[:, None] * np.arange(seeds)).sum(axis=1)
        logs = up + down[..., ::-1] + ways - drawn[:, None, None]
    return np.asarray(np.exp(logs, out=logs), dtype=np.float64)


def _urn_logs(share: FloatArray, seeds: int, rho: FloatArray) -> FloatArray:
    """Log of prod_{j<k} (share (1 - rho) + j rho) for k = 0..seeds: the urn form of the count."""
    draws = (share * (1 - rho[:, None]))[..., None] + rho[:, None, None] * np.arange(seeds)
    logs = np.zeros((*share.shape, seeds + 1))
    np.cumsum(np.log(draws), axis=-1, out=logs[..., 1:])
    return logs


SIZES = (0, 5, 10, 15, 20, 25, 30, 40, 50, 100)
"""Test sizes looked at; our choice, all sown by the paper towel."""

KEEP_OR_RENEW = ("rely", "renew")
"""Codes of two actions, relying on a lot as it is or not; our choice."""

_CHUNK = 512  # lots worked at once, so that the tables stay in the processor's cache
_TIE = 1e-9  # losses closer than this share of the largest loss count as equal


@dataclass(frozen=True, slots=True)
class SeedBudget:
    """What testing costs each lot, arrays (L,) in the unit of the losses.

    The next seed costs ``seed_cost`` while the stock above ``reserve`` is whole, and more in
    proportion as it shrinks (our choice). Seeds below the reserve are never spent.
    """

    balance: FloatArray
    reserve: FloatArray
    seed_cost: FloatArray
    effort_per_test: FloatArray
    effort_per_seed: FloatArray

    def spare(self) -> FloatArray:
        """Whole seeds above the reserve, (L,). Our choice: the reserve is untouchable."""
        return np.maximum(np.floor(self.balance - self.reserve), 0.0)

    def cost(self, seeds: FloatArray) -> FloatArray:
        """Cost of testing each of ``seeds`` (S,), shape (L, S); infinite past the spare seeds.

        The integral of ``seed_cost * (spare + 1) / (spare + 1 - x)`` for x from 0 to the seeds
        used; our choice. Outside check: numerical integration.
        """
        stock = self.spare()[:, None] + 1.0
        left = stock - seeds
        with np.errstate(divide="ignore", invalid="ignore"):
            scarce = self.seed_cost[:, None] * stock * np.log(stock / left)
        effort = self.effort_per_test[:, None] + self.effort_per_seed[:, None] * seeds
        return np.where(left < 1, np.inf, scarce + np.where(seeds > 0, effort, 0.0))


@dataclass(frozen=True, slots=True)
class Screening:
    """Worth of knowing, arrays (L,): of the exact viability, of one test, and P(it changes).

    Outside checks: see ``plan_test``.
    """

    perfect_information: FloatArray
    test: FloatArray
    changes: FloatArray


@dataclass(frozen=True, slots=True)
class TestTable:
    """What each test size (S,) does for each lot; (L, S) unless said otherwise.

    ``expected_loss`` leaves out the ``cost`` (infinite where seeds are short); ``value`` is the
    loss the test saves; ``changes`` and ``right`` are the probabilities that the test changes the
    action and that the action then taken is the best at the true viability.
    Outside checks: see ``plan_test``.
    """

    __test__ = False  # a name for pytest to leave alone

    sizes: IntArray
    expected_loss: FloatArray
    cost: FloatArray
    value: FloatArray
    changes: FloatArray
    right: FloatArray
    perfect_information: FloatArray  # (L,)
    untested_action: IntArray  # (L,)
    recommended: IntArray  # (L,) index into sizes
    actions: tuple[str, ...]  # a code for each

    def seeds(self) -> IntArray:
        """Seeds to test, (L,); 0 means sow them all untested. Lowest expected loss plus cost."""
        return self.sizes[self.recommended]

    def reasons(self, lot: int) -> tuple[Finding, ...]:
        """Why that many seeds for one lot; the choice of what to say is ours."""
        perfect = float(self.perfect_information[lot])
        now: dict[str, Value] = {
            "action": self.actions[int(self.untested_action[lot])],
            "right_now": float(self.right[lot, 0]),
        }
        if at := int(self.recommended[lot]):
            worth = {**self._worth(lot, at), "changes": float(self.changes[lot, at])}
            after = float(self.right[lot, at])
            return Finding("worth-testing", worth), Finding("surer", {**now, "right_after": after})
        possible = np.flatnonzero(np.isfinite(self.cost[lot]) & (self.sizes > 0))
        if perfect <= _TIE * max(1.0, abs(float(self.expected_loss[lot, 0]))):
            why = Finding("nothing-to-learn", {"perfect_information": perfect})
        elif possible.size == 0:
            why = Finding("no-seed-to-spare", {"perfect_information": perfect})
        else:
            near = int(possible[np.argmin((self.cost - self.value)[lot, possible])])
            why = Finding("not-worth-its-seed", self._worth(lot, near))
        return why, Finding("sure-enough", now)

    def _worth(self, lot: int, at: int) -> dict[str, Value]:
        value, cost = float(self.value[lot, at]), float(self.cost[lot, at])
        return {"seeds": float(self.sizes[at]), "value": value, "cost": cost}


def plan_test(
    nodes: ProbitNodes,
    losses: FloatArray,
    budget: SeedBudget,
    sizes: Sequence[int] = SIZES,
    overdispersion: FloatArray | float = 0.0,
    actions: tuple[str, ...] = KEEP_OR_RENEW,
) -> TestTable:
    """Weigh every test size: expected loss after the test plus the cost of the seeds.

    ``losses`` has shape (L, A, N): loss of each action at each viability node. Sizes are made
    ascending and always include 0; ties go to fewer seeds. ``actions`` are codes of the A
    actions, for the reasons. Outside checks: the beta-binomial closed form for a beta prior,
    brute-force Bayes in mpmath, and value <= perfect information.
    Raises ValueError when shapes differ or a size is negative.
    """
    _check(nodes, losses)
    tested = np.array(sorted({0, *sizes}), dtype=np.int64)
    columns = [_weigh(nodes, losses, int(n), overdispersion) for n in tested]
    value, changes, right = (np.stack(column, axis=1) for column in zip(*columns, strict=True))
    untested, perfect, action = _untested(nodes, losses)
    cost = budget.cost(tested.astype(np.float64))
    net = cost - value
    allowed = net <= net.min(axis=1, keepdims=True) + _tie(losses)[:, None]
    return TestTable(
        tested, untested[:, None] - value, cost, value, changes, right,
        perfect, action, np.argmax(allowed, axis=1), actions,
    )  # fmt: skip


def screen_tests(
    nodes: ProbitNodes,
    losses: FloatArray,
    seeds: int = 20,
    overdispersion: FloatArray | float = 0.0,
) -> Screening:
    """Worth of perfect knowledge and of one test of ``seeds`` for many lots at once.

    Meant for a compressed node set (about 16 a lot, see ``equal_weight_nodes``). Outside checks
    as ``plan_test``. Raises ValueError when shapes differ.
    """
    _check(nodes, losses)
    value, changes, _ = _weigh(nodes, losses, seeds, overdispersion)
    return Screening(_untested(nodes, losses)[1], value, changes)


def equal_weight_nodes(probits: FloatArray) -> ProbitNodes:
    """Nodes of equal weight from mid-quantile probits (L, Q), at levels (i + 1/2) / Q.

    The midpoint rule on the quantile function; our choice for screening.
    """
    return ProbitNodes(probits, np.full(probits.shape, 1.0 / probits.shape[1]))


def _check(nodes: ProbitNodes, losses: FloatArray) -> None:
    lots, count = nodes.probit.shape
    if nodes.weight.shape != (lots, count):
        raise ValueError("probit and weight must have one shape (L, N)")
    if losses.ndim != 3 or losses.shape[0] != lots or losses.shape[2] != count:
        raise ValueError(f"losses must have shape (L, A, N) = ({lots}, A, {count})")


def _tie(losses: FloatArray) -> FloatArray:
    return np.asarray(_TIE * np.abs(losses).max(axis=(1, 2)), dtype=np.float64)


def _untested(nodes: ProbitNodes, losses: FloatArray) -> tuple[FloatArray, FloatArray, IntArray]:
    """Loss of acting now, value of perfect information, and the action taken now."""
    expected = (losses @ nodes.weight[..., None])[..., 0]
    action = np.argmin(expected, axis=1)
    lots = np.arange(action.size)
    regret = losses[lots, action] - losses.min(axis=1)
    return expected[lots, action], (regret * nodes.weight).sum(axis=1), action


def _weigh(
    nodes: ProbitNodes, losses: FloatArray, seeds: int, overdispersion: FloatArray | float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Value of a test, P(it changes the action), P(action right after it); each (L,)."""
    lots = nodes.probit.shape[0]
    rho = np.broadcast_to(np.asarray(overdispersion, dtype=np.float64), (lots,))
    value, changes, right = (np.empty(lots) for _ in range(3))
    for start in range(0, lots, _CHUNK):
        part = slice(start, start + _CHUNK)
        value[part], changes[part], right[part] = _weigh_part(
            ProbitNodes(nodes.probit[part], nodes.weight[part]), losses[part], seeds, rho[part]
        )
    return value, changes, right


def _weigh_part(
    nodes: ProbitNodes, losses: FloatArray, seeds: int, rho: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    counts = count_probabilities(nodes, seeds, rho)
    action = _untested(nodes, losses)[2]
    # Weighted by the chance of each count, so a sum over counts is already an expectation.
    after = (losses * nodes.weight[:, None, :]) @ counts
    chance = (nodes.weight[:, None, :] @ counts)[:, 0]
    stay = np.take_along_axis(after, action[:, None, None], axis=1)[:, 0]
    # Where the old action is as good, keep it: a tie is no change.
    saved = stay - after.min(axis=1)
    changed = saved > _tie(losses)[:, None] * chance
    chosen = np.where(changed, np.argmin(after, axis=1), action[:, None])
    best: BoolArray = losses <= losses.min(axis=1, keepdims=True) + _tie(losses)[:, None, None]
    right = (best * nodes.weight[:, None, :]) @ counts
    picked = np.take_along_axis(right, chosen[:, None, :], axis=1)[:, 0]
    changes = np.where(changed, chance, 0.0).sum(axis=1)
    return saved.sum(axis=1), changes, picked.sum(axis=1)
