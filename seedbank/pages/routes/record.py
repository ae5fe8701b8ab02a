"""How well do I judge: what was foretold of every sowing beside what came up."""

from collections.abc import Callable
from functools import lru_cache

from fastapi import Response

from seedbank.pages.desk import DeskDep
from seedbank.pages.figures.figure import Figure
from seedbank.pages.figures.judgement import draw_calibration, draw_seed_saved
from seedbank.pages.local import Local
from seedbank.pages.page_route import page_router
from seedbank.service.answers.forecast_record import ForecastRecordAnswer, ForetoldAnswer
from seedbank.service.errors import NotThere
from seedbank.service.judge_forecasts import judge_forecasts

router = page_router()
_SVG = {"Cache-Control": "private, max-age=31536000, immutable"}
_WORST = 8


@router.get("/record")
def record(desk: DeskDep) -> Response:
    """Calibration in words and as pictures, seed saved, the worst surprises."""
    answer = judge_forecasts(desk.session, today=desk.today)
    text = answer.model_dump_json()
    return desk.show(
        "record.html",
        answer=answer,
        calibration=_calibration(text, desk.local) if answer.sowings else None,
        saved=_saved(text, desk.local) if answer.saved else None,
        worst=sorted(answer.items, key=_outside, reverse=True)[:_WORST],
        outside=_outside,
    )


@router.get("/record/{name}.svg")
def picture(desk: DeskDep, name: str) -> Response:
    """One of the pictures."""
    draw = _PICTURES.get(name)
    if draw is None:
        raise NotThere("picture", name, field="name")
    text = judge_forecasts(desk.session, today=desk.today).model_dump_json()
    return Response(draw(text, desk.local).svg, 200, _SVG, "image/svg+xml")


def _outside(one: ForetoldAnswer) -> float:
    """How far outside its interval a sowing came, in shares of the seeds sown; 0: inside."""
    return max(one.low - one.emerged, one.emerged - one.high, 0.0) / max(one.seeds, 1)


# Drawing takes many times as long as all the rest of the page.
@lru_cache(maxsize=4)
def _calibration(text: str, local: Local) -> Figure:
    return draw_calibration(ForecastRecordAnswer.model_validate_json(text), local)


@lru_cache(maxsize=4)
def _saved(text: str, local: Local) -> Figure:
    saved = ForecastRecordAnswer.model_validate_json(text).saved
    if saved is None:
        raise NotThere("picture", "saved", field="name")
    return draw_seed_saved(saved, local)


_PICTURES: dict[str, Callable[[str, Local], Figure]] = {
    "calibration": _calibration,
    "saved": _saved,
}
