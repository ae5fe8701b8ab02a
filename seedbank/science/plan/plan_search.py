"""The best plan there is time for: small integer programmes first, then all that could be better.

The linear programme behind the bound leaves few varieties undecided. Columns whose reduced cost
exceeds what a better plan could gain are in no better plan (reduced-cost fixing: Dantzig, Fulkerson
& Johnson 1954, Operations Research 2, 393, from memory); columns of small reduced cost alone mostly
hold a plan within the gap. So the set widens step by step until the gap is proven.

Outside check: full enumeration of small gardens, OR-tools on larger ones.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from seedbank.science.plan.plan_columns import Columns
from seedbank.science.plan.plan_moves import bettered, guided
from seedbank.science.plan.plan_prices import Bound, find_bound, restricted
from seedbank.science.plan.time_budget import TimeBudget
from seedbank.science.quantities import FloatArray, IntArray

_WIDTHS = (0.05, 0.2, 0.6)  # reduced costs let in, in parts of the gap asked for
_FINE = 1e-3  # the gap those parts are of when less is asked for


@dataclass(frozen=True, slots=True)
class Found:
    """Columns chosen (V,), their cost, the bound on any plan, and the prices of limits (R,)."""

    chosen: IntArray
    cost: float
    lower: float
    price: FloatArray

    @property
    def gap(self) -> float:
        """Share of the cost that a better plan could save at most."""
        spare = self.cost - self.lower
        return 0.0 if spare <= 1e-9 else spare / self.cost


@dataclass(frozen=True, slots=True)
class _Question:
    """What is searched, and the bound on any answer to it."""

    columns: Columns
    cost: FloatArray
    gap: float
    budget: TimeBudget
    bound: Bound


def search(
    columns: Columns,
    cost: FloatArray,
    gap: float,
    budget: TimeBudget,
    first: IntArray | None = None,
) -> Found:
    """The cheapest choice of a column each, to within ``gap`` unless time runs out.

    ``first`` (V,), a plan that fits, is kept when nothing can be shown to be better by more than
    the gap.
    """
    if not columns.start.size:
        return Found(columns.start, 0.0, 0.0, np.zeros(columns.rows.capacity.size))
    bound = find_bound(columns, cost, gap, budget)
    question = _Question(columns, cost, gap, budget, bound)
    found = _found(cost, bound, bound.best)
    if first is not None:
        held = _found(cost, bound, first)
        if held.gap <= gap or held.cost <= found.cost:
            found = held
    if found.gap > gap:
        value = bound.reduced - found.cost * bound.share  # the linear programme rounded
        found = _better(found, _found(cost, bound, guided(columns, cost, value)))
    for width in _WIDTHS:
        if found.gap <= gap:
            return found
        within = width * max(gap, _FINE) * found.cost
        found = _solve_within(question, found, within, whole=False)
    if found.gap > gap:
        spare = found.cost - bound.lower
        found = _solve_within(question, found, spare, whole=True)
    return found


def _found(cost: FloatArray, bound: Bound, chosen: IntArray) -> Found:
    return Found(chosen, float(cost[chosen].sum()), bound.lower, bound.price)


def _better(one: Found, other: Found) -> Found:
    cheaper = one if one.cost <= other.cost else other
    return Found(cheaper.chosen, cheaper.cost, max(one.lower, other.lower), one.price)


def _solve_within(question: _Question, found: Found, within: float, *, whole: bool) -> Found:
    """An integer programme over columns of reduced cost up to ``within``.

    ``whole``: no better plan holds another column, so its bound is a bound on every plan.
    """
    columns, cost, bound = question.columns, question.cost, question.bound
    limit_s = question.budget.left_s(0.5 if whole else 0.1)
    if limit_s <= 0.0:
        return found
    in_play = (bound.reduced <= within) | (bound.share > 1e-7)
    in_play[found.chosen] = True
    kept = np.flatnonzero(in_play)
    use, one = restricted(columns, kept)
    result = milp(
        cost[kept],
        integrality=np.ones(kept.size, dtype=np.int64),
        bounds=Bounds(0.0, 1.0),
        constraints=[
            LinearConstraint(use, -np.inf, columns.rows.capacity),
            LinearConstraint(one, 1.0, 1.0),
        ],
        options={"time_limit": limit_s, "mip_rel_gap": question.gap * (1.0 if whole else 0.5)},
    )
    lower = found.lower
    if whole and result.mip_dual_bound is not None:
        # Plans with another column cost more than the one found, so the lesser bound holds.
        lower = max(lower, min(float(result.mip_dual_bound), found.cost))
    if result.x is None:
        return Found(found.chosen, found.cost, lower, found.price)
    ticked = kept[result.x > 0.5]
    chosen = bettered(columns, cost, ticked)
    return _better(found, Found(chosen, float(cost[chosen].sum()), lower, found.price))
