"""Where not everything fits: who is left exposed, what would help most, and what pins cost."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from seedbank.common.answers import FindingAnswer, VarietyBrief
from seedbank.plan.answers import ExposedAnswer, PinAnswer, ReliefAnswer
from seedbank.plan.calendar import OwnPin
from seedbank.plan.crops import loss_of, variety_brief
from seedbank.plan.inputs import PlanInputs, without_pin
from seedbank.plan.stock import StockedVariety
from seedbank.saving.gather_flowering import group_of
from seedbank.science.plan.plan import Plan, solve_plan
from seedbank.science.plan.plan_problem import TimeBudget
from seedbank.science.plan.plan_relief import Exposed, Relief, ReliefKind, Reliefs, exposed, reliefs
from seedbank.science.quantities import Finding, Value
from seedbank.verdicts.list_verdicts import chance_told
from seedbank.viability.tables.stock_columns import KEEPERS

Clock = Callable[[], float] | None

# Our choices.
HELP_GAP = 0.005  # of the plans made anew to see what would help
_EACH_SHARE = 0.2  # of the time for all of them that one may take
_LEAST_S = 0.5
_OF_EACH = 2  # reliefs of a kind planned anew
_HELP_SHARE = 0.2  # of its chance of loss that must go before a relief is said to help a variety
_LEAST_SAVED = 0.01  # weighted chance of loss under which a relief isn't worth a word
_WEAK_UNDER = (0.99, 0.95, 0.80)  # chance this season, by Keepers: our choice
_ALL_BUT_DEAD = 0.05  # chance this season, under which nothing here would help

# The cheapest first, for a gardener: our order.
_CHEAPEST = (
    ReliefKind.STOP_FLOWERING,
    ReliefKind.HOME_ISOLATION,
    ReliefKind.BED,
    ReliefKind.WORK,
    ReliefKind.GEAR,
    ReliefKind.HAND_OVER,
)


@dataclass(frozen=True, slots=True)
class HelpTime:
    """Time for all the plans made anew to see what would help, and for each of them."""

    budget: TimeBudget
    each_s: float


def help_time(time_limit_s: float, clock: Clock) -> HelpTime:
    """As long again as the plan may take, from now."""
    return HelpTime(TimeBudget(time_limit_s, clock), max(time_limit_s * _EACH_SHARE, _LEAST_S))


def try_reliefs(inputs: PlanInputs, plan: Plan, time: HelpTime) -> Reliefs:
    """What would help; ``plan`` made without a plan before."""
    return reliefs(
        inputs.problem,
        plan,
        budget=time.budget,
        each_s=time.each_s,
        gap=HELP_GAP,
        of_each=_OF_EACH,
    )


def answer_reliefs(inputs: PlanInputs, plan: Plan, tried: Sequence[Relief]) -> list[ReliefAnswer]:
    """The reliefs that would help others than the variety given away, the most helpful first."""
    useful = [
        relief
        for relief in tried
        if relief.gain is not None
        and relief.gain - relief.own >= _LEAST_SAVED
        and relief.gain_low > relief.own  # proven, not only a luckier search
    ]
    found = [
        ReliefAnswer.of(
            Finding("relief", _found(inputs, relief)),
            kind=relief.kind,
            saves=round((relief.gain or 0.0) - relief.own, 4),
            helps=_helped(inputs, plan, relief),
        )
        for relief in useful
    ]
    return sorted(found, key=lambda one: (-one.saves, one.text))


def answer_exposed(
    inputs: PlanInputs, plan: Plan, tried: Sequence[Relief], *, cut_short: bool
) -> list[ExposedAnswer]:
    """Varieties whose weighted chance of loss is over a tenth, the worst first.

    ``cut_short``: not all was tried, so that nothing is said to be of no help.
    """
    return [
        _exposed(inputs, plan, risk, tried, cut_short) for risk in exposed(inputs.problem, plan)
    ]


def answer_pins(inputs: PlanInputs, plan: Plan, free: Plan, time: HelpTime) -> list[PinAnswer]:
    """The gardener's pins; each one kept is planned anew without it to see its cost."""
    briefs = {one.variety_id: variety_brief(one) for one in inputs.stock.varieties}
    out = {one.variety_id: one for one in inputs.stock.left_out}
    found = []
    for own in inputs.settled.own:
        number = own.row.variety_id
        left = out.get(number)
        if number not in briefs and left is None:
            continue
        brief = briefs.get(number) or VarietyBrief(
            id=number, name=left.name if left else "", kind=left.kind if left else ""
        )
        holds = own.pin is not None and own.pin not in plan.broken_pins
        cost = _cost(inputs, own, free, time) if holds else None
        found.append(
            PinAnswer.of(
                _pin_found(own, holds, cost),
                id=own.row.id,
                variety=brief,
                year=own.row.year,
                wanted=own.row.wanted,
                kept=holds,
                cost=cost,
            )
        )
    return found


def _cost(inputs: PlanInputs, own: OwnPin, free: Plan, time: HelpTime) -> float | None:
    """What the pin adds, 0 where the two plans' gaps leave it open whether it adds anything.

    None: there was no time left to see.
    """
    assert own.row.id is not None
    limit_s = time.budget.most_s(time.each_s)
    if limit_s <= 0.0:
        return None
    without = solve_plan(
        without_pin(inputs, own.row.id),
        time_limit_s=limit_s,
        gap=HELP_GAP,
        clock=time.budget.clock,
    )
    proven = free.bound > without.objective
    return round(free.objective - without.objective, 4) if proven else 0.0


def _pin_found(own: OwnPin, holds: bool, cost: float | None) -> Finding:
    if own.remark is not None:
        return Finding("pin-left-out", {"why": own.remark})
    if not holds:
        return Finding("pin-not-kept")
    if cost is None:
        return Finding("pin-cost-unseen")
    return Finding("pin-costs", {"cost": cost}) if cost else Finding("pin-costs-little")


def _exposed(
    inputs: PlanInputs, plan: Plan, risk: Exposed, tried: Sequence[Relief], cut_short: bool
) -> ExposedAnswer:
    key, loss = risk.variety, risk.loss
    one = inputs.varieties[key]
    without = loss_of(inputs.problem, key, ())
    best = _cheapest_for(key, loss, tried)
    after = None if best is None else _loss_in(best, key)
    help_found = None
    if best is not None and after is not None:
        lowered = {**_found(inputs, best), "loss": loss, "loss_after": after}
        help_found = Finding("relief-lowers", lowered)
    elif not cut_short and not _may_help_yet(tried, risk.weighted):
        help_found = Finding("no-relief")
    return ExposedAnswer.of(
        _why_exposed(inputs, plan, key),
        variety=variety_brief(one),
        other_keepers=KEEPERS[one.keepers],
        chance_of_loss=round(loss, 4),
        chance_of_loss_without=round(loss if without is None else without, 4),
        relief=None if help_found is None else FindingAnswer.of(help_found),
        chance_of_loss_with_relief=None if after is None else round(after, 4),
    )


def _may_help_yet(tried: Sequence[Relief], weighted: float) -> bool:
    """Whether something at home that wasn't planned anew might yet take a clear share off."""
    return any(
        relief.gain is None
        and relief.kind is not ReliefKind.HAND_OVER
        and relief.gain_high >= _HELP_SHARE * weighted
        for relief in tried
    )


def _why_exposed(inputs: PlanInputs, plan: Plan, key: str) -> Finding:
    one, crops = inputs.varieties[key], plan.choices()[key]
    now = chance_told(inputs.stock.judged.verdicts.inputs.p_parents_now[one.lot])
    if now < _ALL_BUT_DEAD:
        return Finding("exposed-all-but-dead")
    if not crops or crops[0].season > 0:
        first = inputs.year + crops[0].season if crops else math.inf
        return Finding("exposed-late", {"year": first, "why": _what_hinders(inputs, plan, key)})
    if now < _WEAK_UNDER[one.keepers]:
        return Finding("exposed-weak", {"parents": one.parents, "chance": now})
    return Finding("exposed-may-fail")


def _what_hinders(inputs: PlanInputs, plan: Plan, key: str) -> Finding:
    """Those of its species that the plan grows sooner, or else the limits."""
    choices, group = plan.choices(), group_of(inputs.varieties[key].facts)
    mine = choices[key][0].season if choices[key] else inputs.problem.horizon
    rivals = tuple(
        _name(other)
        for name, other in inputs.varieties.items()
        if name != key
        and group_of(other.facts) == group
        and choices[name]
        and choices[name][0].season < mine
    )
    if rivals:
        return Finding("hindered-by-rivals", {"rivals": rivals})
    return Finding("hindered-by-limits")


def _cheapest_for(key: str, loss: float, tried: Sequence[Relief]) -> Relief | None:
    """The cheapest relief that takes a clear share off a variety's chance of loss."""
    helping = []
    for relief in tried:
        after = _loss_in(relief, key)
        if after is not None and after <= (1.0 - _HELP_SHARE) * loss:
            helping.append((_CHEAPEST.index(relief.kind), after, relief.subject, relief))
    return min(helping, key=lambda one: one[:3])[3] if helping else None


def _loss_in(relief: Relief, key: str) -> float | None:
    """A variety's chance of loss with a relief; None if not planned anew or it is given away."""
    if relief.plan is None:
        return None
    return next((c.loss for c in relief.plan.columns if c.variety == key), None)


def _helped(inputs: PlanInputs, plan: Plan, relief: Relief) -> list[VarietyBrief]:
    if relief.plan is None:
        return []
    before = {column.variety: column.loss for column in plan.columns}
    weight = {variety.name: variety.weight for variety in inputs.problem.varieties}
    gain = {
        c.variety: weight[c.variety] * (before[c.variety] - c.loss) for c in relief.plan.columns
    }
    best = sorted((key for key in gain if gain[key] >= _LEAST_SAVED), key=lambda key: -gain[key])
    return [variety_brief(inputs.varieties[key]) for key in best]


def _found(inputs: PlanInputs, relief: Relief) -> dict[str, Value]:
    named = inputs.varieties.get(relief.subject)
    name = relief.subject if named is None else _name(named)
    return {"kind": relief.kind, "name": name, "amount": relief.amount}


def _name(one: StockedVariety) -> str:
    return f"{one.name} ({one.facts.slug})"


def planned_without(inputs: PlanInputs) -> float:
    """Weighted chances of loss summed, if no seed crop were grown but those already standing."""
    losses = (loss_of(inputs.problem, v.name, ()) for v in inputs.problem.varieties)
    weights = (v.weight for v in inputs.problem.varieties)
    return sum(w * (loss or 0.0) for w, loss in zip(weights, losses, strict=True))
