"""How thickly to sow, and how well that was foretold so far: read only, worked out when asked."""

from typing import Annotated

from fastapi import Response

from seedbank.sowing.advise_mixture import advise_mixture
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.advise_variety import advise_variety
from seedbank.sowing.answers import (
    SowingAdviceAnswer,
    VarietySowingAdviceAnswer,
)
from seedbank.sowing.forecast_answers import ForecastRecordAnswer
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.judge_forecasts import judge_forecasts
from seedbank.sowing.mixture_answers import MixtureSowingAnswer
from seedbank.web.api.deps import CodePath, IdPath, SessionDep, TodayDep, api_router
from seedbank.web.api.responses import query, sent, tells

router = api_router(tags=["sowing-advice"])
AskQuery = Annotated[SowingAsk, query(SowingAsk)]


@router.get(
    "/lots/{code}/sowing-advice", responses=tells(SowingAdviceAnswer, problems=(404, 409, 422))
)
def for_lot(code: CodePath, ask: AskQuery, session: SessionDep, today: TodayDep) -> Response:
    """How thickly to sow a lot for the plants wanted, and what to expect of it."""
    return sent(advise_lot(session, code, ask, today=today))


@router.get(
    "/lots/{code}/mixture-sowing",
    responses=tells(MixtureSowingAnswer, problems=(404, 409, 422)),
)
def for_mixture(code: CodePath, ask: AskQuery, session: SessionDep, today: TodayDep) -> Response:
    """How much of a mixture to sow for the plants wanted, by what of each part comes up."""
    return sent(advise_mixture(session, code, ask, today=today))


@router.get(
    "/varieties/{id}/sowing-advice",
    responses=tells(VarietySowingAdviceAnswer, problems=(404, 409, 422)),
)
def for_variety(id: IdPath, ask: AskQuery, session: SessionDep, today: TodayDep) -> Response:
    """Which lots of a variety to sow, oldest usable first, and how much of each."""
    return sent(advise_variety(session, id, ask, today=today))


@router.get("/forecast-record", responses=tells(ForecastRecordAnswer))
def forecast_record(session: SessionDep, today: TodayDep) -> Response:
    """How well emergence was foretold over your sowings, and the seed that would have saved."""
    return sent(judge_forecasts(session, today=today))
