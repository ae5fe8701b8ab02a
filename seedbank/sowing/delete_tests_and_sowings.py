"""Tests and sowings recorded by mistake, taken back: their seed returns to the lot."""

from collections.abc import Collection
from datetime import date, datetime

from sqlmodel import Session, col, select

from seedbank.common.errors import Conflict
from seedbank.database.editing import claim_version
from seedbank.database.transaction import transaction
from seedbank.germination.tables.germination_tests import Count, Replicate, find_test
from seedbank.lots.move_seed import undo
from seedbank.lots.tables.movements import get_movement
from seedbank.saving.tables.seed_crops import SeedCrop
from seedbank.sowing.tables.sowings import Emergence, Loss, find_sowing


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
        mine = select(Replicate.id).where(Replicate.test_id == number)
        for count in session.exec(select(Count).where(col(Count.replicate_id).in_(mine))):
            session.delete(count)
        session.flush()
        for replicate in session.exec(select(Replicate).where(Replicate.test_id == number)):
            session.delete(replicate)
        session.flush()
        session.delete(test)
        session.flush()


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
        for crop in session.exec(select(SeedCrop).where(SeedCrop.sowing_id == number)):
            crop.sowing_id = None  # it was sown all the same; its day stays on record
            session.add(crop)
        for row in (
            *session.exec(select(Emergence).where(Emergence.sowing_id == number)),
            *session.exec(select(Loss).where(Loss.sowing_id == number)),
        ):
            session.delete(row)
        session.flush()
        session.delete(sowing)
        session.flush()


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
