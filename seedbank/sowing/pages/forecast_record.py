"""How well do I judge: what was expected of every test and sowing beside what came, in words and
pictures."""

from fastapi import Response

from seedbank.sowing.forecast_answers import ForetoldAnswer
from seedbank.sowing.judge_forecasts import judge_forecasts
from seedbank.sowing.pages.forecast_record_figure import draw_calibration, draw_seed_saved
from seedbank.web.pages.page_request import PageRequestDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_WORST = 8


@router.get("/record")
def record(request: PageRequestDep) -> Response:
    """Forecasts of both sorts in words, calibration in pictures, seed saved, the surprises."""
    answer = judge_forecasts(request.session, today=request.today)
    tests = answer.viability.items
    return request.show(
        "sowing/pages/forecast_record.html",
        answer=answer,
        calibration=draw_calibration(answer, request.local),
        saved=draw_seed_saved(answer.saved, request.local) if answer.saved else None,
        worst=sorted(answer.items, key=_outside, reverse=True)[:_WORST],
        outside=_outside,
        missed=[one for one in tests if not one.low_90 <= one.viable <= one.high_90][:_WORST],
    )


def _outside(one: ForetoldAnswer) -> float:
    """How far outside its interval a sowing came, in shares of the seeds sown; 0: inside."""
    return max(one.low - one.emerged, one.emerged - one.high, 0.0) / max(one.seeds, 1)
