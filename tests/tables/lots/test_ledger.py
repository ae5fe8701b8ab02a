import math
from datetime import date, datetime
from typing import Any

import pytest
from sqlalchemy import func, select, text
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session

from seedbank.common.errors import BadValue, CannotReverse, Missing, Overdrawn, WrongSign
from seedbank.lots.tables.ledger import (
    Balance,
    Movement,
    MovementReason,
    balance,
    balances,
    book,
)
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.reversing import reverse
from tests.tables.conftest import Garden

DAY = date(2027, 2, 1)


def _book(session: Session, lot: Lot, reason: str, seeds: int, **values: Any) -> Movement:
    now = datetime.fromisoformat("2027-03-01T09:30:00+00:00")
    defaults: dict[str, Any] = {"on_date": DAY, "recorded_at": now}
    return book(
        session,
        Movement(
            lot_id=lot.id or 0, reason=MovementReason(reason), seeds=seeds, **defaults | values
        ),
    )


def _count(session: Session) -> int:
    return session.scalar(select(func.count()).select_from(Movement)) or 0


def test_a_balance_is_the_sum_of_the_movements(session: Session, garden: Garden) -> None:
    lot = garden.lot()
    for reason, seeds in [("acquired", 200), ("tested", -50), ("sown", -75), ("given", -5)]:
        _book(session, lot, reason, seeds)
    assert balance(session, lot.id or 0) == Balance(70, 0.0)


def test_movements_are_numbered_and_carry_the_running_balance(
    session: Session, garden: Garden
) -> None:
    lot = garden.lot()
    booked = [_book(session, lot, "acquired", 200), _book(session, lot, "sown", -75)]
    assert [(m.serial, m.balance_seeds) for m in booked] == [(1, 200), (2, 125)]


def test_taking_the_last_seed_is_allowed(session: Session, garden: Garden) -> None:
    lot = garden.lot(seeds=10)
    assert _book(session, lot, "discarded", -10).balance_seeds == 0


def test_taking_more_than_the_balance_is_refused_and_changes_nothing(
    session: Session, garden: Garden
) -> None:
    lot = garden.lot(seeds=10)
    with pytest.raises(Overdrawn) as refused:
        _book(session, lot, "sown", -11)
    assert (refused.value.lot_id, refused.value.held, refused.value.asked) == (lot.id, 10, 11)
    assert _count(session) == 1
    assert balance(session, lot.id or 0) == Balance(10, 0.0)


def test_another_lots_seed_does_not_help(session: Session, garden: Garden) -> None:
    garden.lot(seeds=1_000)
    with pytest.raises(Overdrawn):
        _book(session, garden.lot(seeds=10), "sown", -11)


def test_a_lot_that_is_not_there_is_missing(session: Session, now: datetime) -> None:
    with pytest.raises(Missing) as refused:
        book(
            session,
            Movement(
                lot_id=7, on_date=DAY, reason=MovementReason.ACQUIRED, seeds=1, recorded_at=now
            ),
        )
    assert (refused.value.what, refused.value.key) == ("lot", 7)


@pytest.mark.parametrize("reason", ["acquired", "harvested"])
@pytest.mark.parametrize("seeds", [0, -1])
def test_seed_that_comes_in_is_above_nought(
    session: Session, garden: Garden, reason: str, seeds: int
) -> None:
    with pytest.raises(WrongSign):
        _book(session, garden.lot(seeds=10), reason, seeds)
    assert _count(session) == 1


@pytest.mark.parametrize("reason", ["tested", "sown", "given", "discarded"])
@pytest.mark.parametrize("seeds", [0, 1])
def test_seed_that_goes_out_is_below_nought(
    session: Session, garden: Garden, reason: str, seeds: int
) -> None:
    with pytest.raises(WrongSign):
        _book(session, garden.lot(seeds=10), reason, seeds)
    assert _count(session) == 1


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("seeds_se", -0.1),
        ("seeds_se", math.nan),
        ("seeds_se", math.inf),
        ("grams", -1.0),
        ("grams", math.nan),
        ("thousand_seed_weight_g", 0.0),
        ("thousand_seed_weight_g", math.nan),
    ],
)
def test_impossible_weights_and_errors_are_refused(
    session: Session, garden: Garden, field: str, value: float
) -> None:
    with pytest.raises(BadValue) as refused:
        _book(session, garden.lot(), "acquired", 10, **{field: value})
    assert refused.value.field == field
    assert _count(session) == 0


@pytest.mark.parametrize(("counted", "change"), [(64, -6), (70, 0), (81, 11), (0, -70)])
def test_a_stock_take_books_the_difference(
    session: Session, garden: Garden, counted: int, change: int
) -> None:
    lot = garden.lot(seeds=70)
    taken = _book(session, lot, "stock-take", counted)
    assert (taken.reason, taken.seeds) == (MovementReason.STOCK_TAKE, change)
    assert balance(session, lot.id or 0) == Balance(counted, 0.0)


def test_a_first_stock_take_needs_no_movement_before(session: Session, garden: Garden) -> None:
    lot = garden.lot()
    _book(session, lot, "stock-take", 30, seeds_se=4.0)
    assert balance(session, lot.id or 0) == Balance(30, 4.0)


def test_fewer_than_no_seeds_cannot_be_counted(session: Session, garden: Garden) -> None:
    with pytest.raises(BadValue) as refused:
        _book(session, garden.lot(), "stock-take", -1)
    assert refused.value.field == "seeds"


def test_errors_add_as_squares_until_a_stock_take_starts_them_anew(
    session: Session, garden: Garden
) -> None:
    lot = garden.lot()
    _book(session, lot, "acquired", 500, seeds_se=12.0)
    _book(session, lot, "sown", -100, seeds_se=5.0)
    assert balance(session, lot.id or 0) == Balance(400, 13.0)  # 5, 12, 13
    _book(session, lot, "stock-take", 390, seeds_se=3.0)
    assert balance(session, lot.id or 0) == Balance(390, 3.0)
    _book(session, lot, "given", -10, seeds_se=4.0)
    assert balance(session, lot.id or 0) == Balance(380, 5.0)


def test_errors_of_one_seed_weight_go_out_with_the_seed_that_was_weighed(
    session: Session, garden: Garden, now: datetime
) -> None:
    lot = garden.lot()
    by_weight = {"thousand_seed_weight_g": 16.0}
    _book(session, lot, "acquired", 600, grams=9.6, seeds_se=120.0, **by_weight)
    _book(session, lot, "given", -250, grams=4.0, seeds_se=50.0, **by_weight)
    assert balance(session, lot.id or 0) == Balance(350, 70.0)  # as 350 weighed on their own
    _book(session, lot, "given", -350, grams=5.6, seeds_se=70.0, **by_weight)
    assert balance(session, lot.id or 0) == Balance(0, 0.0)
    counted = {"seeds": 100, "seeds_se": 20.0, "grams": 1.6}
    book(
        session,
        Movement(
            lot_id=lot.id or 0,
            reason=MovementReason.STOCK_TAKE,
            on_date=DAY,
            recorded_at=now,
            **counted,
            **by_weight,
        ),
    )
    _book(session, lot, "given", -50, grams=0.8, seeds_se=10.0, **by_weight)
    assert balance(session, lot.id or 0) == Balance(50, 10.0)


def test_errors_of_a_count_and_of_two_seed_weights_are_apart(
    session: Session, garden: Garden
) -> None:
    lot = garden.lot()
    _book(session, lot, "acquired", 500, grams=5.0, seeds_se=30.0, thousand_seed_weight_g=10.0)
    _book(session, lot, "given", -100, grams=0.8, seeds_se=40.0, thousand_seed_weight_g=8.0)
    _book(session, lot, "given", -10, seeds_se=120.0)
    assert balance(session, lot.id or 0) == Balance(390, 130.0)  # 30, 40, 120


def test_undoing_books_the_opposite_and_keeps_both(
    session: Session, garden: Garden, now: datetime
) -> None:
    lot = garden.lot(seeds=100)
    sown = _book(session, lot, "sown", -30, grams=0.3, seeds_se=2.0)
    undone = reverse(session, sown.id or 0, on=DAY, note="sowing cancelled", now=now)
    assert (undone.seeds, undone.reverses_id, undone.grams) == (30, sown.id, 0.3)
    assert undone.reason is MovementReason.STOCK_TAKE
    assert _count(session) == 3
    assert balance(session, lot.id or 0) == Balance(100, 0.0)


def test_undoing_a_stock_take_gives_the_errors_before_it_force_again(
    session: Session, garden: Garden, now: datetime
) -> None:
    lot = garden.lot()
    _book(session, lot, "acquired", 500, seeds_se=12.0)
    taken = _book(session, lot, "stock-take", 50)
    _book(session, lot, "sown", -10, seeds_se=5.0)
    reverse(session, taken.id or 0, on=DAY, now=now)
    assert balance(session, lot.id or 0) == Balance(490, 13.0)


def test_an_undoing_does_not_start_the_errors_anew(
    session: Session, garden: Garden, now: datetime
) -> None:
    lot = garden.lot()
    _book(session, lot, "acquired", 500, seeds_se=12.0)
    sown = _book(session, lot, "sown", -10, seeds_se=5.0)
    reverse(session, sown.id or 0, on=DAY, now=now)
    assert balance(session, lot.id or 0) == Balance(500, 12.0)


def test_seed_used_since_cannot_be_undone_away(
    session: Session, garden: Garden, now: datetime
) -> None:
    lot = garden.lot()
    came = _book(session, lot, "acquired", 100)
    _book(session, lot, "sown", -60)
    with pytest.raises(Overdrawn) as refused:
        reverse(session, came.id or 0, on=DAY, now=now)
    assert (refused.value.held, refused.value.asked) == (40, 100)
    assert _count(session) == 2


def test_a_movement_is_undone_only_once(session: Session, garden: Garden, now: datetime) -> None:
    lot = garden.lot(seeds=100)
    sown = _book(session, lot, "sown", -30)
    undone = reverse(session, sown.id or 0, on=DAY, now=now)
    with pytest.raises(CannotReverse, match="undone already"):
        reverse(session, sown.id or 0, on=DAY, now=now)
    with pytest.raises(CannotReverse, match="undoes another"):
        reverse(session, undone.id or 0, on=DAY, now=now)
    assert balance(session, lot.id or 0) == Balance(100, 0.0)


def test_a_movement_the_packet_was_counted_after_cannot_be_undone(
    session: Session, garden: Garden, now: datetime
) -> None:
    lot = garden.lot(seeds=100)
    sown = _book(session, lot, "sown", -30)
    taken = _book(session, lot, "stock-take", 99)
    with pytest.raises(CannotReverse, match="2027-02-01"):
        reverse(session, sown.id or 0, on=DAY, now=now)
    reverse(session, taken.id or 0, on=DAY, now=now)
    reverse(session, sown.id or 0, on=DAY, now=now)
    assert balance(session, lot.id or 0) == Balance(100, 0.0)


def test_undoing_what_is_not_there_is_missing(session: Session, now: datetime) -> None:
    with pytest.raises(Missing):
        reverse(session, 5, on=DAY, now=now)


def test_balances_answer_for_every_lot_asked_even_without_movements(
    session: Session, garden: Garden
) -> None:
    some, none, other = garden.lot(seeds=10), garden.lot(), garden.lot(seeds=7)
    asked = [some.id or 0, none.id or 0, 999]
    assert balances(session, asked) == {
        some.id: Balance(10, 0.0),
        none.id: Balance(0, 0.0),
        999: Balance(0, 0.0),
    }
    assert balances(session) == {some.id: Balance(10, 0.0), other.id: Balance(7, 0.0)}
    assert balances(session, []) == {}


def test_the_database_itself_refuses_a_balance_below_nought(
    session: Session, garden: Garden
) -> None:
    lot = garden.lot(seeds=10)
    with pytest.raises(IntegrityError):
        session.execute(text("UPDATE movement SET balance_seeds = -1"))
    session.rollback()
    assert lot.id is not None


def test_the_database_itself_refuses_a_second_movement_with_one_number(
    session: Session, garden: Garden, now: datetime
) -> None:
    lot = garden.lot(seeds=10)
    session.add(
        Movement(
            lot_id=lot.id or 0,
            serial=1,
            on_date=DAY,
            reason=MovementReason.SOWN,
            seeds=-10,
            balance_seeds=0,
            recorded_at=now,
        )
    )
    with pytest.raises(IntegrityError):
        session.flush()
