"""What needs doing now: read only, worked out when asked."""

from fastapi import Response

from seedbank.season.answers import ToDoAnswer, YearAnswer
from seedbank.season.show_year import show_year
from seedbank.season.to_do import to_do
from seedbank.web.api.deps import SessionDep, TodayDep, api_router
from seedbank.web.api.responses import sent, tells

router = api_router(tags=["advice"])


@router.get("/to-do", responses=tells(ToDoAnswer, problems=(422,)))
def things_to_do(session: SessionDep, today: TodayDep) -> Response:
    """Everything there is to do now, the most pressing first, as the front page has it."""
    return sent(to_do(session, today=today))


@router.get("/year", responses=tells(YearAnswer, problems=(422,)))
def year(session: SessionDep, today: TodayDep) -> Response:
    """Show this year, a line a crop: when to sow, keep apart, harvest seed; seed crops first."""
    return sent(show_year(session, today=today))
