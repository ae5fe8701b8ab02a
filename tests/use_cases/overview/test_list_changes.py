"""The last changes of stock, and undoing whichever of them can be."""

import pytest

from seedbank.common.errors import Conflict, NotThere, StaleVersion
from seedbank.database.queries import Paging
from seedbank.germination.forms import CountsCreate, TestStart
from seedbank.germination.run_tests import record_counts, start_test
from seedbank.germination.show_tests import show_test
from seedbank.lots.answers import LotAnswer
from seedbank.lots.forms import MovementCreate, StockTakeCreate
from seedbank.lots.move_seed import record_movement, record_stock_take
from seedbank.overview.answers import ChangeAnswer
from seedbank.overview.forms import Undoing
from seedbank.overview.list_changes import list_changes, show_change, undo_change
from seedbank.sowing.forms import SowingCreate
from seedbank.sowing.record_sowing import record_sowing
from seedbank.sowing.show_sowings import show_sowing
from tests.use_cases.conftest import Garden


def give(garden: Garden, lot: LotAnswer, seeds: int) -> None:
    form = MovementCreate.model_validate({"reason": "given", "amount": {"seeds": seeds}})
    record_movement(garden.session, lot.code, form, **garden.when)


def take_stock(garden: Garden, lot: LotAnswer, seeds: int) -> None:
    form = StockTakeCreate(seeds=seeds)
    record_stock_take(garden.session, lot.code, form, **garden.when)


def start(garden: Garden, lot: LotAnswer) -> int:
    form = TestStart.model_validate(
        {"lot": lot.code, "substratum": "paper-towel", "replicates": [10]}
    )
    return start_test(garden.session, form, **garden.when).id


def sow(garden: Garden, lot: LotAnswer) -> int:
    form = SowingCreate.model_validate({"lot": lot.code, "method": "row", "seeds_sown": 20})
    return record_sowing(garden.session, form, **garden.when).id


def changes(garden: Garden, lot: LotAnswer) -> list[ChangeAnswer]:
    return list_changes(garden.session, Paging(50), lot=lot.code).items


def undo(garden: Garden, lot: LotAnswer, change: ChangeAnswer) -> int | None:
    form = Undoing(serial=change.movement.serial, version=change.version)
    return undo_change(garden.session, lot.code, form, **garden.when)


def test_the_last_change_comes_first_with_what_it_was_for(garden: Garden) -> None:
    lot, other = garden.lot(100), garden.lot(50, kind="pea")
    test, sowing = start(garden, lot), sow(garden, lot)
    give(garden, lot, 5)
    page = list_changes(garden.session, Paging(4))
    assert [one.movement.reason for one in page.items] == ["given", "sown", "tested", "acquired"]
    assert [(one.test, one.sowing) for one in page.items[:3]] == [
        (None, None),
        (None, sowing),
        (test, None),
    ]
    assert (page.items[3].movement.lot, page.items[3].kind_name) == (other.code, "pea")
    rest = list_changes(garden.session, Paging(9, page.next))
    assert [one.movement.lot for one in rest.items] == [lot.code]


def test_what_can_be_undone_is_and_what_can_not_says_why(garden: Garden) -> None:
    lot = garden.lot(100)
    give(garden, lot, 5)
    assert changes(garden, lot)[0].why_not is None
    assert changes(garden, lot)[1].why_not.text == "Its seed has been used since."
    assert undo(garden, lot, changes(garden, lot)[0]) == 3
    undoing, undone, first = changes(garden, lot)
    assert (undoing.movement.undoes, undoing.why_not.text) == (
        2,
        "It undoes another change itself.",
    )
    assert undone.why_not.text == "It is undone already."
    assert first.why_not is None
    with pytest.raises(Conflict, match="undone already"):
        undo(garden, lot, undone)
    take_stock(garden, lot, 90)
    assert changes(garden, lot)[3].why_not.text.startswith("The packet was counted since")
    assert garden.balance(lot.code) == 90


def test_seed_of_a_test_or_sowing_comes_back_by_taking_back_the_whole(garden: Garden) -> None:
    lot = garden.lot(100)
    test, sowing = start(garden, lot), sow(garden, lot)
    sown, tested, _ = changes(garden, lot)
    assert f"Sowing {sowing} is taken back" in sown.also.text
    assert undo(garden, lot, sown) == 4
    assert undo(garden, lot, tested) == 5
    assert garden.balance(lot.code) == 100
    with pytest.raises(NotThere):
        show_test(garden.session, test)
    with pytest.raises(NotThere):
        show_sowing(garden.session, sowing)


def test_a_test_counted_since_it_was_shown_is_not_taken_back_unseen(garden: Garden) -> None:
    lot = garden.lot(100)
    test = start(garden, lot)
    shown = changes(garden, lot)[0]
    counts = CountsCreate.model_validate({"counts": [{"replicate": 1, "dead": 4}]})
    record_counts(garden.session, test, counts, **garden.when)
    with pytest.raises(StaleVersion):
        undo(garden, lot, shown)
    with pytest.raises(StaleVersion):
        undo(garden, lot, shown.model_copy(update={"version": None}))
    assert garden.balance(lot.code) == 90
    undo(garden, lot, changes(garden, lot)[0])
    assert garden.balance(lot.code) == 100


def test_after_a_stock_take_the_seed_stays_where_it_was_counted(garden: Garden) -> None:
    lot = garden.lot(100)
    start(garden, lot)
    take_stock(garden, lot, 88)
    tested = changes(garden, lot)[1]
    assert tested.why_not is None
    assert tested.also.text.endswith("the packet was counted since.")
    assert undo(garden, lot, tested) is None
    assert garden.balance(lot.code) == 88


def test_one_change_is_shown_with_its_warning(garden: Garden) -> None:
    lot = garden.lot(100, variety_id=garden.variety(reserve_seeds=98))
    give(garden, lot, 5)
    shown = show_change(garden.session, lot.code, 2)
    assert "under the reserve of 98" in shown.movement.warnings[0].text
    with pytest.raises(NotThere):
        show_change(garden.session, lot.code, 9)
