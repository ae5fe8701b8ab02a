"""The ledger of a lot: seed in, seed out, stock-takes, and undoing."""

from typing import Annotated

from fastapi import Path, Query, Response

from seedbank.database.run_once import Answer
from seedbank.lots import move_seed as seed
from seedbank.lots.answers import MovementAnswer
from seedbank.lots.forms import MovementCreate, StockTakeCreate
from seedbank.lots.tables.ledger import MovementReason
from seedbank.web.api.deps import CodePath, NowDep, OnceDep, SessionDep, TodayDep, api_router
from seedbank.web.api.paging import PagedDep
from seedbank.web.api.responses import body, created, sent, tells, tells_page

router = api_router(prefix="/lots/{code}", tags=["movements"])
SerialPath = Annotated[
    int, Path(ge=1, le=2_147_483_647, description="Counts the lot's movements.", examples=[2])
]
_BOOKED = tells(MovementAnswer, 201, problems=(400, 404, 409, 422))


@router.get("/movements", responses=tells_page(MovementAnswer, problems=(404, 422)))
def browse(
    code: CodePath,
    session: SessionDep,
    paged: PagedDep,
    reason: Annotated[MovementReason | None, Query()] = None,
) -> Response:
    """List a lot's movements in the order booked."""
    return paged(
        lambda page: seed.list_movements(session, code, reason, page),
    )


@router.post("/movements", status_code=201, responses=_BOOKED)
def record(
    code: CodePath,
    form: Annotated[MovementCreate, body(MovementCreate)],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Book seed that came in or went out, counted or weighed."""
    return once(lambda: _booked(seed.record_movement(session, code, form, today=today, now=now)))


@router.get("/movements/{serial}", responses=tells(MovementAnswer, problems=(404, 422)))
def show(code: CodePath, serial: SerialPath, session: SessionDep) -> Response:
    """Show one movement."""
    return sent(seed.show_movement(session, code, serial))


@router.post("/movements/{serial}/undo", status_code=201, responses=_BOOKED)
def undo(
    code: CodePath,
    serial: SerialPath,
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Undo a movement by booking its opposite; both stay on record."""
    return once(lambda: _booked(seed.undo_movement(session, code, serial, today=today, now=now)))


@router.post("/stock-takes", status_code=201, responses=_BOOKED)
def take_stock(
    code: CodePath,
    form: Annotated[StockTakeCreate, body(StockTakeCreate, "grams")],
    once: OnceDep,
    session: SessionDep,
    today: TodayDep,
    now: NowDep,
) -> Response:
    """Say what the packet really holds; the difference becomes a movement."""
    return once(lambda: _booked(seed.record_stock_take(session, code, form, today=today, now=now)))


def _booked(movement: MovementAnswer) -> Answer:
    return created(movement, f"/lots/{movement.lot}/movements/{movement.serial}")
