import pytest
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from seedbank.common.errors import Missing
from seedbank.saving.tables import GearKind, IsolationGear, find_all_gear, get_gear


def test_gear_comes_by_name_and_can_be_asked_for_by_kind(session: Session) -> None:
    for name, gear in (("Fine net", GearKind.NET), ("Big cage", GearKind.CAGE)):
        session.add(IsolationGear(name=name, gear=gear, pieces=2, covers_m2=1.5))
    session.flush()
    assert [one.name for one in find_all_gear(session).items] == ["Big cage", "Fine net"]
    assert [one.name for one in find_all_gear(session, gear=GearKind.NET).items] == ["Fine net"]
    assert find_all_gear(session, gear=GearKind.BAG).items == []


@pytest.mark.parametrize("wrong", [{"pieces": 0}, {"covers_m2": 0.0}])
def test_gear_there_is_none_of_or_that_covers_nothing_is_refused(
    session: Session, wrong: dict[str, float]
) -> None:
    session.add(IsolationGear(name="x", gear=GearKind.BAG, **wrong))
    with pytest.raises(IntegrityError):
        session.flush()


def test_gear_that_is_not_there_is_missing(session: Session) -> None:
    with pytest.raises(Missing, match="isolation gear"):
        get_gear(session, 7)
