from datetime import date
from typing import Any

import pytest
from sqlmodel import Session

from seedbank.common.errors import Missing
from seedbank.database.queries import Paging
from seedbank.emergence.tables import SowingFilter, find_sowings, get_sowing
from tests.tables.conftest import Garden


def _ids(session: Session, **wanted: Any) -> list[int | None]:
    return [sowing.id for sowing in find_sowings(session, SowingFilter(**wanted)).items]


def test_sowings_are_found_by_lot_day_and_being_open(session: Session, garden: Garden) -> None:
    lot = garden.lot()
    a = garden.sowing(lot_id=lot.id, sown_on=date(2026, 4, 1)).id
    b = garden.sowing(sown_on=date(2026, 5, 1), finished_on=date(2026, 6, 1)).id
    assert _ids(session) == [a, b]
    assert _ids(session, lot=lot.code) == [a]
    assert _ids(session, open=True) == [a]
    assert _ids(session, open=False) == [b]
    assert _ids(session, sown_from=date(2026, 5, 1)) == [b]
    assert _ids(session, sown_to=date(2026, 4, 30)) == [a]


def test_a_sowing_is_found_by_its_id(session: Session, garden: Garden) -> None:
    sowing = garden.sowing()
    assert get_sowing(session, sowing.id or 0) is sowing
    with pytest.raises(Missing, match="sowing"):
        get_sowing(session, 999)


def test_sowings_come_in_pages_by_day(session: Session, garden: Garden) -> None:
    days = [date(2026, 4, 3), date(2026, 4, 1), date(2026, 4, 2), date(2026, 4, 1)]
    ids = [garden.sowing(sown_on=day).id for day in days]
    first = find_sowings(session, paging=Paging(3))
    assert [sowing.id for sowing in first.items] == [ids[1], ids[3], ids[2]]
    second = find_sowings(session, paging=Paging(3, first.next))
    assert ([sowing.id for sowing in second.items], second.next) == ([ids[0]], None)
