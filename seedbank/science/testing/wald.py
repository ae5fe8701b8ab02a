"""Design of a truncated sequential probability ratio test whose error rates are truly met."""

from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import IntArray
from seedbank.science.testing.sequential import SequentialPlan, exact_operating_curve

# Wald's lines assume single seeds and no end; groups overshoot and the end cuts off, so the lines
# are moved by these factors. None leaves a line out: all seeds are tested before that answer.
_WIDTHS: tuple[float | None, ...] = (0.4, 0.6, 0.75, 0.9, 1.0, 1.2, 1.5, 2.0, None)


@dataclass(frozen=True, slots=True)
class WaldPlan:
    """A plan, the error rates asked for, those exactly reached, and the seeds it uses.

    ``regenerate_good`` is P(regenerate) at ``p_high``; ``keep_bad`` is P(keep) at ``p_low``.
    ``met`` is False when ``max_seeds`` were too few: then the plan is the nearest one found.
    Outside checks: see ``wald_plan``.
    """

    plan: SequentialPlan
    p_low: float
    p_high: float
    alpha: float
    beta: float
    regenerate_good: float
    keep_bad: float
    mean_seeds_good: float
    mean_seeds_bad: float

    @property
    def met(self) -> bool:
        """Whether both exact error rates are within what was asked (computed, not nominal)."""
        return self.regenerate_good <= self.alpha and self.keep_bad <= self.beta


def wald_plan(
    p_low: float, p_high: float, alpha: float, beta: float, group: int, max_seeds: int
) -> WaldPlan:
    """Sequential plan telling viability ``p_low`` (regenerate) from ``p_high`` (keep).

    At most ``alpha`` of lots truly at ``p_high`` are regenerated and ``beta`` of lots at ``p_low``
    kept, in groups of ``group`` seeds, ending at ``max_seeds`` (rounded down to whole groups).
    The lines are Wald's (1947, Sequential Analysis, ch. 5); they and the final cut are then
    searched so that the exact rates hold with the fewest mean seeds at the worse of the two
    standards. Outside checks: exact curve of the result, the fixed-size test by scipy's binomial,
    Wald's slope and mean-sample formula. Raises ValueError for rates or standards out of order.
    """
    _require(0 < p_low < p_high < 1, f"need 0 < p_low < p_high < 1, got {p_low}, {p_high}")
    _require(0 < alpha < 0.5 and 0 < beta < 0.5, f"need 0 < alpha, beta < 0.5: {alpha}, {beta}")
    _require(1 <= group <= max_seeds, f"need 1 <= group <= max_seeds, got {group}, {max_seeds}")
    tested = np.arange(group, max_seeds + 1, group, dtype=np.int64)
    best: WaldPlan | None = None
    for lower in _WIDTHS:
        for upper in _WIDTHS:
            lines = _lines(tested, (p_low, p_high), (alpha, beta), lower, upper)
            found = _best_cut(tested, lines, (p_low, p_high), (alpha, beta))
            if best is None or _rank(found) < _rank(best):
                best = found
    assert best is not None
    return best


def wald_slope(p_low: float, p_high: float) -> float:
    """Slope of both Wald lines: the germinated fraction along which the test stays undecided.

    Wald 1947, ch. 5. Outside check: 0.8764 for 0.85 against 0.90.
    """
    per_dead = np.log((1 - p_low) / (1 - p_high))
    return float(per_dead / (np.log(p_high / p_low) + per_dead))


def _lines(
    tested: IntArray,
    standards: tuple[float, float],
    rates: tuple[float, float],
    lower: float | None,
    upper: float | None,
) -> tuple[IntArray, IntArray]:
    """Staircases under Wald's lines, moved out by the factors; -1 and n + 1 where they are off."""
    (p_low, p_high), (alpha, beta) = standards, rates
    per_seed = np.log(p_high / p_low) + np.log((1 - p_low) / (1 - p_high))
    middle = wald_slope(p_low, p_high) * tested
    low, high = np.full(tested.size, -1.0), tested + 1.0
    if lower is not None:
        low = np.floor(middle - lower * np.log((1 - beta) / alpha) / per_seed)
    if upper is not None:
        high = np.ceil(middle + upper * np.log((1 - alpha) / beta) / per_seed)
    low = np.clip(low, -1, tested - 1).astype(np.int64)
    return low, np.clip(high, low + 1, tested + 1).astype(np.int64)


def _best_cut(
    tested: IntArray,
    lines: tuple[IntArray, IntArray],
    standards: tuple[float, float],
    rates: tuple[float, float],
) -> WaldPlan:
    """The plan within these lines whose final cut meets both rates, or comes nearest.

    Raising the cut trades keeping bad lots for regenerating good ones: start at the highest cut
    that holds ``alpha``, and climb only while ``beta`` is still missed by more than ``alpha``.
    """
    cut, ceiling = -1, int(tested[-1])
    while cut < ceiling:  # bisection: P(regenerate good) rises with the cut
        middle = (cut + ceiling + 1) // 2
        curve = exact_operating_curve(_curtailed(tested, lines, middle), np.array([standards[1]]))
        if curve.regenerate[0] <= rates[0]:
            cut = middle
        else:
            ceiling = middle - 1
    best = _measured(_curtailed(tested, lines, cut), standards, rates)
    while not best.met and cut < tested[-1]:
        cut += 1
        higher = _measured(_curtailed(tested, lines, cut), standards, rates)
        if _rank(higher) >= _rank(best):
            break
        best = higher
    return best


def _curtailed(tested: IntArray, lines: tuple[IntArray, IntArray], cut: int) -> SequentialPlan:
    """The plan with its last group deciding at ``cut``, stopping once the outcome is certain."""
    low = np.maximum(np.minimum(lines[0], cut), cut - (tested[-1] - tested))
    low = np.clip(low, -1, tested)
    high = np.clip(np.minimum(lines[1], cut + 1), low + 1, tested + 1)
    stages = int(np.argmax(high == low + 1)) + 1  # the first group that leaves nothing undecided
    return SequentialPlan(tested[:stages], low[:stages], high[:stages])


def _measured(
    plan: SequentialPlan, standards: tuple[float, float], rates: tuple[float, float]
) -> WaldPlan:
    curve = exact_operating_curve(plan, np.array(standards))
    bad_seeds, good_seeds = curve.mean_seeds.tolist()
    return WaldPlan(
        plan, *standards, *rates,
        float(curve.regenerate[1]), float(curve.keep[0]), good_seeds, bad_seeds,
    )  # fmt: skip


def _rank(found: WaldPlan) -> tuple[float, float]:
    """Order of choice: rates met first, then the nearest miss, then fewest seeds."""
    miss = max(found.regenerate_good / found.alpha, found.keep_bad / found.beta)
    return (0.0 if found.met else miss, max(found.mean_seeds_good, found.mean_seeds_bad))


def _require(holds: bool, message: str) -> None:
    if not holds:
        raise ValueError(message)
