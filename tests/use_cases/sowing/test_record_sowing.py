"""Sowings, and what came up of them."""

from typing import Any

import pytest

from seedbank.common.errors import (
    Conflict,
    FewerEmerged,
    NotEnoughSeed,
    NotThere,
    Refused,
    StaleVersion,
    TooManyEmerged,
)
from seedbank.database.queries import Paging
from seedbank.emergence.tables import SowingFilter
from seedbank.lots.forms import StockTakeCreate
from seedbank.lots.move_seed import record_stock_take
from seedbank.science.germination.proportion import proportion_interval
from seedbank.sowing.answers import SowingAnswer
from seedbank.sowing.forms import (
    EmergenceCreate,
    LossCreate,
    SowingChange,
    SowingCreate,
    SowingFinish,
)
from seedbank.sowing.record_sowing import (
    change_sowing,
    count_emergence,
    count_losses,
    delete_sowing,
    finish_sowing,
    record_sowing,
)
from seedbank.sowing.show_sowings import list_sowings, show_sowing
from tests.use_cases.conftest import Garden


def sow(garden: Garden, code: str, seeds: int = 100, **more: Any) -> SowingAnswer:
    body = {"lot": code, "seeds_sown": seeds, "method": "row", "sown_on": "2027-02-01", **more}
    return record_sowing(garden.session, SowingCreate.model_validate(body), **garden.when)


def emerge(garden: Garden, number: int, day: str, units: int, **more: Any) -> SowingAnswer:
    form = EmergenceCreate.model_validate({"on_date": day, "units_emerged": units, **more})
    return count_emergence(garden.session, number, form, **garden.when)


def lose(
    garden: Garden, number: int, units: int, cause: str = "eaten", **more: Any
) -> SowingAnswer:
    body = {"on_date": "2027-02-10", "units_lost": units, "cause": cause, **more}
    return count_losses(garden.session, number, LossCreate.model_validate(body), **garden.when)


def test_a_sowing_takes_its_seed(garden: Garden) -> None:
    lot = garden.lot(250)
    sowing = sow(garden, lot.code, row_m=3.5, protection="fleece")
    assert garden.balance(lot.code) == 150
    assert (sowing.row_m, sowing.protection, sowing.units_emerged) == (3.5, "fleece", None)
    assert sowing.emerged is None


def test_sowing_more_than_there_is_is_refused_and_changes_nothing(garden: Garden) -> None:
    lot = garden.lot(99)
    before = garden.dump()
    with pytest.raises(NotEnoughSeed) as refused:
        sow(garden, lot.code)
    assert refused.value.field == "seeds_sown"
    assert garden.dump() == before


def test_sowing_into_the_reserve_is_said(garden: Garden) -> None:
    lot = garden.lot(250, variety_id=garden.variety(reserve_seeds=200))
    assert "under the reserve of 200" in sow(garden, lot.code).warnings[0].text


def test_what_came_up_is_a_share_with_its_interval(garden: Garden) -> None:
    sowing = sow(garden, garden.lot().code)
    emerge(garden, sowing.id, "2027-02-15", 40)
    answer = emerge(garden, sowing.id, "2027-02-20", 60)
    wanted = proportion_interval(60, 100, 0.90)
    assert answer.emerged is not None
    assert answer.emerged.pct == 60.0
    assert answer.emerged.low_pct == pytest.approx(100 * wanted.low, abs=0.01)
    assert [one.units_emerged for one in answer.emergence] == [40, 60]


def test_seed_eaten_in_the_soil_never_had_the_chance_to_come_up(garden: Garden) -> None:
    sowing = sow(garden, garden.lot().code)
    emerge(garden, sowing.id, "2027-02-15", 60)
    answer = lose(garden, sowing.id, 20)
    assert answer.emerged is not None
    assert answer.emerged.pct == 75.0
    grown = lose(garden, sowing.id, 10, "frost", after_emergence=True)
    assert grown.emerged == answer.emerged
    rotten = lose(garden, sowing.id, 15, "not-emerged")
    assert rotten.emerged == answer.emerged


def test_a_total_that_falls_must_be_said_to_be_a_correction(garden: Garden) -> None:
    sowing = sow(garden, garden.lot().code)
    emerge(garden, sowing.id, "2027-02-15", 60)
    with pytest.raises(FewerEmerged):
        emerge(garden, sowing.id, "2027-02-16", 50)
    corrected = emerge(garden, sowing.id, "2027-02-16", 50, correction=True)
    assert corrected.units_emerged == 50
    with pytest.raises(TooManyEmerged):
        emerge(garden, sowing.id, "2027-02-17", 101)


def test_a_sowing_is_finished_once_and_only_when_counted(garden: Garden) -> None:
    sowing = sow(garden, garden.lot().code)
    form = SowingFinish.model_validate({"finished_on": "2027-02-20"})
    with pytest.raises(Conflict, match="Nothing was counted"):
        finish_sowing(garden.session, sowing.id, form, today=garden.today)
    emerge(garden, sowing.id, "2027-02-25", 0)
    with pytest.raises(Refused):
        finish_sowing(garden.session, sowing.id, form, today=garden.today)
    finish_sowing(garden.session, sowing.id, SowingFinish(), today=garden.today)
    with pytest.raises(Conflict, match="was finished on 2027-03-01"):
        finish_sowing(garden.session, sowing.id, SowingFinish(), today=garden.today)


def test_the_description_of_a_sowing_changes_at_the_version_read(garden: Garden) -> None:
    sowing = sow(garden, garden.lot().code)
    form = SowingChange.model_validate({"soil_temp_c": 9.5})
    assert change_sowing(garden.session, sowing.id, form, expected={1}).soil_temp_c == 9.5
    with pytest.raises(StaleVersion):
        change_sowing(garden.session, sowing.id, form, expected={1})


def test_a_sowing_taken_back_returns_its_seed(garden: Garden) -> None:
    lot = garden.lot(250)
    sowing = sow(garden, lot.code)
    emerge(garden, sowing.id, "2027-02-15", 60)
    last = lose(garden, sowing.id, 5, after_emergence=True)
    delete_sowing(garden.session, sowing.id, expected={last.version}, **garden.when)
    assert garden.balance(lot.code) == 250
    with pytest.raises(NotThere):
        show_sowing(garden.session, sowing.id)


def test_a_sowing_taken_back_after_a_stock_take_leaves_the_count_as_it_is(
    garden: Garden,
) -> None:
    lot = garden.lot(250)
    sowing = sow(garden, lot.code)
    record_stock_take(garden.session, lot.code, StockTakeCreate(seeds=240), **garden.when)
    delete_sowing(garden.session, sowing.id, expected=None, **garden.when)
    assert garden.balance(lot.code) == 240


def test_sowings_are_listed_by_lot_with_their_last_count(garden: Garden) -> None:
    lot = garden.lot()
    sowing = sow(garden, lot.code)
    sow(garden, garden.lot().code)
    emerge(garden, sowing.id, "2027-02-15", 60)
    found = list_sowings(garden.session, SowingFilter(lot=lot.code), Paging(9))
    assert [(one.id, one.units_emerged) for one in found.items] == [(sowing.id, 60)]


def test_a_sowing_before_the_harvest_is_refused_and_changes_nothing(garden: Garden) -> None:
    lot = garden.lot(harvest_date="2027-02-10", acquired_on="2027-02-11")
    before = garden.dump()
    with pytest.raises(Refused) as refused:
        sow(garden, lot.code)
    assert refused.value.field == "sown_on"
    assert garden.dump() == before


def test_what_came_up_since_a_sowing_was_read_is_not_taken_back_unseen(garden: Garden) -> None:
    read = sow(garden, garden.lot().code)
    counted = emerge(garden, read.id, "2027-02-20", 30)
    with pytest.raises(StaleVersion):
        delete_sowing(garden.session, read.id, expected=[read.version], **garden.when)
    delete_sowing(garden.session, read.id, expected=[counted.version], **garden.when)
