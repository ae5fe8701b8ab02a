from datetime import date, datetime

import pytest
from sqlmodel import Session

from seedbank.stock.errors import Missing
from seedbank.stock.ledger import MovementReason, book
from seedbank.stock.movements import find_movements, get_movement
from tests.stock.conftest import Garden


def test_a_lots_movements_come_in_pages_in_the_order_booked(
    session: Session, garden: Garden, now: datetime
) -> None:
    lot, other = garden.lot(seeds=100), garden.lot(seeds=50)
    for day, reason in [(9, "sown"), (3, "given"), (5, "sown")]:
        book(
            session,
            lot_id=lot.id or 0,
            on=date(2027, 1, day),
            reason=MovementReason(reason),
            seeds=-day,
            now=now,
        )
    first = find_movements(session, lot.id or 0, limit=2)
    second = find_movements(session, lot.id or 0, limit=2, after=first.next)
    assert [m.seeds for m in first.items + second.items] == [100, -9, -3, -5]
    assert second.next is None
    sown = find_movements(session, lot.id or 0, reason=MovementReason.SOWN)
    assert [m.seeds for m in sown.items] == [-9, -5]
    assert [m.seeds for m in find_movements(session, other.id or 0).items] == [50]


def test_a_movement_is_found_by_its_id(session: Session, garden: Garden) -> None:
    lot = garden.lot(seeds=5)
    [movement] = find_movements(session, lot.id or 0).items
    assert get_movement(session, movement.id or 0) is movement
    with pytest.raises(Missing, match="movement"):
        get_movement(session, 999)
