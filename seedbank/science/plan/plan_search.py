"""The best plan there is time for: prices on the limits, the bound they prove, and the search.

With a price on each limit every variety simply takes its cheapest column, and the sum, less what
the limits are worth, bounds every plan from below (Lagrangian relaxation: Geoffrion 1974,
Mathematical Programming Study 2, 82, from memory). Prices are found roughly by subgradient steps
over all columns, then exactly by linear programmes over the few columns that can matter, adding
columns of negative reduced cost until the bound over all of them meets the programme (column
generation: Gilmore & Gomory 1961, Operations Research 9, 849, from memory). The bound is always
the one over all columns, so it holds however the prices were found.

Outside check: the bound meets the optimum found by full enumeration and by OR-tools.

Plans built and bettered by hand: one variety at a time, with the room the others leave.

The crops of one column stand in different seasons and every limit belongs to one season, so a
column fits exactly when each of its crops fits by itself.

Outside check: plans built so keep every limit counted crop by crop and pair by pair.

Searched are small integer programmes first, then all that could be better.

The linear programme behind the bound leaves few varieties undecided. Columns whose reduced cost
exceeds what a better plan could gain are in no better plan (reduced-cost fixing: Dantzig, Fulkerson
& Johnson 1954, Operations Research 2, 393, from memory); columns of small reduced cost alone mostly
hold a plan within the gap. So the set widens step by step until the gap is proven.

Outside check: full enumeration of small gardens, OR-tools on larger ones.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from seedbank.science.plan.plan_columns import Columns
from seedbank.science.plan.plan_problem import TimeBudget
from seedbank.science.quantities import BoolArray, FloatArray, IntArray

_SLACK = 1e-9
_PASSES = 6


class Room:
    """What a choice of columns (V,) leaves of each limit; changes as varieties change column."""

    def __init__(self, columns: Columns, chosen: IntArray) -> None:
        self.columns = columns
        self.chosen = chosen.copy()
        use = columns.rows.use
        self._of = np.repeat(np.arange(use.shape[0]), np.diff(use.indptr))
        edges = np.arange(columns.start.size + 1)
        self._first = np.searchsorted(columns.options.variety, edges)
        self._after = np.append(columns.start[1:], columns.variety.size)
        self.left = columns.rows.capacity.copy()
        for column in chosen:
            self._take(int(column), 1.0)

    def enough(self) -> bool:
        """Whether the choice keeps every limit."""
        return bool(np.all(self.left >= -_SLACK))

    def put(self, variety: int, column: int) -> None:
        """Give a variety another column."""
        self._take(int(self.chosen[variety]), -1.0)
        self.chosen[variety] = column
        self._take(column, 1.0)

    def best(self, variety: int, cost: FloatArray) -> int:
        """The cheapest column (lowest number among equals) that fits beside the others'."""
        old = int(self.chosen[variety])
        self._take(old, -1.0)
        first, after = int(self.columns.start[variety]), int(self._after[variety])
        fits = self._fits(variety)[self.columns.crops[first:after]].all(axis=1)
        self._take(old, 1.0)
        return first + int(np.argmin(np.where(fits, cost[first:after], np.inf)))

    def _fits(self, variety: int) -> BoolArray:
        """Each crop option (A + 1,), the last "no crop"; only this variety's are looked at."""
        use = self.columns.rows.use
        first, after = int(self._first[variety]), int(self._first[variety + 1])
        at = slice(int(use.indptr[first]), int(use.indptr[after]))
        over = use.data[at] > self.left[use.indices[at]] + _SLACK
        fits = np.ones(use.shape[0] + 1, dtype=np.bool_)
        fits[self._of[at][over]] = False
        return fits

    def _take(self, column: int, sign: float) -> None:
        use = self.columns.rows.use
        for option in self.columns.crops[column]:
            if option < use.shape[0]:
                at = slice(int(use.indptr[option]), int(use.indptr[option + 1]))
                self.left[use.indices[at]] -= sign * use.data[at]


def bettered(columns: Columns, cost: FloatArray, chosen: IntArray) -> IntArray:
    """The choice (V,) after giving each variety the cheapest column that fits, until none gains."""
    room = Room(columns, chosen)
    for _ in range(_PASSES):
        moved = False
        for variety in range(chosen.size):
            column = room.best(variety, cost)
            if cost[column] < cost[room.chosen[variety]] - 1e-12:
                room.put(variety, column)
                moved = True
        if not moved:
            break
    return room.chosen


def guided(columns: Columns, cost: FloatArray, value: FloatArray) -> IntArray:
    """A choice (V,) by ``value`` (N,), such as costs with prices: who gains most goes first."""
    gain = value[columns.start] - np.minimum.reduceat(value, columns.start)
    room = Room(columns, columns.start)
    for variety in np.argsort(-gain, kind="stable"):
        room.put(int(variety), room.best(int(variety), value))
    return bettered(columns, cost, room.chosen)


def started_from(columns: Columns, cost: FloatArray, wanted: IntArray, order: IntArray) -> IntArray:
    """The choice ``wanted`` (V,) as far as it fits, varieties in ``order``, then bettered."""
    room = Room(columns, columns.start)
    only = np.full(cost.size, np.inf)
    only[columns.start] = 1.0
    only[wanted] = 0.0
    for variety in order:
        room.put(int(variety), room.best(int(variety), only))
    return bettered(columns, cost, room.chosen)


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


def restricted(
    columns: Columns, kept: IntArray
) -> "tuple[scipy.sparse.csr_array, scipy.sparse.csr_array]":
    """Limits' use (R, n) and "one column each" (V, n) over the columns ``kept`` (n,)."""
    options = columns.options.variety.size
    crops = columns.crops[kept]
    column, place = np.nonzero(crops < options)
    shape = (kept.size, options)
    holds = scipy.sparse.csr_array(
        scipy.sparse.coo_array((np.ones(column.size), (column, crops[column, place])), shape=shape)
    )
    each = (np.ones(kept.size), (columns.variety[kept], np.arange(kept.size)))
    one = scipy.sparse.coo_array(each, shape=(columns.start.size, kept.size))
    return scipy.sparse.csr_array((holds @ columns.rows.use).T), scipy.sparse.csr_array(one)


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
        found = scipy.optimize.linprog(  # type: ignore[call-overload]  # its stubs know no sparse matrices
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
    # Only when needed: it takes a while to load.

    result = scipy.optimize.milp(
        cost[kept],
        integrality=np.ones(kept.size, dtype=np.int64),
        bounds=scipy.optimize.Bounds(0.0, 1.0),
        constraints=[
            scipy.optimize.LinearConstraint(use, -np.inf, columns.rows.capacity),
            scipy.optimize.LinearConstraint(one, 1.0, 1.0),
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
