"""The season: what each lot is for this year, seed to save, seed crops, what must not flower."""

from fastapi import Response
from markupsafe import Markup

from seedbank.common.answers import FindingAnswer
from seedbank.common.errors import NotThere
from seedbank.database.cache import CacheRegion
from seedbank.database.change_counters import all_changes
from seedbank.database.queries import Cursor, Paging
from seedbank.science.quantities import Finding, Value
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.answers import CropLineAnswer, Do, YearAnswer
from seedbank.season.pages.season_figure import SHOWS, draw_season, soon
from seedbank.season.show_season import show_season
from seedbank.season.show_year import show_year
from seedbank.season.to_do import to_do
from seedbank.season.words import headings
from seedbank.verdicts.answers import When
from seedbank.verdicts.list_verdicts import VerdictFilter, list_verdicts
from seedbank.verdicts.words import verdict_words
from seedbank.web.pages.page_request import PageRequest, PageRequestDep
from seedbank.web.pages.page_route import page_router
from seedbank.web.pages.render import render

router = page_router()


_PICTURES: CacheRegion[Markup] = CacheRegion(most=8)
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
        picture=_picture(request, year, show),
        show=show,
        lists=headed,
        state=Verdict.GROW_FOR_SEED if wanted else "",
        sentence=FindingAnswer.of(Finding("season-sign", sign)),
        line=FindingAnswer.of(Finding("season-sign-line", line)) if names else None,
        stops=FindingAnswer.of(Finding("season-stops", {"stops": len(answer.must_not_flower)})),
        soon=[_soon(one) for one in soon(year, _SOON)],
    )


def _picture(request: PageRequest, year: YearAnswer, show: str) -> Markup:
    """The picture of the lines asked for, kept until anything is written; empty: there are none."""

    def drawn() -> Markup:
        figure = draw_season(year, request.local, show)
        template = "season/pages/_season_picture.html"
        return Markup((figure and render(template, drawn=figure, local=request.local)) or "")

    state = (request.today, *all_changes(request.session))
    return _PICTURES.get(request.session, state, drawn, asked=(show, request.local))


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
