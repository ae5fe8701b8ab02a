"""What a lot is worth, and what to do with it this year: read only, worked out when asked."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.common.forms import Day
from seedbank.germination.answers import TestAdviceAnswer
from seedbank.kinds.tables import OtherKeepers
from seedbank.verdicts.advise_testing import advise_testing
from seedbank.verdicts.answers import (
    SeedToKeepAnswer,
    SeedToSaveAnswer,
    TestBatchAnswer,
    VerdictAnswer,
)
from seedbank.verdicts.choose_tests import choose_tests
from seedbank.verdicts.forms import TestBatchAsked
from seedbank.verdicts.list_verdicts import (
    VerdictFilter,
    list_verdicts,
    show_verdict,
)
from seedbank.verdicts.seed_to_save import show_seed_to_save
from seedbank.verdicts.spare_seed import seed_to_keep_of_lot, seed_to_keep_of_variety
from seedbank.viability.answers import ViabilityAnswer
from seedbank.viability.show_viability import show_viability
from seedbank.web.api.deps import CodePath, IdPath, SessionDep, TodayDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.responses import sent, tells, tells_page

router = api_router(tags=["advice"])
ThresholdQuery = Annotated[
    list[Annotated[float, Query(gt=0, lt=100, allow_inf_nan=False)]],
    Query(description="further viabilities to ask about, %", max_length=10, examples=[[50.0]]),
]


@router.get("/lots/{code}/viability", responses=tells(ViabilityAnswer, problems=(404, 422)))
def viability(
    code: CodePath,
    session: SessionDep,
    today: TodayDep,
    on: Annotated[
        Day | None, Query(description="day asked about; left out: today", examples=["2028-03-01"])
    ] = None,
    threshold_pct: ThresholdQuery = [],  # noqa: B006 - FastAPI copies it
) -> Response:
    """How alive a lot is: today, in its past and for ten years ahead, with its bands."""
    return sent(show_viability(session, code, today=today, on=on, thresholds_pct=threshold_pct))


@router.get("/lots/{code}/verdict", responses=tells(VerdictAnswer, problems=(404, 422)))
def verdict(code: CodePath, session: SessionDep, today: TodayDep) -> Response:
    """What to do with one lot and when: sow as usual or thicker, test, grow for seed, get fresh."""
    return sent(show_verdict(session, code, today=today))


@router.get("/lots/{code}/seed-to-keep", responses=tells(SeedToKeepAnswer, problems=(404, 422)))
def lot_to_keep(code: CodePath, session: SessionDep, today: TodayDep) -> Response:
    """How much seed of a lot's variety to keep, for how long, and what is spare to give."""
    return sent(seed_to_keep_of_lot(session, code, today=today))


@router.get("/varieties/{id}/seed-to-keep", responses=tells(SeedToKeepAnswer, problems=(404, 422)))
def variety_to_keep(id: IdPath, session: SessionDep, today: TodayDep) -> Response:
    """How much seed of a variety to keep, for how long, and what is spare to give."""
    return sent(seed_to_keep_of_variety(session, id, today=today))


@router.get("/lots/{code}/test-advice", responses=tells(TestAdviceAnswer, problems=(404, 422)))
def test_advice(code: CodePath, session: SessionDep, today: TodayDep) -> Response:
    """How many seeds of a lot to test, and when to stop early; 0 means don't."""
    return sent(advise_testing(session, code, today=today))


@router.get("/test-suggestions", responses=tells(TestBatchAnswer, problems=(422,)))
def test_suggestions(
    asked: Annotated[TestBatchAsked, Query()], session: SessionDep, today: TodayDep
) -> Response:
    """Which lots to test this winter: the few whose answers save most over all lots they teach."""
    return sent(choose_tests(session, asked, today=today))


@router.get("/verdicts", responses=tells_page(VerdictAnswer))
def verdicts(
    paged: PagedDep,
    wanted: Annotated[VerdictFilter, Query()],
    session: SessionDep,
    today: TodayDep,
) -> Response:
    """Verdicts on all lots, the most urgent first."""
    return paged(lambda page: list_verdicts(session, wanted, page, today=today))


@router.get("/seed-to-save", responses=tells(SeedToSaveAnswer, problems=(422,)))
def seed_to_save(
    session: SessionDep,
    today: TodayDep,
    other_keepers: Annotated[
        list[OtherKeepers], Query(description="rarities to list", examples=[["none", "few"]])
    ] = [OtherKeepers.NONE, OtherKeepers.FEW],  # noqa: B006 - FastAPI copies it
) -> Response:
    """The varieties that need seed saved this year, the rarest first."""
    return sent(show_seed_to_save(session, today=today, other_keepers=other_keepers))
