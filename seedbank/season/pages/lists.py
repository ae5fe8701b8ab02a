"""The season's lists, to print."""

from time import monotonic

from fastapi import Response

from seedbank.common.errors import NotThere, Refused
from seedbank.season.answers.season_lists import Listed
from seedbank.season.pages.lists_pdf import PAPERS, TITLES, draw_list
from seedbank.season.season_lists import season_list
from seedbank.web.pages.page_request import DeskDep
from seedbank.web.pages.page_route import page_router
from seedbank.web.wiring import WiringDep

router = page_router()
WHAT = {
    Listed.TEST: "Lots where a test would pay, with their packets’ places.",
    Listed.SAVE: "Varieties to grow for seed this year, how much of which lot to sow.",
    Listed.RESCUE: "Varieties on their last seed, and lots to replace.",
    Listed.SOW: "Seed crops due this month, and what to sow for the plants you want. Takes some "
    "seconds the first time.",
    Listed.BUY: "What seed is lacking for the plants you want. Takes some seconds the first time.",
}


@router.get("/lists")
def choose(desk: DeskDep) -> Response:
    """Which list, on what paper."""
    american = desk.local.dates == "en-US"
    lists = [(listed.value, TITLES[listed], WHAT[listed]) for listed in Listed]
    return desk.show(
        "season/pages/lists.html",
        lists=lists,
        papers=list(PAPERS),
        usual="US Letter" if american else "A4",
    )


@router.get("/lists.pdf")
def printed(desk: DeskDep, wiring: WiringDep, name: str = "", paper: str = "A4") -> Response:
    """One list."""
    if name not in list(Listed):
        raise NotThere("list", name, field="name")
    if paper not in PAPERS:
        raise Refused("paper", paper, f"Choose {' or '.join(PAPERS)}.")
    # Some lists take seconds, in which whoever wants to write would have to wait.
    with wiring.reading() as looking:
        answer = season_list(looking, Listed(name), today=desk.today, clock=monotonic)
    headers = {
        "Content-Disposition": f'inline; filename="{name}.pdf"',
        "Cache-Control": "no-store",
    }
    return Response(draw_list(answer, paper, desk.local), 200, headers, "application/pdf")
