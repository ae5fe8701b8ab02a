"""What a season's work allows."""

from typing import Annotated

from fastapi import Response

from seedbank.saving import edit_sites as limits
from seedbank.saving.answers import LimitsAnswer
from seedbank.saving.forms import LimitsChange
from seedbank.web.api.deps import SessionDep, api_router
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, sent, tells

router = api_router(prefix="/garden-limits", tags=["garden-limits"])


@router.get("", responses=tells(LimitsAnswer))
def show(session: SessionDep) -> Response:
    """Show what a season's work allows."""
    return sent(limits.show_limits(session))


@router.patch("", responses=tells(LimitsAnswer, problems=(400, 412, 422, 428)))
def change(
    form: Annotated[LimitsChange, body(LimitsChange)],
    expected: IfMatchDep,
    session: SessionDep,
) -> Response:
    """Change what a season's work allows."""
    return sent(limits.change_limits(session, form, expected=expected))
