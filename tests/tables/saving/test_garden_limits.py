import pytest
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, func, select

from seedbank.saving.tables import GardenLimits, garden_limits, garden_limits_row


def test_limits_never_set_are_no_limits_and_asking_writes_nothing(session: Session) -> None:
    assert garden_limits(session).seed_crops_a_year is None
    assert session.exec(select(func.count()).select_from(GardenLimits)).one() == 0


def test_limits_are_one_row_however_often_they_are_put_in(session: Session) -> None:
    garden_limits_row(session).seed_crops_a_year = 7
    session.flush()
    assert garden_limits_row(session).seed_crops_a_year == 7
    assert garden_limits(session).version == 1
    session.add(GardenLimits(id=2))
    with pytest.raises(IntegrityError):
        session.flush()
