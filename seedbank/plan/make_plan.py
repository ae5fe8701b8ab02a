"""What to save this year, and in the years after: the plan, why it is so, and what would help."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session

from seedbank.common.answers import (
    FindingAnswer,
    Source,
    VarietyBrief,
    distinct,
    finding_answers,
    stored_json,
)
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import changes
from seedbank.database.find import row_id
from seedbank.database.lanes import PLANS
from seedbank.database.queries import note_if_empty
from seedbank.database.transaction import let_go, transaction
from seedbank.facts.sources import sources_of
from seedbank.plan.answers import LeftOutAnswer, PinAnswer, SavingPlanAnswer
from seedbank.plan.crops import crops_this_year, later_years, standing_crops
from seedbank.plan.forms import PlanAsk
from seedbank.plan.inputs import PlanInputs, choices_of, gather_plan
from seedbank.plan.last_plan import stock_digest
from seedbank.plan.remedies import (
    Clock,
    answer_exposed,
    answer_pins,
    answer_reliefs,
    help_time,
    planned_without,
    try_reliefs,
)
from seedbank.plan.stops import stops_this_year
from seedbank.plan.tables import PLANNED, keep_plan_run, latest_plan_run, store_plan_report
from seedbank.saving.check_crossing import PRACTICE
from seedbank.science.plan.plan import Plan, PlanStatus, solve_plan
from seedbank.science.plan.plan_problem import Crop
from seedbank.science.plan.plan_relief import Relief
from seedbank.science.quantities import Finding
from seedbank.verdicts.list_verdicts import VERDICT_SOURCES

GAP = 0.005
"""A plan this near the best possible is as good as the best: our choice."""

PLAN_SOURCES = (
    Source(
        text="least weighted chance of loss under all limits: integer programme, solved by HiGHS "
        "(Huangfu & Hall 2018, Mathematical Programming Computation 10:119-142)",
        confidence="memory",
    ),
    Source(
        text="share of seed crops that fail, what cages, bags and hand work cost, bed a plant: "
        "common practice, no single source; weights by rarity: our choice",
        confidence="computed",
    ),
)


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan, and the question it answers. ``free`` is the plan as it would be without one kept
    before; the same one where none was."""

    inputs: PlanInputs
    plan: Plan
    free: Plan


@dataclass(frozen=True, slots=True)
class Help:
    """What would help and what pins cost. ``cut_short``: there was no time to see all of it."""

    tried: tuple[Relief, ...]
    pins: list[PinAnswer]
    cut_short: bool


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """A plan in words, and as it is kept. ``in_time``: no part of it was cut short."""

    answer: SavingPlanAnswer
    first_year: int
    choices: list[dict[str, object]]
    made_of: str
    in_time: bool


_PLANS: CacheRegion[WorkedOut] = CacheRegion(4, PLANS)
# Few ask for more horizons than that.


def plan_saving(
    session: Session, ask: PlanAsk, *, today: date, clock: Clock = None
) -> SavingPlanAnswer:
    """What to save, worked out now; as near the plan kept last as pays. Nothing is written.

    ``clock`` gives seconds that pass, for the time limit; without one each step gets a share.
    """
    return work_out_plan(session, ask, today=today, clock=clock).answer


def work_out_plan(session: Session, ask: PlanAsk, *, today: date, clock: Clock = None) -> WorkedOut:
    """The same, ready to be kept. It takes seconds: let no other writer wait for them.

    What was worked out is remembered while nothing it rests on has changed, unless time ran out.
    """

    def work() -> WorkedOut:
        made_of = stock_digest(session)  # first: what changes meanwhile makes the plan an old one
        planned = make_plan(session, ask, today=today, clock=clock)
        helping = plan_help(planned, ask, clock)
        answer = answer_plan(planned, helping, ask, today)
        in_time = answer.status is PlanStatus.PROVEN and not helping.cut_short
        return WorkedOut(answer, planned.inputs.year, _choices(planned), made_of, in_time)

    return _PLANS.get(
        session,
        (today, *changes(session, PLANNED)),
        work,
        asked=(ask.horizon_years, ask.time_limit_s),
        worth_keeping=lambda worked: worked.in_time,
    )


def keep_saving_plan(session: Session, worked: WorkedOut, *, now: datetime) -> SavingPlanAnswer:
    """Keep a plan and what it says: the next one changes as little of it as it must."""
    with transaction(session):
        run = keep_plan_run(
            session,
            first_year=worked.first_year,
            horizon_years=worked.answer.horizon_years,
            choices=worked.choices,
            now=now,
            made_of=worked.made_of,
        )
        answer = worked.answer.model_copy(update={"id": row_id(run.id)})
        store_plan_report(session, row_id(run.id), stored_json(answer))
    return answer


def make_plan(session: Session, ask: PlanAsk, *, today: date, clock: Clock = None) -> Planned:
    """Gather the question and solve it. All is read before, and the connection let go of."""
    inputs = gather_plan(session, today=today, horizon=ask.horizon_years)
    last = latest_plan_run(session)
    let_go(session)
    free = solve_plan(inputs.problem, time_limit_s=ask.time_limit_s, gap=GAP, clock=clock)
    if last is None:
        return Planned(inputs, free, free)
    plan = solve_plan(
        inputs.problem,
        time_limit_s=ask.time_limit_s,
        gap=GAP,
        previous=choices_of(last, inputs),
        clock=clock,
    )
    return Planned(inputs, plan, free)


def plan_help(planned: Planned, ask: PlanAsk, clock: Clock) -> Help:
    """What would help and what pins cost; it may take as long again as the plan."""
    time = help_time(ask.time_limit_s, clock)
    helping = try_reliefs(planned.inputs, planned.free, time)
    pins = answer_pins(planned.inputs, planned.plan, planned.free, time)
    unseen = any(pin.kept and pin.cost is None for pin in pins)
    return Help(helping.tried, pins, helping.cut_short or unseen)


def answer_plan(planned: Planned, helping: Help, ask: PlanAsk, today: date) -> SavingPlanAnswer:
    """A plan in words."""
    inputs, plan = planned.inputs, planned.plan
    now = crops_this_year(inputs, plan)
    return SavingPlanAnswer(
        id=None,
        on=today,
        horizon_years=ask.horizon_years,
        judged_in=inputs.year + inputs.problem.last,
        status=plan.status,
        gap_pct=round(100.0 * plan.gap, 3),
        loss=round(plan.objective, 4),
        loss_without=round(planned_without(inputs), 4),
        changes=plan.changes,
        this_year=now,
        sow_for_next_year=[one.variety for one in now if one.flowers_in > inputs.year],
        standing=standing_crops(inputs),
        stop_flowering=stops_this_year(inputs, plan),
        later=later_years(inputs, plan),
        exposed=answer_exposed(inputs, plan, helping.tried, cut_short=helping.cut_short),
        reliefs=answer_reliefs(inputs, planned.free, helping.tried),
        pins=helping.pins,
        left_out=[
            LeftOutAnswer(
                variety=VarietyBrief(id=one.variety_id, name=one.name, kind=one.kind),
                why=FindingAnswer.of(one.why),
            )
            for one in inputs.stock.left_out
        ],
        remarks=finding_answers(
            [
                *note_if_empty(inputs.stock.judged.forecast.collection.size),
                *_remarks(inputs, plan, helping),
            ]
        ),
        sources=_sources(inputs, plan),
    )


def _choices(planned: Planned) -> list[dict[str, object]]:
    """The plan as it is kept; the assumed site has no number."""
    inputs = planned.inputs
    return [
        {
            "variety_id": inputs.varieties[column.variety].variety_id,
            "crops": [_crop(inputs, column.variety, crop) for crop in column.crops],
        }
        for column in planned.plan.columns
    ]


def _crop(inputs: PlanInputs, key: str, crop: Crop) -> dict[str, object]:
    site = inputs.ground.sites[crop.site]
    sown = inputs.year + crop.season
    return {
        "year": sown,
        "flowers_in": sown + inputs.varieties[key].lead - 1,
        "site_id": None if site is None else site.id,
        "way": crop.way,
    }


def _remarks(inputs: PlanInputs, plan: Plan, helping: Help) -> list[Finding]:
    found = [*inputs.ground.remarks, *inputs.settled.remarks]
    if plan.status is PlanStatus.TIME_RAN_OUT:
        found.append(Finding("plan-time-ran-out", {"gap_pct": 100.0 * plan.gap}))
    if helping.cut_short:
        found.append(Finding("plan-help-cut-short"))
    if plan.curtailed:
        found.append(Finding("plan-curtailed", {"varieties": len(plan.curtailed)}))
    one, two = inputs.failure
    found.append(Finding("plan-crops-fail", {"pct": 100.0 * one, "over_winter_pct": 100.0 * two}))
    return [*found, Finding("plan-each-spring")]


def _sources(inputs: PlanInputs, plan: Plan) -> list[Source]:
    grown = [inputs.varieties[c.variety].facts for c in plan.columns if c.crops]
    used = sources_of(
        *(
            one
            for facts in grown
            for one in (
                facts.crossing_group,
                facts.life_cycle,
                facts.isolation_home_m,
                facts.isolation_strict_m,
                facts.seed_parents_rare,
                facts.seed_parents_maintain,
            )
        )
    )
    cited = [Source(text=one.text, confidence=one.confidence) for one in used]
    return distinct([*PLAN_SOURCES, PRACTICE, *VERDICT_SOURCES, *cited])
