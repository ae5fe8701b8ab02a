"""Lot passports: what travels with given-away seed, written here and taken in there."""

from typing import Annotated

from fastapi import Query, Response

from seedbank.common.forms import Line
from seedbank.database.run_once import Answer
from seedbank.interchange.passport.forms import Passport, PassportArrival, PassportTakenIn
from seedbank.interchange.passport.take_in_passport import take_in_passport
from seedbank.interchange.passport.write_passport import write_passport
from seedbank.web.api.deps import CodePath, NowDep, OnceDep, SessionDep, TodayDep, api_router
from seedbank.web.api.responses import body, created, sent, tells

router = api_router(tags=["passports"])


@router.get("/lots/{code}/passport", responses=tells(Passport, problems=(404, 409, 422)))
def show(
    code: CodePath,
    session: SessionDep,
    today: TodayDep,
    seeds: Annotated[
        int | None,
        Query(description="seeds given away; left out: some, not counted", ge=1, le=10_000_000),
    ] = None,
    seeds_se: Annotated[
        float, Query(description="standard error of that number", ge=0, le=10_000_000)
    ] = 0.0,
    keeper: Annotated[Line, Query(description="who gives it, if that may be told")] = "",
) -> Response:
    """Write the passport for seed of a lot that is given away today; nothing is booked by it."""
    return sent(
        write_passport(session, code, seeds=seeds, seeds_se=seeds_se, keeper=keeper, today=today)
    )


@router.post(
    "/lot-passports",
    status_code=201,
    responses=tells(PassportTakenIn, 201, problems=(400, 409, 422)),
)
def take_in(
    form: Annotated[PassportArrival, body(PassportArrival)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Take in seed that came with a passport, tests and all; the same one again books nothing."""

    def action() -> Answer:
        taken = take_in_passport(session, form, today=today, now=now)
        return created(taken, "/lots/{0.lot.code}", of=taken.lot)

    return once(action)
