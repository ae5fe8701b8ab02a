"""The season's lists to print: a box to tick, what to do, where the packet is, and why."""

from fastapi import Response

from seedbank.common.errors import NotThere, Refused
from seedbank.season.answers import Listed
from seedbank.season.pages.list_paper import PAPERS, draw_list, list_words
from seedbank.web.pages.page_request import PageRequestDep
from seedbank.web.pages.page_route import page_router
from seedbank.web.wiring import WiringDep

router = page_router()


@router.get("/lists")
def choose(request: PageRequestDep) -> Response:
    """Which list, on what paper."""
    american = request.local.dates == "en-US"
    lists = [
        (
            listed.value,
            list_words("list-title", listed, request.local),
            list_words("list-what", listed, request.local),
        )
        for listed in Listed
    ]
    return request.show(
        "season/pages/lists.html",
        lists=lists,
        papers=list(PAPERS),
        usual="US Letter" if american else "A4",
    )


@router.get("/lists.pdf")
def printed(
    request: PageRequestDep, wiring: WiringDep, name: str = "", paper: str = "A4"
) -> Response:
    """One list."""
    if name not in list(Listed):
        raise NotThere("list", name, field="name")
    if paper not in PAPERS:
        raise Refused("no-such-list-paper", "paper", paper, papers=" or ".join(PAPERS))
    from seedbank.season.season_lists import season_list  # all that judges and plans

    # Some lists take seconds, in which whoever wants to write would have to wait.
    with wiring.reading() as looking:
        answer = season_list(looking, Listed(name), today=request.today)
    headers = {
        "Content-Disposition": f'inline; filename="{name}.pdf"',
        "Cache-Control": "no-store",
    }
    return Response(draw_list(answer, paper, request.local), 200, headers, "application/pdf")
