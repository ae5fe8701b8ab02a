"""How good any plan could be: prices on the limits, and the bound they prove.

With a price on each limit every variety simply takes its cheapest column, and the sum, less what
the limits are worth, bounds every plan from below (Lagrangian relaxation: Geoffrion 1974,
Mathematical Programming Study 2, 82, from memory). Prices are found roughly by subgradient steps
over all columns, then exactly by linear programmes over the few columns that can matter, adding
columns of negative reduced cost until the bound over all of them meets the programme (column
generation: Gilmore & Gomory 1961, Operations Research 9, 849, from memory). The bound is always
the one over all columns, so it holds however the prices were found.

Outside check: the bound meets the optimum found by full enumeration and by OR-tools.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import coo_array, csr_array

from seedbank.science.plan.plan_columns import Columns
from seedbank.science.plan.plan_moves import guided
from seedbank.science.plan.time_budget import TimeBudget
from seedbank.science.quantities import FloatArray, IntArray

_STEPS = 160
_PATIENCE = 6  # steps without a better bound before the steps shrink
_FIRST_COLUMNS = 12  # columns a variety in the first linear programme
_MORE_COLUMNS = 8  # and added a variety and round
_ROUNDS = 25


@dataclass(frozen=True, slots=True)
class Bound:
    """``lower``: no plan costs less. ``reduced`` (N,): by how much choosing a column lifts that
    bound at least. ``share`` (N,): the linear programme's choice. ``best`` (V,): a plan found on
    the way. ``price`` (R,): what one more unit of each limit is worth, which proves the bound."""

    lower: float
    reduced: FloatArray
    share: FloatArray
    best: IntArray
    price: FloatArray


@dataclass(frozen=True, slots=True)
class _Priced:
    price: FloatArray
    lower: float
    value: FloatArray
    least: FloatArray


def restricted(columns: Columns, kept: IntArray) -> tuple[csr_array, csr_array]:
    """Limits' use (R, n) and "one column each" (V, n) over the columns ``kept`` (n,)."""
    options = columns.options.variety.size
    crops = columns.crops[kept]
    column, place = np.nonzero(crops < options)
    shape = (kept.size, options)
    holds = csr_array(
        coo_array((np.ones(column.size), (column, crops[column, place])), shape=shape)
    )
    each = (np.ones(kept.size), (columns.variety[kept], np.arange(kept.size)))
    one = coo_array(each, shape=(columns.start.size, kept.size))
    return csr_array((holds @ columns.rows.use).T), csr_array(one)


def find_bound(columns: Columns, cost: FloatArray, gap: float, budget: TimeBudget) -> Bound:
    """Lower bound on the cost of any plan, within about a tenth of ``gap`` of the best such."""
    best = guided(columns, cost, cost)
    priced, best = _ascend(columns, cost, best, budget)
    share = np.zeros(cost.size)
    kept = np.union1d(_cheapest(columns, priced.value, _FIRST_COLUMNS, np.inf), columns.start)
    kept = np.union1d(kept, best)
    for _ in range(_ROUNDS):
        use, one = restricted(columns, kept)
        limit_s = budget.left_s(0.05)
        if limit_s <= 0.0:
            break
        found = linprog(  # type: ignore[call-overload]  # its stubs know no sparse matrices
            cost[kept],
            A_ub=use,
            b_ub=columns.rows.capacity,
            A_eq=one,
            b_eq=np.ones(one.shape[0]),
            method="highs-ds",
            options={"time_limit": limit_s},
        )
        if found.status != 0:
            break
        share[:] = 0.0
        share[kept] = found.x
        now = _priced(columns, cost, np.maximum(-found.ineqlin.marginals, 0.0))
        priced = max(priced, now, key=lambda p: p.lower)
        if found.fun - priced.lower <= max(0.1 * gap * abs(found.fun), 1e-7):
            break
        reduced = now.value - found.eqlin.marginals[columns.variety]
        more = _cheapest(columns, reduced, _MORE_COLUMNS, -1e-9)
        if np.isin(more, kept).all():
            break
        kept = np.union1d(kept, more)
    reduced = priced.value - priced.least[columns.variety]
    return Bound(priced.lower, reduced, share, best, priced.price)


def bound_at(columns: Columns, cost: FloatArray, price: FloatArray) -> tuple[float, FloatArray]:
    """What prices (R,), none negative, prove: no plan costs less; and each variety's part (V,).

    Without a variety the bound falls by its part, the prices being what they are.
    """
    if not columns.start.size:
        return 0.0, np.zeros(0)
    priced = _priced(columns, cost, price)
    return priced.lower, priced.least


def _priced(columns: Columns, cost: FloatArray, price: FloatArray) -> _Priced:
    """The bound that one set of prices (R,) proves, and what every column costs at them."""
    crop = np.append(columns.rows.use @ price, 0.0)
    value = cost + crop[columns.crops[:, 0]]
    for k in range(1, columns.crops.shape[1]):
        value += crop[columns.crops[:, k]]
    least = np.minimum.reduceat(value, columns.start)
    return _Priced(price, float(least.sum() - price @ columns.rows.capacity), value, least)


def _ascend(
    columns: Columns, cost: FloatArray, best: IntArray, budget: TimeBudget
) -> tuple[_Priced, IntArray]:
    """Subgradient steps of Polyak's length, direction smoothed; plans are built on the way."""
    price = np.zeros(columns.rows.capacity.size)
    top = _priced(columns, cost, price)
    scale, idle, direction = 1.0, 0, None
    now = top
    for step in range(_STEPS):
        excess = _excess(columns, now)
        direction = excess if direction is None else 0.7 * direction + 0.3 * excess
        length = float(direction @ direction)
        upper = float(cost[best].sum())
        if length == 0.0 or upper - top.lower <= 1e-9 or budget.left_s(1.0) <= 0.0:
            break
        reach = scale * (upper - now.lower) / length
        now = _priced(columns, cost, np.maximum(now.price + reach * direction, 0.0))
        idle = 0 if now.lower > top.lower else idle + 1
        top = max(top, now, key=lambda p: p.lower)
        if idle >= _PATIENCE:
            scale, idle = 0.6 * scale, 0
        if step % 40 == 39:
            plan = guided(columns, cost, top.value)
            best = min(best, plan, key=lambda chosen: float(cost[chosen].sum()))
    return top, best


def _excess(columns: Columns, now: _Priced) -> FloatArray:
    """By how much (R,) the cheapest columns overdraw each limit."""
    hit = np.flatnonzero(now.value == now.least[columns.variety])
    _, first = np.unique(columns.variety[hit], return_index=True)
    options = columns.options.variety.size
    count = np.bincount(columns.crops[hit[first]].ravel(), minlength=options + 1)[:options]
    return np.asarray(count @ columns.rows.use - columns.rows.capacity, dtype=np.float64)


def _cheapest(columns: Columns, value: FloatArray, most: int, below: float) -> IntArray:
    """Up to ``most`` columns a variety with the least value, those under ``below`` only."""
    under = np.flatnonzero(value < below)
    order = under[np.lexsort((value[under], columns.variety[under]))]
    first = np.searchsorted(columns.variety[order], columns.variety[order])
    return np.sort(order[np.arange(order.size) - first < most])
