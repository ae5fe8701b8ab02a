"""What labels say, and which lots are to be labelled."""

from datetime import date, timedelta

import pytest
from sqlmodel import Session

from seedbank.common.errors import MisreadCode, Refused
from seedbank.germination.forms import TestRecord
from seedbank.germination.run_tests import record_test
from seedbank.germination.show_tests import show_test
from seedbank.labels.label_facts import (
    MOST_LABELS,
    LabelsWanted,
    list_label_lots,
    list_labels,
)
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import PlaceCreate
from tests.use_cases.conftest import DEMO_TODAY, Garden


def record(garden: Garden, code: str, normal: int, on: date) -> int:
    form = TestRecord.model_validate(
        {
            "lot": code,
            "started_on": on - timedelta(days=14),
            "finished_on": on,
            "confirmed": True,  # set and counted on one day
            "substratum": "paper-towel",
            "replicates": [{"seeds_set": 20, "normal": normal}],
        }
    )
    return record_test(garden.session, form, **garden.when).id


def labels(garden: Garden, **wanted: object) -> list[str]:
    asked = LabelsWanted(**wanted)  # type: ignore[arg-type]  # the test's own words
    return [one.lot for one in list_label_lots(garden.session, asked, today=garden.today)]


def test_a_label_tells_the_last_finished_test_as_the_test_itself_does(garden: Garden) -> None:
    lot = garden.lot(harvest_year=2024)
    record(garden, lot.code, 19, date(2026, 2, 1))
    number = record(garden, lot.code, 15, date(2027, 1, 30))
    said = list_labels(garden.session, LabelsWanted(codes=(lot.code,)), today=garden.today)[0]
    evaluation = show_test(garden.session, number).evaluation
    assert evaluation is not None
    assert said.test is not None
    assert said.test.finished_on == date(2027, 1, 30)
    assert (said.test.seeds, said.test.germination) == (20, evaluation.germination)
    assert (said.harvest_year, said.seeds) == (2024, 250 - 40)


def test_a_label_tells_seed_that_does_not_keep(garden: Garden) -> None:
    lots = [garden.lot(), garden.lot(kind="chayote")]
    wanted = LabelsWanted(codes=tuple(lot.code for lot in lots))
    said = list_labels(garden.session, wanted, today=garden.today)
    assert [one.keeps for one in said] == [True, False]


def test_a_label_warns_of_treated_and_poisonous_seed(garden: Garden) -> None:
    safe, treated = garden.lot(), garden.lot(treated=True)
    poison = garden.lot(kind="foxglove")
    wanted = LabelsWanted(codes=(safe.code, treated.code, poison.code))
    said = list_labels(garden.session, wanted, today=garden.today)
    assert [(one.treated, one.poisonous) for one in said] == [
        (False, False),
        (True, False),
        (False, True),
    ]
    assert all(one.test is None for one in said)


def test_lots_named_are_labelled_in_the_order_named_each_once(garden: Garden) -> None:
    one, other = garden.lot().code, garden.lot(seeds=0).code
    assert labels(garden, codes=(other, one, other.lower())) == [other, one]
    with pytest.raises(MisreadCode):
        labels(garden, codes=(one, "00000"))
    with pytest.raises(Refused, match="are more than are labelled"):
        labels(garden, codes=(one,) * (MOST_LABELS + 1))


def test_empty_lots_are_passed_over_unless_named(garden: Garden) -> None:
    full, empty = garden.lot().code, garden.lot(seeds=0).code
    assert labels(garden) == [full]
    assert labels(garden, codes=(empty,)) == [empty]


def test_lots_are_found_by_word_by_place_and_by_what_is_new_of_them(garden: Garden) -> None:
    place = add_place(garden.session, PlaceCreate(name="Shed"))
    carrot = garden.lot(acquired_on=date(2027, 2, 1), place_id=place.id).code
    pea = garden.lot(kind="pea").code
    assert labels(garden, text="pea") == [pea]
    assert labels(garden, place_id=place.id) == [carrot]
    assert set(labels(garden, since=garden.today)) == {carrot, pea}
    assert labels(garden, since=garden.today + timedelta(days=1)) == []
    assert labels(garden, place_id=place.id, text="pea") == []


def test_a_test_makes_the_old_label_wrong(garden: Garden) -> None:
    lot = garden.lot().code
    record(garden, lot, 12, garden.today)
    later = garden.today + timedelta(days=1)
    assert labels(garden, since=later) == []
    assert labels(garden, since=garden.today) == [lot]


def test_the_demos_packets_can_all_be_labelled(demo_stock: Session) -> None:
    said = list_labels(demo_stock, LabelsWanted(), today=DEMO_TODAY)
    assert len(said) > 100
    assert all(one.seeds > 0 for one in said)
    assert any(one.poisonous for one in said)
    assert any(one.treated for one in said)
