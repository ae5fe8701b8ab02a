"""When not everything fits: who is left exposed, and what would help most.

Every relief changes the question a little. The prices of the plan's limits prove at once how much
a changed question could save at most (``lower_bound`` holds at any prices), so only the most
promising are planned anew; what the rest could save at most is known.

Outside check: every gain against planning the changed garden to the end.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from seedbank.science.plan.plan import Plan, objective_cost, solve_plan
from seedbank.science.plan.plan_columns import build_columns
from seedbank.science.plan.plan_problem import PlanProblem, TimeBudget
from seedbank.science.plan.plan_search import bound_at
from seedbank.science.quantities import FloatArray

EXPOSED_LOSS = 0.1
"""Weighted chance of loss above which a variety counts as exposed: our choice."""

MORE_BED_M2 = 2.0
"""How much more bed is tried at a site: our choice."""

_NOTHING = 1e-6


class ReliefKind(StrEnum):
    """What may be done when not everything fits."""

    GEAR = "gear"
    BED = "bed"
    WORK = "work"
    HAND_OVER = "hand-over"
    HOME_ISOLATION = "home-isolation"
    STOP_FLOWERING = "stop-flowering"


@dataclass(frozen=True, slots=True)
class Exposed:
    """A variety the plan leaves at risk: chance of loss, and that times its weight."""

    variety: str
    loss: float
    weighted: float


@dataclass(frozen=True, slots=True)
class Relief:
    """One thing that would help.

    ``subject``: the gear, site, variety or stand it is about; ``amount`` more of it. ``gain``: fall
    of the objective when planned anew, None if that wasn't done; the true gain, between two best
    plans, lies in ``gain_low``..``gain_high``. Handing a variety over takes its own weighted loss
    off the objective too: ``own`` is that part, ``gain - own`` is what the others win.
    """

    kind: ReliefKind
    subject: str
    amount: float
    gain: float | None
    gain_low: float
    gain_high: float
    own: float = 0.0
    plan: Plan | None = None


@dataclass(frozen=True, slots=True)
class Reliefs:
    """What would help, the most helpful first; ``cut_short`` if time ran out before all was tried
    that should have been."""

    tried: tuple[Relief, ...]
    cut_short: bool


def exposed(problem: PlanProblem, plan: Plan, least: float = EXPOSED_LOSS) -> tuple[Exposed, ...]:
    """Varieties whose weighted chance of loss is above ``least``, or whose seed crop comes later
    than it is due, the worst first."""
    known = {variety.name: variety for variety in problem.varieties}
    ruled_out = {(pin.variety, pin.season) for pin in problem.pins if not pin.wanted}
    found = []
    for column in plan.columns:
        due = known[column.variety].due
        weighted = known[column.variety].weight * column.loss
        first = column.crops[0].season if column.crops else problem.horizon
        late = due is not None and first > due and (column.variety, due) not in ruled_out
        if weighted > least or late:
            found.append(Exposed(column.variety, column.loss, weighted))
    return tuple(sorted(found, key=lambda one: (-one.weighted, one.variety)))


def reliefs(
    problem: PlanProblem,
    plan: Plan,
    *,
    budget: TimeBudget,
    each_s: float,
    gap: float,
    of_each: int = 1,
) -> Reliefs:
    """What would help, the most helpful first; the best ``of_each`` of a kind are planned anew.

    ``plan`` must be the plan for ``problem`` made without a plan before. Tried: one more of each
    gear, ``MORE_BED_M2`` more at each site, work for one more crop, handing over each variety, home
    isolation for each exposed variety that has a lesser distance, stopping each stand from
    flowering. Reliefs that can't help are left out. All of it takes what is left of ``budget``,
    each plan ``each_s`` at most.
    """
    kept = tuple(pin for pin in problem.pins if pin not in plan.broken_pins)
    asked = replace(problem, pins=kept).in_order()
    promising, cut_short = _promising(asked, plan, budget)
    done, rest, count = [], [], Counter[ReliefKind]()
    for relief, changed in promising:
        count[relief.kind] += 1
        if count[relief.kind] > of_each:
            rest.append(relief)
            continue
        limit_s = budget.most_s(each_s)
        if limit_s <= 0.0:
            cut_short = True
            rest.append(relief)
            continue
        new = solve_plan(changed, time_limit_s=limit_s, gap=gap, clock=budget.clock)
        low, high = _between(plan, new)
        gain = plan.objective - new.objective
        bounded = replace(relief, gain_low=low, gain_high=min(high, relief.gain_high))
        done.append(replace(bounded, gain=gain, plan=new))
    done.sort(key=lambda r: (-(r.gain or 0.0), r.kind, r.subject))
    return Reliefs((*done, *rest), cut_short)


def _promising(
    problem: PlanProblem, plan: Plan, budget: TimeBudget
) -> tuple[list[tuple[Relief, PlanProblem]], bool]:
    """Reliefs that may help, by how much they could at most; and whether time ran out before all
    were looked at."""
    found = []
    cut_short = False
    for relief, changed, bound in _changes(problem, plan):
        most = plan.objective - bound
        if most > _NOTHING:
            found.append((replace(relief, gain_high=most), changed))
        if budget.left_s(1.0) <= 0.0:
            cut_short = True
            break
    found.sort(key=lambda one: (-one[0].gain_high, one[0].kind, one[0].subject))
    return found, cut_short


def _between(plan: Plan, other: Plan) -> tuple[float, float]:
    """Least and most by which the best plan of the other question is better."""
    low = max(plan.bound - other.objective, 0.0)
    return low, max(plan.objective - other.bound, low)


def _changes(problem: PlanProblem, plan: Plan) -> Iterator[tuple[Relief, PlanProblem, float]]:
    """Each relief, the question it makes, and the bound on that question's plans."""
    for relief, changed in (
        *_more_room(problem),
        *_home_isolation(problem, exposed(problem, plan)),
        *_stopped_stands(problem),
    ):
        yield relief, changed, _bound(changed.in_order(), plan)[0]
    whole, parts = _bound(problem, plan)
    weighted = {one.variety: one.weighted for one in exposed(problem, plan, -1.0)}
    for variety, part in zip(problem.varieties, parts.tolist(), strict=True):
        own = weighted[variety.name]
        relief = replace(_untried(ReliefKind.HAND_OVER, variety.name), own=own)
        yield relief, _without(problem, variety.name), whole - part


def _bound(ordered: PlanProblem, plan: Plan) -> tuple[float, FloatArray]:
    prices = dict(plan.prices)
    columns = build_columns(ordered)
    price = np.array([prices.get(limit, 0.0) for limit in columns.rows.limits])
    return bound_at(columns, objective_cost(columns, 0.0), price)


def _more_room(problem: PlanProblem) -> Iterator[tuple[Relief, PlanProblem]]:
    limits = problem.limits
    for kind, _ in limits.gear:
        gear = tuple((k, n + 1.0 if k == kind else n) for k, n in limits.gear)
        yield _untried(ReliefKind.GEAR, kind), replace(problem, limits=replace(limits, gear=gear))
    for site in problem.sites:
        larger = replace(site, bed_m2=site.bed_m2 + MORE_BED_M2)
        sites = tuple(larger if s.name == site.name else s for s in problem.sites)
        yield _untried(ReliefKind.BED, site.name, MORE_BED_M2), replace(problem, sites=sites)
    more = replace(limits, work=limits.work + 1.0)
    yield _untried(ReliefKind.WORK, ""), replace(problem, limits=more)


def _home_isolation(
    problem: PlanProblem, at_risk: Sequence[Exposed]
) -> Iterator[tuple[Relief, PlanProblem]]:
    names = {one.variety for one in at_risk}
    for variety in problem.varieties:
        home = variety.home_distance_m
        if variety.name in names and home is not None and home < variety.distance_m:
            nearer = replace(variety, distance_m=home)
            varieties = tuple(nearer if v is variety else v for v in problem.varieties)
            changed = replace(problem, varieties=varieties)
            yield _untried(ReliefKind.HOME_ISOLATION, variety.name), changed


def _stopped_stands(problem: PlanProblem) -> Iterator[tuple[Relief, PlanProblem]]:
    for name in sorted({stand.name for stand in problem.stands}):
        stands = tuple(stand for stand in problem.stands if stand.name != name)
        yield _untried(ReliefKind.STOP_FLOWERING, name), replace(problem, stands=stands)


def _without(problem: PlanProblem, name: str) -> PlanProblem:
    """The problem without one variety; what stands of it stands no longer."""
    return replace(
        problem,
        varieties=tuple(v for v in problem.varieties if v.name != name),
        pins=tuple(pin for pin in problem.pins if pin.variety != name),
        standing=tuple(crop for crop in problem.standing if crop.variety != name),
    )


def _untried(kind: ReliefKind, subject: str, amount: float = 1.0) -> Relief:
    return Relief(kind, subject, amount, None, 0.0, np.inf)
