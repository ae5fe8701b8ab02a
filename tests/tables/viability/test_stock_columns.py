"""The collection as columns says what its rows say, one by one."""

import math
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from sqlmodel import Session, col, select

from seedbank.germination.tables import GerminationTest, totals
from seedbank.kinds.tables import Variety
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.tables.lots import Lot, Origin
from seedbank.lots.tables.places import Stay
from seedbank.viability.tables.stock_columns import (
    EPOCH,
    KEEPERS,
    Collection,
    day_date,
    day_number,
    read_collection,
)

DEMO = Path(__file__).parents[3] / "demo_data"
NOW = datetime(2027, 2, 20, 12, tzinfo=UTC)


@pytest.fixture
def demo(demo_stock: Session) -> Session:
    return demo_stock


def same(seen: float, day: date | float | None) -> bool:
    """Whether a column's number is the row's value, nan standing for none."""
    if day is None:
        return math.isnan(seen)
    return seen == ((day - EPOCH).days if isinstance(day, date) else day)


def check_lot(session: Session, seen: Collection, at: int) -> None:
    lot = session.get_one(Lot, int(seen.lot_id[at]))
    variety = session.get_one(Variety, lot.variety_id)
    assert seen.code[at] == lot.code
    assert (seen.variety_id[at], seen.variety[at]) == (variety.id, variety.name)
    assert seen.kind_id[at] == variety.kind_id
    assert seen.bought[at] == (lot.origin == Origin.BOUGHT)
    assert seen.saved_here[at] == (lot.origin in (Origin.SELF_SAVED, Origin.COLLECTED))
    assert same(seen.harvest_year[at], lot.harvest_year)
    assert same(seen.harvest_day[at], lot.harvest_date)
    assert seen.harvest_estimated[at] == lot.harvest_estimated
    assert same(seen.acquired_day[at], lot.acquired_on)
    assert same(seen.created_day[at], lot.created_at.date())
    assert seen.treated[at] == lot.treated
    assert KEEPERS[seen.other_keepers[at]] == variety.other_keepers
    assert seen.breeding[at] == variety.breeding
    assert (seen.plants_wanted[at], seen.reserve[at]) == (
        variety.plants_wanted,
        variety.reserve_seeds,
    )
    booked = session.exec(select(Movement.seeds).where(col(Movement.lot_id) == lot.id)).all()
    assert seen.balance[at] == sum(booked)
    tests = session.exec(
        select(GerminationTest)
        .where(col(GerminationTest.lot_id) == lot.id)
        .order_by(col(GerminationTest.finished_on))
    ).all()
    assert seen.open_test[at] == any(test.finished_on is None for test in tests)
    mine = np.flatnonzero(seen.tests.lot == at)
    finished = [test for test in tests if test.finished_on]
    expected = []
    for test in finished:
        judged = totals(session, [test.id or 0])[test.id or 0]
        expected.append(
            (
                (test.started_on - EPOCH).days,
                sum(one.judged.normal for one in judged),
                sum(one.judged.normal + one.judged.fresh + one.judged.hard for one in judged),
                sum(one.seeds_set for one in judged),
                test.correlation,
            )
        )
    columns = (
        seen.tests.day, seen.tests.normal, seen.tests.viable, seen.tests.seeds,
        seen.tests.correlation,
    )  # fmt: skip
    found = [tuple(float(column[m]) for column in columns) for m in mine]
    assert sorted(found) == sorted(expected)
    stays = session.exec(
        select(Stay).where(col(Stay.lot_id) == lot.id).order_by(col(Stay.from_date))
    ).all()
    kept = np.flatnonzero(seen.stays.lot == at)
    assert [(seen.stays.day[m], seen.stays.place_id[m]) for m in kept] == [
        ((stay.from_date - EPOCH).days, stay.place_id) for stay in stays
    ]


def test_every_column_of_the_demo_says_what_its_rows_say(demo: Session) -> None:
    seen = read_collection(demo)
    assert seen.lot_id.tolist() == sorted(demo.exec(select(Lot.id)).all())
    assert seen.open_test.any()
    assert seen.treated.any()
    assert np.isnan(seen.harvest_year).any()
    assert set(seen.other_keepers.tolist()) == {0, 1, 2}
    for at in range(seen.size):
        check_lot(demo, seen, at)


def test_part_of_the_collection_reads_as_it_does_within_the_whole(demo: Session) -> None:
    tested = demo.exec(select(GerminationTest.lot_id)).all()
    asked = [tested[-1], tested[0], 3, 999_999]
    seen = read_collection(demo, asked)
    assert seen.lot_id.tolist() == sorted(set(asked) - {999_999})
    for at in range(seen.size):
        check_lot(demo, seen, at)


def test_an_empty_collection_and_one_asked_for_nothing_have_no_rows(
    session: Session, demo: Session
) -> None:
    for seen in (read_collection(session), read_collection(demo, [])):
        assert seen.size == 0
        assert seen.balance.shape == seen.harvest_day.shape == seen.open_test.shape == (0,)
        assert seen.tests.lot.size == seen.stays.lot.size == 0


def test_stays_begun_by_a_day_leave_out_moves_still_to_come(demo: Session) -> None:
    seen = read_collection(demo)
    day = float(np.median(seen.stays.day))
    begun = seen.stays_until(day)
    assert begun.day.tolist() == [d for d in seen.stays.day.tolist() if d <= day]
    assert 0 < begun.lot.size < seen.stays.lot.size
    assert seen.stays_until(day - 0.5).lot.size < begun.lot.size


def test_a_day_number_and_its_date_go_both_ways() -> None:
    assert day_number(date(2000, 1, 1)) == 0
    for day in (date(1800, 9, 15), date(2024, 2, 29), date(2199, 12, 31)):
        assert day_date(day_number(day)) == day
        assert day_date(day_number(day) + 0.99) == day
        assert day_date(day_number(day) - 0.01) == day - timedelta(days=1)


@pytest.mark.parametrize("day", [math.inf, math.nan, 3e6, 1e300])
def test_a_day_beyond_any_calendar_has_no_date(day: float) -> None:
    assert day_date(day) is None
