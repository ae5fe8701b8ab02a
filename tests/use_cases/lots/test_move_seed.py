"""Seed in and out of a lot."""

from datetime import date

import pytest

from seedbank.common.errors import Conflict, NotEnoughSeed, NotThere, Refused
from seedbank.database.queries import Paging
from seedbank.lots.answers import MovementAnswer
from seedbank.lots.forms import MovementCreate, StockTakeCreate
from seedbank.lots.move_seed import (
    list_movements,
    record_movement,
    record_stock_take,
    show_movement,
    undo_movement,
)
from seedbank.lots.show_lots import show_lot
from seedbank.lots.tables.ledger import MovementReason
from seedbank.sowing.forms import SowingCreate
from seedbank.sowing.record_sowing import record_sowing
from tests.use_cases.conftest import Garden


def give(garden: Garden, code: str, **amount: float) -> MovementAnswer:
    form = MovementCreate.model_validate({"reason": "given", "amount": amount})
    return record_movement(garden.session, code, form, **garden.when)


@pytest.mark.parametrize(
    ("reason", "left"),
    [("acquired", 280), ("harvested", 280), ("sown", 220), ("given", 220), ("discarded", 220)],
)
def test_each_reason_moves_seed_its_own_way(garden: Garden, reason: str, left: int) -> None:
    lot = garden.lot(250)
    form = MovementCreate.model_validate({"reason": reason, "amount": {"seeds": 30}})
    movement = record_movement(garden.session, lot.code, form, **garden.when)
    assert (movement.reason, movement.balance_seeds, movement.serial) == (reason, left, 2)
    assert garden.balance(lot.code) == left


def test_taking_more_than_the_balance_is_refused_and_changes_nothing(garden: Garden) -> None:
    lot = garden.lot(20)
    before = garden.dump()
    with pytest.raises(NotEnoughSeed) as refused:
        give(garden, lot.code, seeds=21)
    assert (refused.value.held, refused.value.asked) == (20, 21)
    assert lot.code in str(refused.value)
    assert garden.dump() == before


def test_weighed_seed_carries_the_error_of_its_weight(garden: Garden) -> None:
    lot = garden.lot(1000, thousand_seed_weight_g=2.0, thousand_seed_weight_se_g=0.1)
    movement = give(garden, lot.code, grams=0.5)
    assert (movement.seeds, movement.seeds_se, movement.grams) == (-250, 12.5, 0.5)
    shown = show_lot(garden.session, lot.code, today=garden.today)
    assert shown.amount.seeds_se == 12.5


def test_a_movement_is_dated_today_unless_told_and_never_to_come(garden: Garden) -> None:
    lot = garden.lot()
    assert give(garden, lot.code, seeds=1).on_date == garden.today
    form = MovementCreate.model_validate(
        {"reason": "given", "amount": {"seeds": 1}, "on_date": "2027-03-02"}
    )
    with pytest.raises(Refused):
        record_movement(garden.session, lot.code, form, **garden.when)


def test_a_stock_take_books_the_difference(garden: Garden) -> None:
    lot = garden.lot(250)
    form = StockTakeCreate(seeds=180, seeds_se=5.0, note="mice got in")
    movement = record_stock_take(garden.session, lot.code, form, **garden.when)
    assert (movement.reason, movement.seeds, movement.balance_seeds) == ("stock-take", -70, 180)
    empty = record_stock_take(garden.session, lot.code, StockTakeCreate(grams=0.0), **garden.when)
    assert empty.balance_seeds == 0


def test_undoing_a_movement_brings_the_seed_back_and_keeps_both_on_record(
    garden: Garden,
) -> None:
    lot = garden.lot(250)
    give(garden, lot.code, seeds=30)
    undone = undo_movement(garden.session, lot.code, 2, **garden.when)
    assert (undone.undoes, undone.seeds, garden.balance(lot.code)) == (2, 30, 250)
    listed = list_movements(garden.session, lot.code, None, Paging(9)).items
    assert [(one.serial, one.undoes) for one in listed] == [(1, None), (2, None), (3, 2)]
    assert show_movement(garden.session, lot.code, 3) == listed[2].model_copy(
        update={"warnings": []}
    )


def test_a_movement_is_undone_once_only_and_not_after_a_stock_take(garden: Garden) -> None:
    lot = garden.lot(250)
    give(garden, lot.code, seeds=30)
    undo_movement(garden.session, lot.code, 2, **garden.when)
    with pytest.raises(Conflict, match="undone already"):
        undo_movement(garden.session, lot.code, 2, **garden.when)
    record_stock_take(garden.session, lot.code, StockTakeCreate(seeds=100), **garden.when)
    with pytest.raises(Conflict, match="counted the packet since"):
        undo_movement(garden.session, lot.code, 1, **garden.when)
    with pytest.raises(NotThere):
        undo_movement(garden.session, lot.code, 99, **garden.when)


def test_seed_used_since_cannot_be_undone_away(garden: Garden) -> None:
    lot = garden.lot(250)
    give(garden, lot.code, seeds=200)
    before = garden.dump()
    with pytest.raises(NotEnoughSeed):
        undo_movement(garden.session, lot.code, 1, **garden.when)
    assert garden.dump() == before


def test_the_seed_of_a_sowing_is_not_undone_behind_its_back(garden: Garden) -> None:
    lot = garden.lot(250)
    form = SowingCreate.model_validate({"lot": lot.code, "seeds_sown": 50, "method": "row"})
    sowing = record_sowing(garden.session, form, **garden.when)
    with pytest.raises(Conflict, match=f"sowing {sowing.id}"):
        undo_movement(garden.session, lot.code, 2, **garden.when)


def test_going_under_the_reserve_is_said_and_counts_every_lot_of_the_variety(
    garden: Garden,
) -> None:
    variety = garden.variety(reserve_seeds=300)
    one, other = garden.lot(200, variety_id=variety), garden.lot(150, variety_id=variety)
    fine = give(garden, one.code, seeds=50)
    assert fine.warnings == []
    under = give(garden, other.code, seeds=1)
    (warning,) = under.warnings
    assert "299 seeds" in warning.text
    assert "300" in warning.text


def test_movements_are_listed_by_reason(garden: Garden) -> None:
    lot = garden.lot(250)
    give(garden, lot.code, seeds=1)
    found = list_movements(garden.session, lot.code, MovementReason.GIVEN, Paging(9))
    assert [movement.seeds for movement in found.items] == [-1]
    assert found.items[0].on_date == date(2027, 3, 1)
