"""The shelf, and work on many lots at once."""

from typing import Annotated

from fastapi import Query, Response
from pydantic import Field

from seedbank.common.forms import MOST, Filter, KindAsked, VarietyAsked, WordsAsked
from seedbank.database.run_once import Answer
from seedbank.kinds.tables import OtherKeepersAsked
from seedbank.lots.tables.lot_search import HarvestYearAsked
from seedbank.lots.tables.lots import Origin
from seedbank.overview.answers import BatchAnswer, ShelfAnswer
from seedbank.overview.forms import BatchCreate, ShelfAsked, ShelfOrder
from seedbank.overview.show_shelf import show_shelf
from seedbank.overview.undo_batch import undo_batch
from seedbank.overview.work_on_lots import show_batch, work_on_lots
from seedbank.science.verdicts.verdict import Verdict
from seedbank.web.api.deps import IdPath, NowDep, OnceDep, SessionDep, TodayDep, api_router
from seedbank.web.api.responses import body, created, sent, tells

router = api_router(tags=["shelf"])


class PacketFilter(Filter):
    """Which packets, in which order, and which page of them."""

    words: WordsAsked = None  # in the variety, kind, code, donor, place or notes, or near a name
    place: Annotated[int | None, Field(ge=1, le=2_147_483_647, description="its number")] = None
    state: Annotated[Verdict | None, Field(description="what to do with its seed")] = None
    kind: KindAsked = None
    variety: VarietyAsked = None
    origin: Origin | None = None
    other_keepers: OtherKeepersAsked = None
    year_from: HarvestYearAsked = None
    year_to: HarvestYearAsked = None
    seeds_to: Annotated[int | None, Field(ge=0, le=MOST)] = Field(
        default=None, description="holding so many seeds or fewer, counted"
    )
    begun: bool = Field(
        default=False, description="on a towel, or a seed crop of the variety is under way"
    )
    sort: ShelfOrder = Field(
        default=ShelfOrder.ALIVE,
        description="the weakest, oldest, most urgent, rarest, least first; else by the alphabet",
    )
    falling: bool = Field(default=False, description="the other way about")
    page: int = Field(default=1, ge=1, le=10_000, description="number of the page")
    limit: int = Field(default=50, ge=1, le=200, description="packets on a page")


@router.get("/packets", responses=tells(ShelfAnswer, problems=(422,)))
def shelf(
    wanted: Annotated[PacketFilter, Query()], session: SessionDep, today: TodayDep
) -> Response:
    """List the packets with seed, a page at a time, with how alive each is and what to do."""
    asked = ShelfAsked.model_validate(wanted.model_dump(exclude_none=True))
    return sent(show_shelf(session, asked.question, asked.view, today=today))


@router.post(
    "/batches", status_code=201, responses=tells(BatchAnswer, 201, problems=(400, 409, 422))
)
def work(
    form: Annotated[BatchCreate, body(BatchCreate, "among", "new_place", "amount", "share")],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Move, give, throw out or test many lots, or say who else keeps them: all or none."""
    return once(lambda: _done(work_on_lots(session, form, today=today, now=now)))


@router.get("/batches/{id}", responses=tells(BatchAnswer, problems=(404, 422)))
def show(id: IdPath, session: SessionDep) -> Response:
    """Show what was done to many lots."""
    return sent(show_batch(session, id))


@router.post(
    "/batches/{id}/undo",
    status_code=201,
    responses=tells(BatchAnswer, 201, problems=(400, 404, 409, 422)),
)
def undo(id: IdPath, once: OnceDep, session: SessionDep, today: TodayDep, now: NowDep) -> Response:
    """Undo it: each lot gets its own place, amount and keepers back, or none does."""
    return once(lambda: _done(undo_batch(session, id, today=today, now=now)))


def _done(batch: BatchAnswer) -> Answer:
    return created(batch, "/batches/{0.id}")
