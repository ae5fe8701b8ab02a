"""The saving plan: each variety's seed crops over the years, so that least is likely to be lost.

Chosen is one column a variety (``plan_columns``) so that the sum of weight x chance of loss is
least under every limit: a set-packing integer programme, solved with scipy's HiGHS to a proven gap
(``plan_search``). The same question gives the same plan, in whatever order it is put, as long as
the time limit doesn't cut the search short. Outside checks: full enumeration of small gardens, and
OR-tools on larger ones.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from seedbank.science.plan.plan_columns import Choices, Column, Columns, build_columns
from seedbank.science.plan.plan_options import matches
from seedbank.science.plan.plan_problem import Crop, Pin, PlanProblem, TimeBudget
from seedbank.science.plan.plan_rows import Limit
from seedbank.science.plan.plan_search import Found, search, started_from
from seedbank.science.quantities import FloatArray, IntArray

CHANGE_PENALTY = 0.01
"""Weighted chance of loss that changing one crop of the plan before must save: our choice."""

_TIE = 1e-9  # what one crop costs by itself, so that of equal plans the smaller and sooner wins


class PlanStatus(StrEnum):
    """How the search for the plan ended."""

    PROVEN = "proven"
    TIME_RAN_OUT = "time-ran-out"


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan and what is proven of it.

    ``columns``: one a variety, sorted by name. ``objective``: sum of weight x chance of loss.
    ``cost``: the objective and what changes against the plan before were charged. No plan costs
    less than ``bound``; ``gap`` is the share of the cost a better plan could save at most.
    ``changes``: crops added or dropped against the plan before. ``broken_pins``: wanted choices
    that can't all be kept. ``prices``: weighted chance of loss that one more unit of a limit would
    save at the margin, where it would save any.
    """

    columns: tuple[Column, ...]
    objective: float
    cost: float
    bound: float
    gap: float
    status: PlanStatus
    changes: int
    broken_pins: tuple[Pin, ...]
    prices: tuple[tuple[Limit, float], ...]
    curtailed: tuple[str, ...]

    def choices(self) -> dict[str, tuple[Crop, ...]]:
        """Crops by variety, as ``solve_plan`` takes a plan before."""
        return {column.variety: column.crops for column in self.columns}

    def sown_in(self, season: int) -> tuple[tuple[str, Crop], ...]:
        """Variety and crop of everything sown in one season."""
        return tuple(
            (c.variety, crop) for c in self.columns for crop in c.crops if crop.season == season
        )


def solve_plan(
    problem: PlanProblem,
    *,
    time_limit_s: float,
    gap: float,
    previous: Choices | None = None,
    change_penalty: float = CHANGE_PENALTY,
    clock: Callable[[], float] | None = None,
) -> Plan:
    """The plan for ``problem``, within ``gap`` (share of its cost) of the best or out of time.

    ``previous``: the plan before, in this problem's seasons; each crop added or dropped against it
    costs ``change_penalty``, but of varieties now due, so as little is changed as pays. ``clock``
    gives seconds, such as ``time.monotonic``; without one each step gets a share of the limit.
    Wanted pins are kept as many as can be. Raises ValueError for a problem that contradicts itself
    (``in_order``).
    """
    if not gap >= 0.0:
        raise ValueError(f"a gap must not be negative, got {gap!r}")
    budget = TimeBudget(time_limit_s, clock)
    ordered = problem.in_order()
    plan = _solve(ordered, gap, budget, previous, change_penalty)
    if not plan.broken_pins:
        return plan
    # A broken pin's cost would hide the gap of the rest: solve again for what can be kept.
    keepable = tuple(pin for pin in ordered.pins if pin not in plan.broken_pins)
    kept = _solve(replace(ordered, pins=keepable), gap, budget, previous, change_penalty)
    return replace(kept, broken_pins=plan.broken_pins + kept.broken_pins)


def objective_cost(columns: Columns, change_penalty: float) -> FloatArray:
    """What each column (N,) costs: weighted loss, changes, and far more for a wanted pin broken."""
    weight = np.array([variety.weight for variety in columns.problem.varieties])
    broken = (
        1.0
        + float(weight.sum())
        + change_penalty * float(columns.changed.max(initial=0)) * weight.size
    )
    return np.asarray(
        weight[columns.variety] * columns.loss
        + change_penalty * charged(columns)
        + broken * columns.unmet
        + _tie_breaks(columns)
    )


def charged(columns: Columns) -> IntArray:
    """Changes (N,) that are charged: none of varieties whose seed crop is due this season."""
    free = np.array([variety.due == 0 for variety in columns.problem.varieties], dtype=np.bool_)
    return np.where(free[columns.variety], 0, columns.changed)


def _tie_breaks(columns: Columns) -> FloatArray:
    """At most 4 x ``_TIE`` a column: fewer crops first, then sooner, then by site and way."""
    options = columns.options
    rank = np.arange(options.variety.size) / max(options.variety.size, 1)
    sooner = options.season / max(columns.problem.horizon, 1)
    each = np.append(_TIE * (1.0 + 0.3 * sooner + 0.03 * rank), 0.0)
    return np.asarray(each[columns.crops].sum(axis=1))


def _solve(
    problem: PlanProblem,
    gap: float,
    budget: TimeBudget,
    previous: Choices | None,
    change_penalty: float,
) -> Plan:
    columns = build_columns(problem, previous)
    cost = objective_cost(columns, change_penalty)
    first = None
    if previous is not None and columns.start.size:
        first = _kept(columns, cost, previous)
    found = search(columns, cost, gap, budget, first)
    return _as_plan(columns, found, gap, change_penalty)


def _kept(columns: Columns, cost: FloatArray, previous: Choices) -> IntArray:
    """The plan before, as far as it still fits; varieties it did not know come last."""
    after = np.append(columns.start[1:], columns.variety.size)
    wanted = np.array(
        [
            first + int(np.lexsort((cost[first:last], columns.changed[first:last]))[0])
            for first, last in zip(columns.start.tolist(), after.tolist(), strict=True)
        ]
    )
    new = np.array([v.name not in previous for v in columns.problem.varieties])
    return started_from(columns, cost, wanted, np.argsort(new, kind="stable"))


def _as_plan(columns: Columns, found: Found, gap: float, change_penalty: float) -> Plan:
    chosen = found.chosen
    weight = np.array([variety.weight for variety in columns.problem.varieties])
    objective = float(weight @ columns.loss[chosen])
    changes = int(columns.changed[chosen].sum())
    broken = _broken(columns, chosen)
    slack = 4.0 * _TIE * chosen.size  # the tie breaks, taken out of the bound again
    cost = objective + change_penalty * float(charged(columns)[chosen].sum())
    lower = max(min(found.lower - slack, cost), 0.0) if not broken else 0.0
    spare = cost - lower
    reached = 0.0 if spare <= 1e-6 else spare / cost
    return Plan(
        tuple(columns.column(int(number)) for number in chosen),
        objective,
        cost,
        lower,
        reached,
        PlanStatus.PROVEN if reached <= gap + 1e-6 else PlanStatus.TIME_RAN_OUT,
        changes,
        broken,
        tuple(
            (limit, float(price))
            for limit, price in zip(columns.rows.limits, found.price, strict=True)
            if price > 1e-9
        ),
        tuple(
            variety.name
            for variety, may in zip(columns.problem.varieties, columns.crops_may, strict=True)
            if may < variety.most_crops
        ),
    )


def _broken(columns: Columns, chosen: IntArray) -> tuple[Pin, ...]:
    crops = {column.variety: column.crops for column in (columns.column(int(n)) for n in chosen)}
    return tuple(
        pin
        for pin in columns.problem.pins
        if pin.wanted and not any(matches(pin, crop) for crop in crops[pin.variety])
    )
