"""What to save this year and in the years after, and what to sow, buy, swap and give away."""

from time import monotonic
from typing import Annotated

from fastapi import Response

from seedbank.plan.answers import LastPlanAnswer, OrdersAnswer, SavingPlanAnswer, SuppliesAnswer
from seedbank.plan.forms import PlanAsk
from seedbank.plan.list_orders import list_orders
from seedbank.plan.make_plan import keep_saving_plan, plan_saving, work_out_plan
from seedbank.plan.plan_supply import work_out_supplies
from seedbank.plan.show_plan import show_saving_plan
from seedbank.web.api.deps import (
    IdPath,
    NowDep,
    OnceDep,
    SessionDep,
    TodayDep,
    WiringDep,
    api_router,
)
from seedbank.web.api.responses import body, created, query, sent, tells

router = api_router(tags=["saving-plans"])
AskQuery = Annotated[PlanAsk, query(PlanAsk)]


@router.get("/saving-plan", responses=tells(SavingPlanAnswer, problems=(422,)))
def now(ask: AskQuery, session: SessionDep, today: TodayDep) -> Response:
    """What to save this year and after, worked out now and not kept."""
    return sent(plan_saving(session, ask, today=today, clock=monotonic))


@router.post(
    "/saving-plans",
    status_code=201,
    responses=tells(SavingPlanAnswer, 201, problems=(400, 409, 422)),
)
def keep(
    form: Annotated[PlanAsk, body(PlanAsk)],
    once: OnceDep,
    wiring: WiringDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Plan, and keep the plan: the next one changes as little of it as it must."""
    # A search takes seconds, in which whoever wants to write would have to wait.
    with wiring.reading() as looking:
        worked = work_out_plan(looking, form, today=today, clock=monotonic)
    return once(lambda: created(keep_saving_plan(session, worked, now=now), "/saving-plans/{0.id}"))


@router.get("/saving-plans/{id}", responses=tells(LastPlanAnswer, problems=(404, 422)))
def show(id: IdPath, session: SessionDep) -> Response:
    """Show a plan as it was kept."""
    return sent(show_saving_plan(session, id))


@router.get("/orders", responses=tells(OrdersAnswer, problems=(422,)))
def orders(session: SessionDep, today: TodayDep) -> Response:
    """What to order: seed not enough for the rows of this season and the next, with a margin."""
    return sent(list_orders(session, today=today))


@router.get("/supplies", responses=tells(SuppliesAnswer, problems=(422,)))
def supplies(session: SessionDep, today: TodayDep) -> Response:
    """What to sow this year and how much, what to order, and what may be given away."""
    return sent(work_out_supplies(session, today=today))
