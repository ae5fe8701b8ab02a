"""Tests and sowings recorded by mistake, taken back: their seed returns to the lot."""

from collections.abc import Collection
from datetime import date, datetime

from sqlmodel import Session

from seedbank.common.errors import Conflict
from seedbank.database.editing import claim_version
from seedbank.database.references import delete_row
from seedbank.database.transaction import transaction
from seedbank.germination.tables.germination_tests import find_test
from seedbank.lots.move_seed import undo
from seedbank.lots.tables.movements import get_movement
from seedbank.sowing.tables.sowings import find_sowing


def delete_test(
    session: Session,
    number: int,
    *,
    expected: Collection[int] | None,
    today: date,
    now: datetime,
) -> None:
    """Take back a test recorded by mistake; its seed returns to the lot.

    Where the packet has been counted since, that count already says what is there and stands.
    Raises NotThere, StaleVersion.
    """
    with transaction(session):
        test = find_test(session, number)
        claim_version(session, test, what="germination test", expected=expected)
        _return_seed(session, test.movement_id, f"undoes test {number}", today=today, now=now)
        delete_row(session, test)


def delete_sowing(
    session: Session,
    number: int,
    *,
    expected: Collection[int] | None,
    today: date,
    now: datetime,
) -> None:
    """Take back a sowing recorded by mistake; its seed returns to the lot, as with a test.

    Raises NotThere, StaleVersion.
    """
    with transaction(session):
        sowing = find_sowing(session, number)
        claim_version(session, sowing, what="sowing", expected=expected)
        _return_seed(session, sowing.movement_id, f"undoes sowing {number}", today=today, now=now)
        delete_row(session, sowing)  # a seed crop sown with it keeps its day of sowing


def _return_seed(
    session: Session, movement_id: int | None, note: str, *, today: date, now: datetime
) -> None:
    """Give back the seed a withdrawn test or sowing took, unless the packet was counted since."""
    if movement_id is None:
        return
    try:
        undo(session, get_movement(session, movement_id), on=today, note=note, now=now)
    except Conflict:
        return
