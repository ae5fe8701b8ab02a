"""The front page: the jobs of this week, each with its reason and the way to do it, or put off."""

from urllib.parse import urlencode

from fastapi import Response

from seedbank.common.answers import FindingAnswer
from seedbank.science.quantities import Finding
from seedbank.season.answers import ThisWeekAnswer
from seedbank.season.postpone_jobs import put_off, take_up
from seedbank.season.this_week import show_this_week, week_at_hand
from seedbank.season.words import headings
from seedbank.verdicts.judge_meanwhile import being_judged
from seedbank.web.pages.page_request import PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_LOOK_AGAIN_S = 5


@router.get("/")
def now(request: PageRequestDep) -> Response:
    """This week; or that it is still being worked out."""
    session, today = request.session, request.today
    lots = 0 if week_at_hand(session, today=today) else being_judged(session, today=today)
    if lots:
        page = request.show("season/pages/being_judged.html", lots=lots)
        page.headers["Refresh"] = str(_LOOK_AGAIN_S)
        return page
    answer = show_this_week(session, today=today)
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
