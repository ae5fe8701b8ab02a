"""Tests due again, found for all lots at once: the days are those of each lot looked at alone."""

from datetime import timedelta

import numpy as np
import pytest
from sqlmodel import Session

from seedbank.common.catalogue import text_of
from seedbank.germination.forms import TestRecord, TestStart
from seedbank.germination.run_tests import record_test, start_test
from seedbank.lots.forms import MovementCreate
from seedbank.lots.move_seed import record_movement
from seedbank.sowing.record_sowing import delete_test
from seedbank.verdicts import retests_due as module
from seedbank.verdicts.judge_lots import judge_collection
from seedbank.verdicts.retests_due import RetestDue, retests_due
from seedbank.viability.retest_day import FEWEST_SEEDS, LEAST_DAYS, next_tests, why
from seedbank.viability.tables.stock_columns import day_date
from tests.use_cases.conftest import DEMO_TODAY, Garden

FIRST, LAST = DEMO_TODAY - timedelta(400), DEMO_TODAY + timedelta(4000)
TESTED = {
    "started_on": "2027-02-10",
    "finished_on": "2027-02-24",
    "substratum": "sand",
    "replicates": [{"seeds_set": 20, "normal": 19, "dead": 1}],
}


def looked_at_one_by_one(session: Session) -> set[tuple[str, object, str]]:
    """The rule again, lot by lot, of the forecast of the whole collection."""
    seen = judge_collection(session, today=DEMO_TODAY).forecast
    found, lots = next_tests(seen), seen.collection
    due = set()
    for at in range(lots.size):
        on = day_date(float(found.due[at]))
        if (
            np.isfinite(found.last[at])
            and not seen.facts_of(at).cannot_be_stored
            and lots.balance[at] >= FEWEST_SEEDS
            and not lots.open_test[at]
            and found.falls[at] > seen.today
            and found.due[at] - found.last[at] >= LEAST_DAYS
            and on is not None
            and FIRST <= on <= LAST
        ):
            due.add((lots.code[at], on, text_of(why(float(found.years[at])))))
    return due


@pytest.mark.parametrize(("stock", "fewest"), [("demo_stock", 10), ("large_stock", 300)])
def test_lots_asked_some_at_a_time_are_due_as_each_is_among_all(
    request: pytest.FixtureRequest, stock: str, fewest: int
) -> None:
    session = request.getfixturevalue(stock)
    found = retests_due(session, today=DEMO_TODAY, first=FIRST, last=LAST)
    told = {(one.code, one.on, text_of(one.why)) for one in found}
    assert len(told) == len(found) >= fewest
    assert told == looked_at_one_by_one(session)


def due(garden: Garden) -> dict[str, RetestDue]:
    first, last = garden.today, garden.today + timedelta(2000)
    found = retests_due(garden.session, today=garden.today, first=first, last=last)
    return {one.code: one for one in found}


def lot_tested(garden: Garden) -> str:
    code = garden.lot(250, harvest_date="2026-09-01").code
    record_test(garden.session, TestRecord.model_validate(TESTED | {"lot": code}), **garden.when)
    return code


def give(garden: Garden, code: str, seeds: int) -> None:
    body = {"reason": "given", "amount": {"seeds": seeds}}
    record_movement(garden.session, code, MovementCreate.model_validate(body), **garden.when)


def test_taking_seed_asks_for_no_days_anew_and_leaves_out_what_is_too_little_to_test(
    garden: Garden, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, other = lot_tested(garden), lot_tested(garden)
    before = due(garden)
    assert before.keys() == {one, other}

    def none(*_: object, **__: object) -> None:
        raise AssertionError("judged anew")

    monkeypatch.setattr(module, "judge_collection", none)
    give(garden, one, 250 - 20 - FEWEST_SEEDS)
    assert due(garden) == before
    give(garden, one, 1)
    assert due(garden) == {other: before[other]}


def test_a_test_begun_leaves_its_lot_out_and_one_deleted_lets_it_in_again(garden: Garden) -> None:
    code = lot_tested(garden)
    before = due(garden)
    body = {"lot": code, "substratum": "sand", "replicates": [20]}
    number = start_test(garden.session, TestStart.model_validate(body), **garden.when).id
    assert before.keys() == {code}
    assert due(garden) == {}
    delete_test(garden.session, number, expected=None, **garden.when)
    assert due(garden) == before


def test_a_new_test_moves_the_day(garden: Garden) -> None:
    code = lot_tested(garden)
    before = due(garden)[code]
    later = TESTED | {"lot": code, "started_on": "2027-02-12", "finished_on": "2027-02-26"}
    record_test(garden.session, TestRecord.model_validate(later), **garden.when)
    after = due(garden)[code]
    assert (after.on, after.tested_on) != (before.on, before.tested_on)
    assert after.tested_on.isoformat() == "2027-02-12"
