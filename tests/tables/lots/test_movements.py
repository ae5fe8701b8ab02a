from datetime import date, datetime

import pytest
from sqlmodel import Session

from seedbank.common.errors import Missing
from seedbank.database.queries import Paging
from seedbank.lots.tables.ledger import Movement, MovementReason, book
from seedbank.lots.tables.movements import find_last_movements, find_movements, get_movement
from tests.tables.conftest import Garden


def test_a_lots_movements_come_in_pages_in_the_order_booked(
    session: Session, garden: Garden, now: datetime
) -> None:
    lot, other = garden.lot(seeds=100), garden.lot(seeds=50)
    for day, reason in [(9, "sown"), (3, "given"), (5, "sown")]:
        book(
            session,
            Movement(
                lot_id=lot.id or 0,
                on_date=date(2027, 1, day),
                reason=MovementReason(reason),
                seeds=-day,
                recorded_at=now,
            ),
        )
    first = find_movements(session, lot.id or 0, Paging(2))
    second = find_movements(session, lot.id or 0, Paging(2, first.next))
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


def test_the_last_movements_come_first_over_all_lots_or_of_one(
    session: Session, garden: Garden, now: datetime
) -> None:
    first, second = garden.lot(seeds=100), garden.lot(seeds=50)
    for lot, seeds in ((first, -7), (second, -5), (first, -3)):
        book(
            session,
            Movement(
                lot_id=lot.id or 0,
                on_date=date(2027, 1, 1),
                reason=MovementReason.GIVEN,
                seeds=seeds,
                recorded_at=now,
            ),
        )
    page = find_last_movements(session, Paging(2))
    rest = find_last_movements(session, Paging(9, page.next))
    assert [one.movement.seeds for one in page.items + rest.items] == [-3, -5, -7, 50, 100]
    assert [one.lot for one in page.items] == [first, second]
    assert page.items[0].variety.id == first.variety_id
    mine = find_last_movements(session, Paging(2), lot_id=first.id)
    more = find_last_movements(session, Paging(2, mine.next), lot_id=first.id)
    assert [one.movement.seeds for one in mine.items + more.items] == [-3, -7, 100]
