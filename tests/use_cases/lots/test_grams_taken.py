"""Grams taken of seed whose weight nobody knows: they stay grams, and the doubt stays with them."""

from typing import Any

import numpy as np
import pytest

from seedbank.common.errors import CannotReverse, Conflict, Refused
from seedbank.database.queries import Paging
from seedbank.kinds.edit_kinds import add_kind
from seedbank.kinds.forms import KindCreate
from seedbank.lots.answers import LotAnswer, MovementAnswer
from seedbank.lots.forms import Amount, MovementCreate
from seedbank.lots.move_seed import (
    foresee_taking,
    list_movements,
    record_movement,
    undo_movement,
)
from seedbank.lots.show_lots import show_lot
from seedbank.lots.tables.ledger import mistold_lots
from seedbank.overview.list_changes import show_change
from seedbank.viability.forecast_viability import forecast
from tests.use_cases.conftest import Garden


@pytest.fixture
def lot(garden: Garden) -> LotAnswer:
    """Twelve grams of a kind of the gardener's own."""
    add_kind(garden.session, KindCreate(name="Oddbean"))
    return garden.lot(None, kind="oddbean", amount={"grams": 12.0})


def moved(garden: Garden, code: str, reason: str, **amount: Any) -> MovementAnswer:
    form = MovementCreate.model_validate({"reason": reason, "amount": amount})
    return record_movement(garden.session, code, form, **garden.when)


def amount(garden: Garden, code: str) -> tuple[int | None, float | None]:
    held = show_lot(garden.session, code, today=garden.today).amount
    return held.seeds, held.grams


def holds(garden: Garden) -> None:
    assert mistold_lots(garden.session.connection(), 9) == []


def test_grams_are_taken_and_less_is_left(garden: Garden, lot: LotAnswer) -> None:
    assert amount(garden, lot.code) == (None, 12.0)
    given = moved(garden, lot.code, "given", grams=4.5)
    assert (given.seeds, given.grams, given.balance_seeds) == (None, 4.5, None)
    moved(garden, lot.code, "acquired", grams=1.0)
    assert amount(garden, lot.code) == (None, 8.5)
    holds(garden)


def test_what_is_asked_of_the_amount_carries_that_doubt(garden: Garden, lot: LotAnswer) -> None:
    before = forecast(garden.session, today=garden.today)
    moved(garden, lot.code, "given", grams=9.0)
    after = forecast(garden.session, today=garden.today)
    one = np.array([0])
    full, quarter = before.amounts_left(one), after.amounts_left(one)
    assert quarter.median[0] == pytest.approx(full.median[0] / 4.0)
    assert quarter.log_sd[0] == full.log_sd[0] > 0.5
    wanted = full.median
    assert 0.0 < quarter.chance_of(wanted)[0] < full.chance_of(wanted)[0] < 1.0
    assert after.collection.balance[0] < before.collection.balance[0]


def test_more_grams_than_there_are_is_refused(garden: Garden, lot: LotAnswer) -> None:
    moved(garden, lot.code, "discarded", grams=10.0)
    with pytest.raises(Conflict, match="holds 2 g, so 3 g"):
        moved(garden, lot.code, "given", grams=3.0)
    assert amount(garden, lot.code) == (None, 2.0)


def test_once_all_is_taken_none_is_left(garden: Garden, lot: LotAnswer) -> None:
    moved(garden, lot.code, "given", grams=12.0)
    assert amount(garden, lot.code) == (0, None)
    reasons = [
        one.reason for one in list_movements(garden.session, lot.code, None, Paging(9)).items
    ]
    assert reasons == ["acquired", "given", "stock-take"]
    holds(garden)


def test_taking_is_undone_and_grams_come_back(garden: Garden, lot: LotAnswer) -> None:
    given = moved(garden, lot.code, "given", grams=4.0)
    undo_movement(garden.session, lot.code, given.serial, **garden.when)
    assert amount(garden, lot.code) == (None, 12.0)
    holds(garden)


def test_what_came_in_is_not_undone_while_grams_of_it_are_out(
    garden: Garden, lot: LotAnswer
) -> None:
    moved(garden, lot.code, "given", grams=4.0)
    assert show_change(garden.session, lot.code, 1).why_not is not None
    with pytest.raises(Conflict, match="grams of its seed were taken") as refused:
        undo_movement(garden.session, lot.code, 1, **garden.when)
    assert isinstance(refused.value.__cause__, CannotReverse)
    holds(garden)


def test_what_would_be_left_is_foreseen_in_grams(garden: Garden, lot: LotAnswer) -> None:
    told = foresee_taking(garden.session, lot.code, Amount(grams=5.0))
    assert (told.seeds, told.grams, told.left_seeds, told.left_grams) == (None, 5.0, None, 7.0)


def test_of_some_nobody_weighed_any_grams_may_be_taken(garden: Garden) -> None:
    add_kind(garden.session, KindCreate(name="Oddbean"))
    some = garden.lot(None, kind="oddbean").code
    moved(garden, some, "given", grams=500.0)
    assert amount(garden, some) == (None, None)
    told = foresee_taking(garden.session, some, Amount(grams=5.0))
    assert told.left_grams is None


def test_of_counted_seed_grams_are_refused_as_ever(garden: Garden) -> None:
    add_kind(garden.session, KindCreate(name="Oddbean"))
    counted = garden.lot(60, kind="oddbean").code
    with pytest.raises(Refused, match="weight"):
        moved(garden, counted, "given", grams=1.0)
    assert amount(garden, counted)[0] == 60
