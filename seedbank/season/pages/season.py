"""The season: what each lot is for this year, seed to save, seed crops, what must not flower.

The front page: this week's jobs, each with its reason and the way to do it, or off for a week.
"""

from urllib.parse import urlencode

from fastapi import Response

from seedbank.common.answers import FindingAnswer
from seedbank.common.catalogue import text_of
from seedbank.common.errors import NotThere
from seedbank.database.queries import Cursor, Paging
from seedbank.science.quantities import Finding, Value
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.answers import CropLineAnswer, Do, ThisWeekAnswer
from seedbank.season.pages.season_figure import SHOWS, draw_season, soon
from seedbank.season.postpone_jobs import put_off, take_up
from seedbank.season.show_season import show_season
from seedbank.season.show_year import show_year
from seedbank.season.this_week import show_this_week
from seedbank.season.to_do import to_do
from seedbank.verdicts.answers import When
from seedbank.verdicts.list_verdicts import VerdictFilter, being_judged, list_verdicts
from seedbank.verdicts.words import verdict_words
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_LOOK_AGAIN_S = 5


def headings() -> dict[Do, str]:
    """What each group of things to do is called: as the verdict, where it is one."""
    verdicts = {verdict.value: verdict_words(verdict) for verdict in Verdict}
    return {do: verdicts.get(do) or text_of(Finding("to-do-heading", {"do": do})) for do in Do}


@router.get("/")
def now(request: PageRequestDep) -> Response:
    """This week; or that it is still being worked out."""
    lots = being_judged(request.session, today=request.today)
    if lots:
        page = request.show("season/pages/being_judged.html", lots=lots)
        page.headers["Refresh"] = str(_LOOK_AGAIN_S)
        return page
    answer = show_this_week(request.session, today=request.today)
    first = answer.jobs[0] if answer.jobs else None
    sign = {
        "jobs": len(answer.jobs),
        "do": first.do if first else "",
        "kind": first.kind_name if first else "",
    }
    return request.show(
        "season/pages/now.html",
        answer=answer,
        headings=headings(),
        sentence=FindingAnswer.of(Finding("week-sign", sign)),
        late=FindingAnswer.of(Finding("week-late", {"late": answer.late})),
        waiting=FindingAnswer.of(Finding("week-waiting", {"jobs": sum(answer.waiting.values())})),
        next=_next(answer),
        put_off=_put_off(answer, request.http.query_params.get("later", "")),
    )


def _next(answer: ThisWeekAnswer) -> FindingAnswer | None:
    """What asks for a look first, where there is nothing to do."""
    titled = [(one.look_on, one.title) for one in answer.begun]
    titled += [(one.until, one.title) for one in answer.put_off]
    for on, title in titled:
        if on is not None and on == answer.next_on:
            return FindingAnswer.of(Finding("week-next", {"what": title.finding, "on": on}))
    return None


def _put_off(answer: ThisWeekAnswer, job: str) -> dict[str, object] | None:
    """The job just put off, and what to say of it."""
    for one in answer.put_off:
        if one.job == job:
            found = {"until": one.until, "title": one.title.finding}
            return {"job": job, "words": FindingAnswer.of(Finding("job-put-off", found))}
    return None


@router.post("/week/later")
def later(sent: SentDep) -> Response:
    """Leave one job alone for a week."""
    request, job = sent.request, sent.get("job")

    def action() -> str:
        put_off(request.session, job, today=request.today, now=request.now)
        return "/?" + urlencode({"later": job})

    return sent.once(action)


@router.post("/week/again")
def again(sent: SentDep) -> Response:
    """Have a job that was put off back."""

    def action() -> str:
        take_up(sent.request.session, sent.get("job"))
        return "/"

    return sent.once(action)


A_PART = 40
_NAMED, _SOON = 4, 6


@router.get("/season")
def season(request: PageRequestDep, show: str = "all") -> Response:
    """The year as a picture, what can be sown soon, and lists of all else of it."""
    answer = show_season(request.session, today=request.today)
    year = show_year(request.session, today=request.today)
    show = show if show in SHOWS else SHOWS[0]
    headed = [(one.value, verdict_words(one), answer.verdicts.get(one, 0)) for one in Verdict]
    wanted = [one for one in year.crops if one.state is not None]
    names = [one.varieties[0] for one in wanted]
    now_sown = sum(one.when is When.NOW and not one.for_seed for one in year.crops)
    ahead = min((one.from_on for one in year.crops if one.from_on), default=None)
    sign: dict[str, Value] = {
        "seeds": len(wanted), "now": now_sown, "from_on": ahead, "known": year.known,
    }  # fmt: skip
    named = request.local.listed(names[:_NAMED])
    line: dict[str, Value] = {"names": named, "more": max(0, len(names) - _NAMED)}
    return request.show(
        "season/pages/season.html",
        answer=answer,
        year=year,
        drawn=draw_season(year, request.local, show),
        show=show,
        lists=headed,
        state=Verdict.GROW_FOR_SEED if wanted else "",
        sentence=FindingAnswer.of(Finding("season-sign", sign)),
        line=FindingAnswer.of(Finding("season-sign-line", line)) if names else None,
        stops=FindingAnswer.of(Finding("season-stops", {"stops": len(answer.must_not_flower)})),
        soon=[_soon(one) for one in soon(year, _SOON)],
    )


def _soon(one: CropLineAnswer) -> dict[str, object]:
    """A line of what can be sown soon."""
    name = one.varieties[0] if one.for_seed else one.kind_name
    seed = "yes" if one.for_seed else "no"
    title = Finding("season-soon", {"name": name, "seed": seed, "method": one.method or "open"})
    why = Finding("season-soon-why", {"until_on": one.until_on, "from_on": one.from_on})
    return {
        "address": f"/kind/{one.kind}/season",
        "title": FindingAnswer.of(title),
        "why": FindingAnswer.of(why),
        "state": one.state or "",
    }


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
        heading=verdict_words(verdict),
        name=verdict.value,
    )
