"""Lots: what they are, how much is left, where they are kept."""

from typing import Annotated

from fastapi import Query, Response
from pydantic import Field

from seedbank.common.forms import Day
from seedbank.germination.tables import untested_since
from seedbank.lots import take_in_lots as lots
from seedbank.lots.answers import LotAnswer, StayAnswer, StaysAnswer
from seedbank.lots.forms import LotChange, LotCreate, MixtureCreate, MixtureTold, StayCreate
from seedbank.lots.mix_lots import mix_lots, tell_mixture
from seedbank.lots.show_lots import list_lots, show_lot, show_stays
from seedbank.lots.tables.lot_search import LotFilter
from seedbank.science.verdicts.verdict import Verdict
from seedbank.verdicts.list_verdicts import lots_with_verdict
from seedbank.web.api.deps import CodePath, NowDep, OnceDep, SessionDep, TodayDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, created, sent, tells, tells_page

router = api_router(prefix="/lots", tags=["lots"])


class LotQuery(LotFilter):
    """What the lots listed must all be."""

    untested_since: Day | None = Field(
        default=None, description="no test finished on that day or later"
    )
    verdict: Verdict | None = Field(default=None, description="judged so today")


@router.get("", responses=tells_page(LotAnswer))
def browse(
    paged: PagedDep, wanted: Annotated[LotQuery, Query()], session: SessionDep, today: TodayDep
) -> Response:
    """List lots by code."""
    since, verdict = wanted.untested_since, wanted.verdict
    condition = None if since is None else untested_since(since)
    ids = None if verdict is None else lots_with_verdict(session, verdict, today=today)
    return paged(
        lambda page: list_lots(session, wanted, page, today=today, ids=ids, condition=condition)
    )


@router.post("", status_code=201, responses=tells(LotAnswer, 201, problems=(400, 409, 422)))
def take_in(
    form: Annotated[LotCreate, body(LotCreate)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Take a lot in: its code is given out and its first seed booked."""
    return once(
        lambda: created(lots.take_in_lot(session, form, today=today, now=now), "/lots/{0.code}")
    )


@router.post(
    "/mixtures", status_code=201, responses=tells(LotAnswer, 201, problems=(400, 409, 422))
)
def mix(
    form: Annotated[MixtureCreate, body(MixtureCreate)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Mix seed of lots: each gives its share, and the mixture is a lot of its own."""
    return once(lambda: created(mix_lots(session, form, today=today, now=now), "/lots/{0.code}"))


@router.put("/{code}/mixture", responses=tells(LotAnswer, problems=(400, 404, 412, 422, 428)))
def say_mixture(
    code: CodePath,
    form: Annotated[MixtureTold, body(MixtureTold)],
    expected: IfMatchDep,
    session: SessionDep,
    today: TodayDep,
) -> Response:
    """Say what a lot is a mixture of, as far as it is known."""
    return sent(tell_mixture(session, code, form, expected=expected, today=today))


@router.get("/{code}", responses=tells(LotAnswer, problems=(404, 422)))
def show(code: CodePath, session: SessionDep, today: TodayDep) -> Response:
    """Show one lot."""
    return sent(show_lot(session, code, today=today))


@router.patch("/{code}", responses=tells(LotAnswer, problems=(400, 404, 409, 412, 422, 428)))
def change(
    code: CodePath,
    form: Annotated[LotChange, body(LotChange, "harvest_year")],
    expected: IfMatchDep,
    session: SessionDep,
    today: TodayDep,
) -> Response:
    """Change a lot's description; its amount changes by movements only."""
    return sent(lots.change_lot(session, code, form, expected=expected, today=today))


@router.delete(
    "/{code}",
    status_code=204,
    responses=tells(None, 204, problems=(400, 404, 409, 412, 422, 428)),
)
def delete(code: CodePath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take out a lot that never held seed."""
    lots.delete_lot(session, code, expected=expected)
    return Response(status_code=204)


@router.get("/{code}/stays", responses=tells(StaysAnswer, problems=(404, 422)))
def stays(code: CodePath, session: SessionDep) -> Response:
    """Where a lot has been kept, earliest first."""
    return sent(show_stays(session, code))


@router.post(
    "/{code}/stays", status_code=201, responses=tells(StayAnswer, 201, problems=(400, 404, 422))
)
def move(
    code: CodePath,
    form: Annotated[StayCreate, body(StayCreate)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
) -> Response:
    """Put a lot in a place; a second place on one day replaces the first."""
    return once(
        lambda: created(lots.move_lot_to(session, code, form, today=today), "/lots/{0.lot}/stays")
    )
