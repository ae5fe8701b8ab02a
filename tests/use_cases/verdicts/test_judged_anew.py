"""Verdicts kept in memory are, after every change, those of judging anew."""

from collections.abc import Callable
from datetime import date, timedelta

import numpy as np
import pytest
from sqlalchemy import Engine

import seedbank.verdicts.judge_lots as judge_stock
from seedbank.database.engine import session_factory
from seedbank.germination.forms import TestChange, TestRecord, TestStart
from seedbank.germination.run_tests import change_test, record_test, start_test
from seedbank.kinds.edit_kinds import state_fact
from seedbank.kinds.edit_varieties import change_variety
from seedbank.kinds.forms import FactStated, VarietyChange
from seedbank.kinds.tables import FactName
from seedbank.lots.edit_places import add_place, change_place
from seedbank.lots.forms import LotChange, MovementCreate, PlaceChange, PlaceCreate, StayCreate
from seedbank.lots.move_seed import record_movement, undo_movement
from seedbank.lots.show_lots import show_lot
from seedbank.lots.take_in_lots import change_lot, move_lot_to
from seedbank.sowing.record_sowing import delete_test
from seedbank.verdicts.judge_lots import AHEAD_YEARS, Judgement, judge_collection, judge_forecast
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.verdicts.surroundings import Surroundings, read_surroundings
from seedbank.viability.forecast_viability import Forecast, forecast
from tests.use_cases.conftest import Garden

TESTED = {
    "started_on": "2027-02-10",
    "finished_on": "2027-02-24",
    "substratum": "sand",
    "replicates": [{"seeds_set": 20, "normal": 12, "dead": 8}],
}


def anew(garden: Garden) -> Judgement:
    around = read_surroundings(garden.session)
    return judge_forecast(
        around, forecast(garden.session, today=garden.today, ahead_years=AHEAD_YEARS)
    )


def assert_as_judged_anew(garden: Garden) -> Judgement:
    kept, fresh = judge_collection(garden.session, today=garden.today), anew(garden)
    assert kept.forecast.collection.code == fresh.forecast.collection.code
    np.testing.assert_array_equal(kept.verdicts.code, fresh.verdicts.code)
    np.testing.assert_array_equal(kept.verdicts.urgency, fresh.verdicts.urgency)
    np.testing.assert_array_equal(kept.viability.median, fresh.viability.median)
    np.testing.assert_array_equal(kept.needed, fresh.needed)
    return kept


def give(garden: Garden, code: str, seeds: int = 100) -> int:
    body = {"reason": "given", "on_date": "2027-03-01", "amount": {"seeds": seeds}}
    return record_movement(
        garden.session, code, MovementCreate.model_validate(body), **garden.when
    ).serial


def record(garden: Garden, code: str) -> int:
    return record_test(
        garden.session, TestRecord.model_validate(TESTED | {"lot": code}), **garden.when
    ).id


def begin(garden: Garden, code: str) -> int:
    body = {"lot": code, "started_on": "2027-02-24", "substratum": "sand", "replicates": [20]}
    return start_test(garden.session, TestStart.model_validate(body), **garden.when).id


def move(garden: Garden, code: str) -> None:
    place = add_place(garden.session, PlaceCreate(name="Loft", temp_summer_c=30.0))
    body = StayCreate.model_validate({"place_id": place.id, "from_date": "2026-10-01"})
    move_lot_to(garden.session, code, body, today=garden.today)


def state(garden: Garden, value: str) -> None:
    fact = FactStated(value=value, source="my own tests")
    name = FactName.MINIMUM_GERMINATION_PCT
    state_fact(garden.session, "carrot", name, fact, expected=None)


def edit_variety(garden: Garden, code: str) -> None:
    number = show_lot(garden.session, code, today=garden.today).variety.id
    form = VarietyChange.model_validate({"other_keepers": "none"})
    change_variety(garden.session, number, form, expected=None)


def age(garden: Garden, code: str) -> None:
    form = LotChange.model_validate({"harvest_year": 2019})
    change_lot(garden.session, code, form, expected=None, today=garden.today)


CHANGES: dict[str, Callable[[Garden, str], object]] = {
    "seed given away": give,
    "a finished test": record,
    "a test begun": begin,
    "a move": move,
    "a fact about its kind": lambda g, _: state(g, "55"),
    "how many keep the variety": edit_variety,
    "the lot's age": age,
    "another lot": lambda g, _: g.lot(40),
    "the next month": lambda g, _: setattr(g, "today", g.today + timedelta(days=31)),
}


@pytest.mark.parametrize("what", CHANGES)
def test_after_every_change_the_verdicts_are_those_of_judging_anew(
    garden: Garden, what: str
) -> None:
    code = garden.lot(130, harvest_year=2022).code
    garden.lot(60, harvest_year=2024)
    before = assert_as_judged_anew(garden)
    CHANGES[what](garden, code)
    assert assert_as_judged_anew(garden) is not before


def test_edits_that_undo_each_other_by_halves_are_noticed_each(garden: Garden) -> None:
    code = garden.lot(130, harvest_year=2022).code
    movement = give(garden, code, 30)
    assert_as_judged_anew(garden)
    undo_movement(garden.session, code, movement, **garden.when)
    assert_as_judged_anew(garden)
    for value in ("55", "65", "55"):  # of one length
        state(garden, value)
        assert_as_judged_anew(garden)
    test = record(garden, code)
    assert_as_judged_anew(garden)
    form = TestChange.model_validate({"pretreatment": "prechill"})
    change_test(garden.session, test, form, expected=None)
    assert_as_judged_anew(garden)
    delete_test(garden.session, test, expected=None, **garden.when)
    assert_as_judged_anew(garden)
    place = add_place(garden.session, PlaceCreate(name="Cellar"))
    body = StayCreate.model_validate({"place_id": place.id, "from_date": "2026-10-01"})
    move_lot_to(garden.session, code, body, today=garden.today)
    for summer in (12.0, 21.0, 12.0):
        warm = PlaceChange.model_validate({"temp_summer_c": summer})
        change_place(garden.session, place.id, warm, expected=None)
        assert_as_judged_anew(garden)


def test_while_nothing_changes_the_collection_is_judged_once(garden: Garden) -> None:
    garden.lot(130)
    first = judge_collection(garden.session, today=garden.today)
    assert judge_collection(garden.session, today=garden.today) is first
    assert judge_collection(garden.session, today=date(2027, 3, 2)) is not first


def test_one_lots_verdict_is_that_of_the_whole_collection(garden: Garden) -> None:
    one, two = garden.lot(130, harvest_year=2022).code, garden.lot(60).code
    seen = judge_collection(garden.session, today=garden.today)
    for at, code in enumerate((one, two)):
        answer = show_verdict(garden.session, code, today=garden.today)
        assert answer.verdict is seen.verdicts.verdict(at)


def test_what_changes_while_the_lots_are_judged_is_judged_too(
    garden: Garden, engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    code = garden.lot(250).code
    judged: list[float] = []

    def meanwhile(around: Surroundings, seen: Forecast) -> Judgement:
        judged.append(float(seen.collection.balance[0]))
        if len(judged) == 1:
            give(garden, code, 50)
        return judge_forecast(around, seen)

    monkeypatch.setattr(judge_stock, "judge_forecast", meanwhile)
    with session_factory(engine, writes=False)() as reader:
        answer = judge_collection(reader, today=garden.today)
    assert judged == [250.0, 200.0]
    assert answer.forecast.collection.balance.tolist() == [200.0]
