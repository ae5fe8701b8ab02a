"""How the service itself is; anybody may ask, and nothing of the collection is told."""

from fastapi import Response

from seedbank.upkeep.answers import HealthAnswer
from seedbank.upkeep.health import check_health
from seedbank.web.api.deps import SessionDep, api_router
from seedbank.web.api.responses import sent, tells

router = api_router(tags=["service"])


@router.get("/health", responses=tells(HealthAnswer))
def health(session: SessionDep) -> Response:
    """Is the service alive, its database within reach, and its schema this program's?"""
    return sent(check_health(session))
