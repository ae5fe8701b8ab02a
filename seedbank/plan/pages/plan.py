"""The plan of seed crops: made and renewed, begun crop by crop, pinned; what crosses with what.

What to buy, swap for, give away or throw out.
"""

from time import monotonic
from typing import Any

from fastapi import Response

from seedbank.database.queries import Paging
from seedbank.plan.answers import LastPlanAnswer
from seedbank.plan.edit_plan_pins import add_plan_pin, delete_plan_pin, start_planned_crop
from seedbank.plan.forms import PlanAsk, PlanPinCreate
from seedbank.plan.list_orders import list_orders
from seedbank.plan.make_plan import keep_saving_plan, work_out_plan
from seedbank.plan.pages.season_plan_figure import PlanFigure, crops_of, draw_season_plan
from seedbank.plan.plan_supply import last_plan_supplies, work_out_supplies
from seedbank.plan.show_plan import show_pins, show_plan_now
from seedbank.saving.check_crossing import list_crossing_groups
from seedbank.saving.forms import PlannedCropStart
from seedbank.science.verdicts.verdict import Verdict
from seedbank.verdicts.list_verdicts import VerdictFilter, list_verdicts
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep
from seedbank.web.pages.page_route import page_router
from seedbank.web.wiring import WiringDep

router = page_router()
SEARCH_S = 8.0  # what a gardener waits for a plan, at most, before its reasons are worked out


@router.get("/plan")
def show(request: PageRequestDep) -> Response:
    """The plan kept last."""
    return _page(request)


@router.post("/plan")
def make(sent: SentDep, wiring: WiringDep) -> Response:
    """Work a plan out and keep it; it changes as little of the last one as it must."""
    request = sent.request
    filled = sent.form(PlanAsk, {"time_limit_s": SEARCH_S})
    if filled.form is None:
        return _page(request, filled, 422)
    # A search takes seconds, in which whoever wants to write would have to wait.
    with wiring.reading() as looking:
        worked = work_out_plan(looking, filled.form, today=request.today, clock=monotonic)

    def action() -> str:
        keep_saving_plan(request.session, worked, now=request.now)
        return "/plan"

    return sent.once(action)


@router.post("/plan/crop")
def begin_or_pin(sent: SentDep) -> Response:
    """Begin a crop of the plan, or say that it must be in the plan, or must not."""
    return _begin(sent) if sent.get("do") == "begin" else _pin(sent)


def _begin(sent: Sent) -> Response:
    request = sent.request

    def action(form: PlannedCropStart) -> str:
        crop = start_planned_crop(request.session, form, today=request.today, now=request.now)
        return f"/crop/{crop.id}"

    filled = sent.form(PlannedCropStart)
    return sent.act(filled, action, lambda faulty, status: _page(request, faulty, status))


def _pin(sent: Sent) -> Response:
    request = sent.request

    def action(form: PlanPinCreate) -> str:
        add_plan_pin(request.session, form)
        return "/plan#pins"

    year = sent.get("flower_year")
    given = {"wanted": sent.get("do") != "drop", "year": int(year) if year.isdecimal() else None}
    filled = sent.form(PlanPinCreate, given)
    return sent.act(filled, action, lambda faulty, status: _page(request, faulty, status))


@router.post("/plan/unpin/{number}")
def unpin(sent: SentDep, number: int) -> Response:
    """Take a pin out: the plan is free again."""

    def action() -> str:
        delete_plan_pin(sent.request.session, number, expected=None)
        return "/plan#pins"

    return sent.once(action)


@router.get("/plan/why")
def why(request: PageRequestDep) -> Response:
    """Every reason of the plan kept last, as long as it is remembered."""
    return request.show(
        "plan/pages/plan_why.html", answer=show_plan_now(request.session, today=request.today)
    )


@router.get("/plan/alongside")
def alongside(request: PageRequestDep) -> Response:
    """Varieties by what crosses with what."""
    return request.show(
        "plan/pages/crossing_groups.html", groups=list_crossing_groups(request.session)
    )


def _page(request: PageRequest, filled: Filled[Any] | None = None, status: int = 200) -> Response:
    answer = show_plan_now(request.session, today=request.today)
    return request.show(
        "plan/pages/plan.html",
        status,
        answer=answer,
        drawn=None if answer is None else _drawn(answer.plan),
        pins=show_pins(request.session, today=request.today),
        filled=filled or Filled(),
        seconds=round(3 * SEARCH_S / 2),
    )


def _drawn(plan: LastPlanAnswer) -> PlanFigure:
    return draw_season_plan(crops_of(plan), plan.first_year, plan.horizon_years)


_MOST = 40


@router.get("/order")
def order(request: PageRequestDep) -> Response:
    """What to order for the rows of this season and the next."""
    answer = list_orders(request.session, today=request.today)
    return request.show("plan/pages/order.html", answer=answer)


@router.get("/supply")
def supply(request: PageRequestDep, work: str = "") -> Response:
    """What is known at once; the lists that take seconds only when asked for, or kept."""
    answer = last_plan_supplies(request.session, today=request.today)
    if answer is None and work:
        answer = work_out_supplies(request.session, today=request.today)
    thrown = VerdictFilter(verdict=Verdict.CAN_GO)
    discard = list_verdicts(request.session, thrown, Paging(_MOST), today=request.today).items
    return request.show("plan/pages/supply.html", answer=answer, discard=discard)
