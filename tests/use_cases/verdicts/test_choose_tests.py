"""Which lots to test together: those on which most turns, within evenings, paper and stock."""

from typing import Any

from sqlmodel import Session

from seedbank.climate.forms import ClimateStated
from seedbank.climate.state_climate import state_climate
from seedbank.germination.forms import TestRecord, TestStart
from seedbank.germination.run_tests import record_test, start_test
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import PlaceCreate
from seedbank.science.verdicts.verdict import Verdict
from seedbank.verdicts.answers import TestBatchAnswer
from seedbank.verdicts.choose_tests import _STOCK, choose_tests
from seedbank.verdicts.forms import TestBatchAsked
from seedbank.verdicts.judge_lots import judge_collection
from tests.use_cases.conftest import DEMO_TODAY, Garden

OLD = {"harvest_year": 2023, "acquired_on": "2024-01-10"}
FRESH = {"harvest_year": 2026, "acquired_on": "2026-10-10"}


def chosen(garden: Garden, **asked: Any) -> TestBatchAnswer:
    return choose_tests(garden.session, TestBatchAsked(**asked), today=garden.today)


def record(garden: Garden, code: str, alive: int, seeds: int = 50, **more: Any) -> None:
    form = TestRecord.model_validate(
        {
            "lot": code,
            "started_on": "2027-02-01",
            "finished_on": "2027-02-15",
            "replicates": [{"seeds_set": seeds, "normal": alive}],
            "substratum": "paper-towel",
            **more,
        }
    )
    record_test(garden.session, form, **garden.when)


def test_an_empty_collection_is_told_so(garden: Garden) -> None:
    answer = chosen(garden)
    assert answer.items == []
    assert answer.lots_considered == 0
    assert answer.remarks


def test_old_untested_seed_is_towelled_and_a_fresh_tested_lot_is_not(garden: Garden) -> None:
    old = [garden.lot(150, kind=kind, **OLD).code for kind in ("carrot", "onion", "leek")]
    fresh = garden.lot(150, kind="carrot", **FRESH).code
    record(garden, fresh, 45)
    answer = chosen(garden)
    assert {one.lot for one in answer.items} <= set(old)
    assert len(answer.items) >= 2
    assert "towel-not-again" in [one.code for one in answer.remarks]
    worths = [one.worth_rows for one in answer.items]
    assert worths == sorted(worths, reverse=True)
    assert answer.worth_rows <= answer.worth_of_knowing_rows
    for one in answer.items:
        assert one.seeds == 10
        assert 0.0 < one.worth_of_own_rows <= one.worth_rows + 1e-4
        cost = next(size.cost_rows for size in one.sizes if size.seeds == one.seeds)
        assert one.worth_rows > cost


def test_it_is_said_where_each_lot_lies(garden: Garden) -> None:
    shed = add_place(garden.session, PlaceCreate(name="Shed shelf")).id
    lot = garden.lot(150, kind="onion", place_id=shed, **OLD).code
    nowhere = garden.lot(150, kind="leek", **OLD).code
    places = {one.lot: one.place for one in chosen(garden).items}
    assert (places[lot], places[nowhere]) == ("Shed shelf", "")


def test_twenty_are_offered_of_plenty_and_of_a_line_nobody_else_keeps(garden: Garden) -> None:
    plenty = garden.lot(900, kind="onion", **OLD).code
    rare = garden.variety("leek", other_keepers="none", breeding="landrace")
    sole = garden.lot(150, variety_id=rare, **OLD).code
    seeds = {one.lot: one.seeds for one in chosen(garden).items}
    assert seeds[plenty] >= 20
    assert seeds[sole] >= 20


def test_no_test_takes_over_a_third_of_a_lot_nor_its_reserve(garden: Garden) -> None:
    few = garden.lot(29, kind="onion", **OLD).code
    thirty = garden.lot(45, kind="leek", **OLD).code
    kept = garden.variety("carrot", reserve_seeds=395)
    reserved = garden.lot(400, variety_id=kept, **OLD).code
    answer = chosen(garden)
    assert {one.lot for one in answer.items} == {thirty}
    assert [size.seeds for size in answer.items[0].sizes] == [10]
    remarks = {one.code: one.numbers for one in answer.remarks}
    assert remarks["towel-too-few-seeds"]["lots"] == 2
    assert {few, reserved}.isdisjoint(one.lot for one in answer.items)


def test_what_is_on_a_towel_already_is_reckoned_in(garden: Garden) -> None:
    lot = garden.lot(150, kind="onion", **OLD).code
    other = garden.lot(150, kind="onion", **OLD).code
    before = {one.lot: one for one in chosen(garden).items}
    form = TestStart.model_validate(
        {"lot": lot, "started_on": "2027-02-15", "replicates": [25], "substratum": "paper-towel"}
    )
    start_test(garden.session, form, **garden.when)
    after = {one.lot: one for one in chosen(garden).items}
    assert lot not in after
    saved = [
        {one.code: one.numbers for one in items[other].reasons}["towel-saves"]
        for items in (before, after)
    ]
    assert saved[1]["own_plants"] < saved[0]["plants"]
    assert "towels-out" in [one.code for one in chosen(garden).remarks]


def test_evenings_and_paper_are_kept_to(garden: Garden) -> None:
    for number in range(14):
        kind = ("carrot", "onion", "leek", "lettuce", "parsnip", "beet", "kale")[number % 7]
        garden.lot(150, kind=kind, **OLD)
    assert len(chosen(garden).items) == 10
    assert len(chosen(garden, evenings=2).items) > 10
    three = chosen(garden, towels=3)
    assert len(three.items) == 3
    first = [one.lot for one in chosen(garden).items[:3]]
    assert [one.lot for one in three.items] == first


def test_seed_of_one_tin_and_kind_teaches_its_neighbours(garden: Garden) -> None:
    for _ in range(8):
        garden.lot(150, kind="onion", donor="Seed swap", **OLD)
    first = chosen(garden).items[0]
    assert first.teaches_lots == 7
    assert len(first.teaches) == 5
    assert first.worth_of_own_rows < first.worth_rows


def test_a_short_row_or_a_tray_is_a_test_that_gives_plants(garden: Garden) -> None:
    months = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]
    row, tray = garden.lot(150, kind="carrot", **OLD).code, garden.lot(90, kind="tomato", **OLD)
    beds = {one.lot: one.bed for one in chosen(garden).items}
    assert (beds[row].method, beds[row].state) == ("row", None)
    state_climate(garden.session, ClimateStated(monthly_c=months), site_id=None, expected=None)
    beds = {one.lot: one.bed for one in chosen(garden).items}
    assert beds[row].state == "opens"
    assert beds[row].opens_on is not None
    assert 0.0 < beds[row].told_share < 1.0
    assert 0.0 < beds[row].plants < 10.0
    if tray.code in beds:
        assert beds[tray.code].method == "module"


def test_each_lot_to_be_towelled_is_on_the_list_or_told_why_not(demo_stock: Session) -> None:
    judged = judge_collection(demo_stock, today=DEMO_TODAY)
    at = judged.verdicts.where(Verdict.TOWEL_FIRST).nonzero()[0]
    wanted = {judged.forecast.collection.code[one] for one in at.tolist()}
    assert wanted
    for asked in ({}, {"evenings": 3}, {"towels": 1}):
        answer = choose_tests(demo_stock, TestBatchAsked(**asked), today=DEMO_TODAY)
        listed, left = {one.lot for one in answer.items}, {one.lot for one in answer.left_out}
        assert listed | left >= wanted
        assert not listed & left
        assert all(one.text for one in answer.left_out)
        full = {one.names["why"] for one in answer.left_out} & {"full"}
        assert not full or len(answer.items) == min(10, asked.get("towels", 10))


def test_a_lot_whose_only_test_went_wrong_is_not_told_as_tested(garden: Garden) -> None:
    fresh = garden.lot(150, kind="carrot", **FRESH).code
    record(garden, fresh, 45, fault="too-cold")
    assert "towel-not-again" not in [one.code for one in chosen(garden).remarks]


def test_towels_are_chosen_by_the_verdicts_as_they_are_after_the_climate_is_told(
    garden: Garden,
) -> None:
    garden.lot(200, kind="parsnip", **OLD)
    chosen(garden)
    cold = ClimateStated(last_frost_day=150, first_frost_day=250)
    state_climate(garden.session, cold, site_id=None, expected=None)
    chosen(garden)
    stock = _STOCK.last(garden.session)
    assert stock is not None
    assert stock.judged is judge_collection(garden.session, today=garden.today)
