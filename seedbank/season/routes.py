"""What needs doing now: read only, worked out when asked."""

from fastapi import Response

from seedbank.season.answers import ToDoAnswer
from seedbank.season.to_do import to_do
from seedbank.web.api.deps import SessionDep, TodayDep, api_router
from seedbank.web.api.responses import sent, tells

router = api_router(tags=["advice"])


@router.get("/to-do", responses=tells(ToDoAnswer, problems=(422,)))
def things_to_do(session: SessionDep, today: TodayDep) -> Response:
    """Everything there is to do now, the most pressing first, as the front page has it."""
    return sent(to_do(session, today=today))
