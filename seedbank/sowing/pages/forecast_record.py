"""How well do I judge: what was foretold of every sowing beside what came up.

Pictures of how forecasts did, each at its own address; the page tells the same in words.
"""

from fastapi import Response

from seedbank.common.errors import NotThere
from seedbank.sowing.answers import ForetoldAnswer
from seedbank.sowing.judge_forecasts import judge_forecasts
from seedbank.sowing.pages.forecast_record_figure import draw_calibration, draw_seed_saved
from seedbank.web.pages.page_request import PageRequestDep
from seedbank.web.pages.page_route import page_router
from seedbank.web.pages.pictures import picture

router = page_router()
_WORST = 8


@router.get("/record")
def record(request: PageRequestDep) -> Response:
    """Calibration in words and as pictures, seed saved, the worst surprises."""
    answer = judge_forecasts(request.session, today=request.today)
    return request.show(
        "sowing/pages/forecast_record.html",
        answer=answer,
        calibration=draw_calibration(answer, request.local),
        saved=draw_seed_saved(answer.saved, request.local) if answer.saved else None,
        worst=sorted(answer.items, key=_outside, reverse=True)[:_WORST],
        outside=_outside,
    )


def _outside(one: ForetoldAnswer) -> float:
    """How far outside its interval a sowing came, in shares of the seeds sown; 0: inside."""
    return max(one.low - one.emerged, one.emerged - one.high, 0.0) / max(one.seeds, 1)


@router.get("/record/judged.svg")
def judged(request: PageRequestDep) -> Response:
    """What was foretold of sowings against what came up."""
    answer = judge_forecasts(request.session, today=request.today)
    return picture(request, draw_calibration(answer, request.local))


@router.get("/record/saved.svg")
def saved(request: PageRequestDep) -> Response:
    """Seed sown against seed advised."""
    answer = judge_forecasts(request.session, today=request.today).saved
    if answer is None:
        raise NotThere("picture", "saved", field="name")
    return picture(request, draw_seed_saved(answer, request.local))
