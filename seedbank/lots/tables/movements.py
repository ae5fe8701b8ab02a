"""Reading the ledger page by page: a lot's movements as booked, or the last ones first."""

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import and_, select
from sqlalchemy.orm import aliased
from sqlmodel import Session, col

from seedbank.database.queries import FIRST, Order, Page, Paging, fetch, matching, page_of
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.tables.ledger import Movement, MovementReason
from seedbank.lots.tables.lots import Lot


@dataclass(frozen=True, slots=True)
class MovementEntry:
    """A movement in a list over many lots, with what moved."""

    movement: Movement
    lot: Lot
    variety: Variety
    kind: Kind


def get_movement(session: Session, movement_id: int) -> Movement:
    """The movement with this id. Raises Missing: there is none."""
    return fetch(session, Movement, movement_id, what="movement")


def find_movements(
    session: Session, lot_id: int, paging: Paging = FIRST, *, reason: MovementReason | None = None
) -> Page[Movement]:
    """A page of a lot's movements in the order they were booked. Raises BadValue: limit, cursor."""
    of_lot = select(Movement).where(col(Movement.lot_id) == lot_id)
    query = matching(of_lot, (col(Movement.reason), reason))
    return page_of(session, query, Order(Movement.serial, Movement.id), paging)


def first_counts(session: Session, movements: Collection[Movement]) -> set[int]:
    """Ids of those that are stock-takes of seed nobody had counted before, in one query."""
    takes = [
        movement.id
        for movement in movements
        if movement.reason is MovementReason.STOCK_TAKE and movement.reverses_id is None
    ]
    if not takes:
        return set()
    before = aliased(Movement)
    query = select(col(Movement.id)).join(
        before,
        and_(
            col(before.lot_id) == col(Movement.lot_id),
            col(before.serial) == col(Movement.serial) - 1,
        ),
    )
    query = query.where(col(Movement.id).in_(takes), col(before.balance_seeds).is_(None))
    return {int(number) for number in session.execute(query).scalars() if number is not None}


def find_last_movements(
    session: Session, paging: Paging = FIRST, *, lot_id: int | None = None
) -> Page[MovementEntry]:
    """A page of all movements, or of one lot's, the last booked first.

    Raises BadValue: limit or cursor.
    """
    query = (
        select(Movement, Lot, Variety, Kind)
        .join(Lot, col(Lot.id) == col(Movement.lot_id))
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
    )
    if lot_id is not None:
        query = query.where(col(Movement.lot_id) == lot_id)
    return page_of(
        session,
        query,
        Order(Movement.id if lot_id is None else Movement.serial, Movement.id, descending=True),
        paging,
        read=lambda row: MovementEntry(row[0], row[1], row[2], row[3]),
    )
