from datetime import date
from typing import Any

import pytest
from sqlmodel import Session

from seedbank.common.errors import NotThere
from seedbank.database.queries import Paging
from seedbank.germination.tables import (
    SeedCounts,
    TestFilter,
    find_test,
    find_tests,
    record_count,
    set_replicates,
)
from tests.tables.conftest import NOW, Garden

TODAY = date(2027, 3, 1)


def _ids(session: Session, **wanted: Any) -> list[int | None]:
    return [test.id for test in find_tests(session, TestFilter(**wanted)).items]


def test_tests_are_found_by_lot_and_by_being_open_or_finished(
    session: Session, garden: Garden
) -> None:
    lot = garden.lot()
    a = garden.test(lot_id=lot.id).id
    b = garden.test(lot_id=lot.id, finished_on=date(2027, 2, 1)).id
    c = garden.test().id
    assert _ids(session) == [a, b, c]
    assert _ids(session, lot=lot.code) == [a, b]
    assert _ids(session, open=True) == [a, c]
    assert _ids(session, open=False) == [b]
    assert _ids(session, finished_from=date(2027, 2, 1)) == [b]
    assert _ids(session, finished_from=date(2027, 2, 2)) == []


def test_a_count_is_due_from_its_day_until_it_is_done(session: Session, garden: Garden) -> None:
    test = garden.test(first_count_due=TODAY, final_count_due=date(2027, 3, 8))
    [replicate] = set_replicates(session, test.id or 0, [10])
    assert _ids(session, due_by=date(2027, 2, 28)) == []
    assert _ids(session, due_by=TODAY) == [test.id]
    record_count(
        session, replicate_id=replicate.id or 0, on=TODAY, judged=SeedCounts(normal=4), now=NOW
    )
    assert _ids(session, due_by=TODAY) == []
    assert _ids(session, due_by=date(2027, 3, 8)) == [test.id]
    test.finished_on = date(2027, 3, 8)
    session.add(test)
    assert _ids(session, due_by=date(2027, 3, 8)) == []


def test_a_look_before_the_first_count_does_not_stand_for_it(
    session: Session, garden: Garden
) -> None:
    test = garden.test(first_count_due=TODAY, final_count_due=date(2027, 3, 8))
    [replicate] = set_replicates(session, test.id or 0, [10])
    record_count(
        session,
        replicate_id=replicate.id or 0,
        on=date(2027, 2, 27),
        judged=SeedCounts(normal=1),
        now=NOW,
    )
    assert _ids(session, due_by=TODAY) == [test.id]


def test_a_test_without_due_days_is_never_due(session: Session, garden: Garden) -> None:
    garden.test()
    assert _ids(session, due_by=date(2199, 1, 1)) == []


def test_a_test_is_found_by_its_id(session: Session, garden: Garden) -> None:
    test = garden.test()
    assert find_test(session, test.id or 0) is test
    with pytest.raises(NotThere):
        find_test(session, 999)


def test_tests_come_in_pages_by_the_day_they_were_started(session: Session, garden: Garden) -> None:
    days = [date(2027, 1, 3), date(2027, 1, 1), date(2027, 1, 2), date(2027, 1, 1)]
    ids = [garden.test(started_on=day).id for day in days]
    first = find_tests(session, paging=Paging(3))
    assert [test.id for test in first.items] == [ids[1], ids[3], ids[2]]
    second = find_tests(session, paging=Paging(3, first.next))
    assert ([test.id for test in second.items], second.next) == ([ids[0]], None)
