"""Pictures of how forecasts did, each at its own address; the page tells the same in words."""

from fastapi import Response

from seedbank.common.errors import NotThere
from seedbank.sowing.judge_forecasts import judge_forecasts
from seedbank.sowing.pages.forecast_record_figure import draw_calibration, draw_seed_saved
from seedbank.web.pages.page_request import PageRequestDep
from seedbank.web.pages.page_route import page_router
from seedbank.web.pages.pictures import picture

router = page_router()


@router.get("/record/judged.svg")
def judged(desk: PageRequestDep) -> Response:
    """What was foretold of sowings against what came up."""
    answer = judge_forecasts(desk.session, today=desk.today)
    return picture(desk.request, draw_calibration(answer, desk.local))


@router.get("/record/saved.svg")
def saved(desk: PageRequestDep) -> Response:
    """Seed sown against seed advised."""
    answer = judge_forecasts(desk.session, today=desk.today).saved
    if answer is None:
        raise NotThere("picture", "saved", field="name")
    return picture(desk.request, draw_seed_saved(answer, desk.local))
