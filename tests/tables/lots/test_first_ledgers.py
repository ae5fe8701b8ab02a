"""A new lot's ledger kept in memory says the same as the one booked line by line."""

from datetime import date
from typing import Any

import pytest
from sqlmodel import Session, col, select

from seedbank.common.errors import BadValue, Overdrawn, WrongSign
from seedbank.lots.tables.ledger import FirstLedgers, Movement, MovementReason, book
from tests.tables.conftest import NOW, Garden

DAY = date(2026, 9, 1)
LINES = (
    (MovementReason.HARVESTED, 400, 8.0),
    (MovementReason.SOWN, -50, 0.0),
    (MovementReason.STOCK_TAKE, 330, 5.0),
    (MovementReason.GIVEN, -330, 0.0),
)


def _written(session: Session, lot_id: int) -> list[dict[str, Any]]:
    query = select(Movement).where(Movement.lot_id == lot_id).order_by(col(Movement.serial))
    return [row.model_dump(exclude={"id", "lot_id"}) for row in session.exec(query)]


def test_a_ledger_kept_in_memory_is_written_as_if_booked_line_by_line(
    garden: Garden, session: Session
) -> None:
    slow, quick = garden.lot().id, garden.lot().id
    first = FirstLedgers()
    for reason, seeds, error in LINES:
        told: dict[str, Any] = {"on_date": DAY, "note": "n", "recorded_at": NOW}
        told |= {"reason": reason, "seeds": seeds, "seeds_se": error}
        book(session, Movement(lot_id=slow, **told))
        first.book(Movement(lot_id=quick, **told))
    assert _written(session, quick) == []
    first.write(session)
    first.write(session)
    assert _written(session, quick) == _written(session, slow)
    assert len(_written(session, quick)) == len(LINES)


@pytest.mark.parametrize(
    ("fault", "reason", "seeds"),
    [
        (Overdrawn, MovementReason.GIVEN, -11),
        (WrongSign, MovementReason.GIVEN, 3),
    ],
)
def test_what_the_ledger_refuses_is_refused_here_too_and_changes_nothing(
    fault: type[Exception], reason: MovementReason, seeds: int
) -> None:
    first = FirstLedgers()
    first.book(
        Movement(lot_id=1, on_date=DAY, reason=MovementReason.ACQUIRED, seeds=10, recorded_at=NOW)
    )
    with pytest.raises(fault):
        first.book(Movement(lot_id=1, on_date=DAY, reason=reason, seeds=seeds, recorded_at=NOW))
    with pytest.raises(BadValue):
        first.book(
            Movement(
                lot_id=1, reason=MovementReason.STOCK_TAKE, on_date=DAY, seeds=-1, recorded_at=NOW
            )
        )
    all_given = first.book(
        Movement(lot_id=1, on_date=DAY, reason=MovementReason.GIVEN, seeds=-10, recorded_at=NOW)
    )
    assert (all_given.serial, all_given.balance_seeds) == (2, 0)
