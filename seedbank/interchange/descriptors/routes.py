"""Lots in the genebanks' passport descriptors (FAO/Bioversity V.2.1), told and taken in."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.interchange.descriptors.answers import (
    DescriptorsAnswer,
    RecordsArrival,
    RecordsTakenIn,
)
from seedbank.interchange.descriptors.take_in_descriptors import take_in_records
from seedbank.interchange.descriptors.write_descriptors import write_descriptors
from seedbank.web.api.deps import CodePath, NowDep, OnceDep, SessionDep, TodayDep, api_router
from seedbank.web.api.responses import body, created, sent, tells

router = api_router(tags=["descriptors"])


@router.get("/lots/{code}/descriptors", responses=tells(DescriptorsAnswer, problems=(404, 422)))
def show(
    code: CodePath,
    session: SessionDep,
    today: TodayDep,
    institute: Annotated[
        str, Query(description="WIEWS code of the institute that keeps it", max_length=10)
    ] = "",
) -> Response:
    """Tell a lot as a genebank's record: what is on record, nothing guessed."""
    return sent(write_descriptors(session, code, institute=institute, today=today))


@router.post(
    "/lot-descriptors",
    status_code=201,
    responses=tells(RecordsTakenIn, 201, problems=(400, 409, 422)),
)
def take_in(
    form: Annotated[RecordsArrival, body(RecordsArrival)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Take in seed that came with records of the standard: a lot is made of each, all or none."""
    return once(
        lambda: created(
            take_in_records(session, form, today=today, now=now), "/lots/{0.lots[0].code}"
        )
    )
