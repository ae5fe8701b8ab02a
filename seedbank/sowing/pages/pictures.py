"""Pictures, each at its own address; the pages that show them tell the same in words."""

from typing import Annotated

from fastapi import Path, Request, Response

from seedbank.common.errors import NotThere
from seedbank.lots.show_lots import show_stays
from seedbank.sowing.judge_forecasts import judge_forecasts
from seedbank.sowing.pages.forecast_record_figure import draw_calibration, draw_seed_saved
from seedbank.viability.answers import ViabilityAnswer
from seedbank.viability.pages.lot_life_figure import draw_lot_life
from seedbank.viability.show_viability import show_viability
from seedbank.web.figures.figure import Figure
from seedbank.web.pages.page_request import Desk, DeskDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_FOR_GOOD = "private, max-age=31536000, immutable"
_ASK_FIRST = "private, no-cache"


@router.get("/lot/{code}/life.svg")
def life(desk: DeskDep, code: Annotated[str, Path(max_length=80)]) -> Response:
    """A lot's life."""
    answer = show_viability(desk.session, code, today=desk.today)
    return picture(desk.request, life_of(desk, answer))


@router.get("/record/judged.svg")
def judged(desk: DeskDep) -> Response:
    """What was foretold of sowings against what came up."""
    answer = judge_forecasts(desk.session, today=desk.today)
    return picture(desk.request, draw_calibration(answer, desk.local))


@router.get("/record/saved.svg")
def saved(desk: DeskDep) -> Response:
    """Seed sown against seed advised."""
    answer = judge_forecasts(desk.session, today=desk.today).saved
    if answer is None:
        raise NotThere("picture", "saved", field="name")
    return picture(desk.request, draw_seed_saved(answer, desk.local))


def life_of(desk: Desk, answer: ViabilityAnswer) -> Figure:
    """The picture for a lot's page, of the answer the page shows."""
    stays = show_stays(desk.session, answer.lot).items
    return draw_lot_life(answer, stays, desk.today, desk.local)


def picture(request: Request, figure: Figure) -> Response:
    """A picture that is kept for good at an address with its digest, and asked for anew at others.

    Nothing is drawn for whoever has it already.
    """
    tag = f'"{figure.digest}"'
    named = request.query_params.get("v") == figure.digest
    headers = {"ETag": tag, "Cache-Control": _FOR_GOOD if named else _ASK_FIRST}
    if tag in request.headers.get("if-none-match", ""):
        return Response(None, 304, headers)
    return Response(figure.svg, 200, headers, "image/svg+xml")
