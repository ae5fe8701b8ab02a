"""Reading the ledger: a lot's movements, page by page."""

from sqlalchemy import select
from sqlmodel import Session, col

from seedbank.stock.ledger import Movement, MovementReason
from seedbank.stock.queries import Cursor, Page, fetch, page_of


def get_movement(session: Session, movement_id: int) -> Movement:
    """The movement with this id. Raises Missing: there is none."""
    return fetch(session, Movement, movement_id, what="movement")


def find_movements(
    session: Session,
    lot_id: int,
    *,
    reason: MovementReason | None = None,
    after: Cursor | None = None,
    limit: int = 50,
) -> Page[Movement]:
    """A page of a lot's movements in the order they were booked. Raises BadValue: limit, cursor."""
    query = select(Movement).where(col(Movement.lot_id) == lot_id)
    if reason is not None:
        query = query.where(col(Movement.reason) == reason)
    return page_of(
        session,
        query,
        sort=Movement.serial,
        row_id=Movement.id,
        after=after,
        limit=limit,
        read=lambda row: row[0],
    )
