"""The season: what each lot is for this year, seed to save, seed crops, what must not flower.

The front page: what needs doing now, each with its reason and the way to do it.
"""

from fastapi import Response

from seedbank.common.catalogue import text_of
from seedbank.common.errors import NotThere
from seedbank.database.queries import Cursor, Paging
from seedbank.saving.words import lists
from seedbank.science.quantities import Finding
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.answers import Do
from seedbank.season.show_season import show_season
from seedbank.season.to_do import to_do
from seedbank.verdicts.list_verdicts import VerdictFilter, being_judged, list_verdicts
from seedbank.web.pages.page_request import PageRequest, PageRequestDep
from seedbank.web.pages.page_route import page_router

router = page_router()
A_FEW = 3
_LOOK_AGAIN_S = 5


def headings() -> dict[Do, str]:
    """What each group of things to do is called."""
    return {do: text_of(Finding("to-do-heading", {"do": do})) for do in Do}


@router.get("/")
def now(request: PageRequestDep) -> Response:
    """A few of each, and how many there are; or that it is still being worked out."""
    lots = being_judged(request.session, today=request.today)
    if lots:
        page = request.show("season/pages/being_judged.html", lots=lots)
        page.headers["Refresh"] = str(_LOOK_AGAIN_S)
        return page
    answer = to_do(request.session, today=request.today, most=A_FEW)
    return request.show("season/pages/now.html", answer=answer, headings=headings())


A_PART = 40


@router.get("/season")
def season(request: PageRequestDep) -> Response:
    """The year at a glance."""
    answer = show_season(request.session, today=request.today)
    called = lists()
    headed = [(one.value, called[one], answer.verdicts.get(one, 0)) for one in Verdict]
    return request.show("season/pages/season.html", answer=answer, lists=headed)


@router.get("/season/{name}")
def one_list(request: PageRequestDep, name: str, after: int | None = None) -> Response:
    """Every lot of one verdict with its reasons, or everything of one sort to do, in parts."""
    if name in list(Verdict):
        return _verdicts(request, Verdict(name), after)
    if name not in list(Do):
        raise NotThere("list", name, field="name")
    start = max(after or 0, 0)
    everything = to_do(request.session, today=request.today)
    group = next((one for one in everything.groups if one.do == name), None)
    shown = group and group.model_copy(update={"items": group.items[start : start + A_PART]})
    more = start + A_PART if group and group.total > start + A_PART else None
    heading = headings()[Do(name)]
    return request.show(
        "season/pages/all_to_do.html", group=shown, heading=heading, name=name, more=more
    )


def _verdicts(request: PageRequest, verdict: Verdict, after: int | None) -> Response:
    page = list_verdicts(
        request.session,
        VerdictFilter(verdict=verdict),
        Paging(A_PART, None if after is None else Cursor(None, after)),
        today=request.today,
    )
    return request.show(
        "season/pages/verdicts.html",
        items=page.items,
        more=page.next and page.next.id,
        heading=lists()[verdict],
        name=verdict.value,
    )
