"""Questions about a seed crop before it is sown, and about a lot's line."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.lots.tables.lots import Isolation
from seedbank.saving.answers import CrossingAnswer, DriftAnswer, SeedParentsAnswer
from seedbank.saving.check_crossing import CropAsked, check_wanted_crop
from seedbank.saving.show_lines import show_drift, show_seed_parents
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.quantities import USUAL_CONFIDENCE
from seedbank.web.api.deps import CodePath, SessionDep, TodayDep, api_router
from seedbank.web.api.responses import sent, tells

router = api_router(tags=["seed-lines"])
PurposeQuery = Annotated[
    Purpose, Query(description="home use, keeping the variety, or keeping a rare one")
]
IsolationQuery = Annotated[Isolation, Query(description="isolated in this way")]


@router.get("/crossing-check", responses=tells(CrossingAnswer, problems=(404, 422)))
def crossing(
    session: SessionDep,
    variety: Annotated[int, Query(ge=1, le=2_147_483_647, description="number of the variety")],
    site: Annotated[int, Query(ge=1, le=2_147_483_647, description="number of the site")],
    year: Annotated[int, Query(ge=1900, le=2199, description="year it would flower")],
    purpose: PurposeQuery = Purpose.KEEP,
    isolation: IsolationQuery = Isolation.UNKNOWN,
) -> Response:
    """Show what may cross with a seed crop that is only thought of."""
    asked = CropAsked(
        variety_id=variety, site_id=site, year=year, purpose=purpose, isolation=isolation
    )
    return sent(check_wanted_crop(session, asked))


@router.get(
    "/lots/{code}/seed-parents", responses=tells(SeedParentsAnswer, problems=(404, 409, 422))
)
def seed_parents(
    code: CodePath,
    session: SessionDep,
    today: TodayDep,
    purpose: PurposeQuery = Purpose.KEEP,
    parents: Annotated[
        int | None, Query(ge=1, le=10_000, description="seed parents wanted, if not the usual")
    ] = None,
    confidence: Annotated[
        float, Query(ge=0.5, le=0.99, description="how sure to be")
    ] = USUAL_CONFIDENCE,
) -> Response:
    """Show how many to sow and raise so that enough seed parents are left, this year and next."""
    return sent(
        show_seed_parents(
            session, code, purpose=purpose, today=today, parents=parents, confidence=confidence
        )
    )


@router.get("/lots/{code}/drift", responses=tells(DriftAnswer, problems=(404, 422)))
def drift(code: CodePath, session: SessionDep) -> Response:
    """Show how much of its founders' diversity a lot's line has kept."""
    return sent(show_drift(session, code))
