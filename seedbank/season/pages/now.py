"""The front page: what needs doing now, each with its reason and the way to do it."""

from fastapi import Response

from seedbank.common.catalogue import text_of
from seedbank.science.quantities import Finding
from seedbank.season.answers import Do
from seedbank.season.to_do import to_do
from seedbank.verdicts.list_verdicts import being_judged
from seedbank.web.pages.page_request import PageRequestDep
from seedbank.web.pages.page_route import page_router

router = page_router()
A_FEW = 3
_LOOK_AGAIN_S = 5


def headings() -> dict[Do, str]:
    """What each group of things to do is called."""
    return {do: text_of(Finding("to-do-heading", {"do": do})) for do in Do}


@router.get("/")
def now(desk: PageRequestDep) -> Response:
    """A few of each, and how many there are; or that it is still being worked out."""
    lots = being_judged(desk.session, today=desk.today)
    if lots:
        page = desk.show("season/pages/being_judged.html", lots=lots)
        page.headers["Refresh"] = str(_LOOK_AGAIN_S)
        return page
    answer = to_do(desk.session, today=desk.today, most=A_FEW)
    return desk.show("season/pages/now.html", answer=answer, headings=headings())
