"""What to buy, swap for, give away or throw out."""

from time import monotonic

from fastapi import Response

from seedbank.plan.plan_supply import supplies_kept, work_out_supplies
from seedbank.science.verdicts.verdict import Verdict
from seedbank.verdicts.list_verdicts import VerdictFilter, list_verdicts
from seedbank.web.pages.page_request import PageRequestDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_MOST = 40


@router.get("/supply")
def supply(desk: PageRequestDep, work: str = "") -> Response:
    """What is known at once; the lists that take seconds only when asked for, or kept."""
    answer = supplies_kept(desk.session, today=desk.today)
    if answer is None and work:
        answer = work_out_supplies(desk.session, today=desk.today, clock=monotonic)
    thrown = VerdictFilter(verdict=Verdict.DISCARD)
    discard = list_verdicts(desk.session, thrown, today=desk.today, after=None, limit=_MOST).items
    return desk.show("plan/pages/supply.html", answer=answer, discard=discard)
