"""Lots taken in, described better, moved, taken out."""

from datetime import date

import pytest

from seedbank.common.errors import CircularParents, Conflict, MisreadCode, NotThere, Refused
from seedbank.database.queries import Paging
from seedbank.germination.forms import TestStart
from seedbank.germination.run_tests import start_test
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import LotChange, PlaceCreate, StayCreate
from seedbank.lots.move_seed import list_movements
from seedbank.lots.show_lots import show_lot, show_stays
from seedbank.lots.tables.lot_codes import normalise_code
from seedbank.lots.take_in_lots import change_lot, delete_lot, move_lot_to
from tests.use_cases.conftest import Garden


def change(garden: Garden, code: str, **fields: object) -> object:
    form = LotChange.model_validate(fields)
    return change_lot(garden.session, code, form, expected=None, today=garden.today)


def test_a_lot_gets_a_code_its_seed_and_its_place_in_one_go(garden: Garden) -> None:
    place = add_place(garden.session, PlaceCreate(name="Shed"))
    parent = garden.lot()
    lot = garden.lot(
        origin="self-saved",
        harvest_date="2026-09-10",
        acquired_on="2026-10-01",
        parents=[parent.code],
        place_id=place.id,
    )
    assert normalise_code(lot.code) == lot.code
    assert (lot.amount.seeds, lot.harvest_year, lot.parents) == (250, 2026, [parent.code])
    assert lot.place is not None
    assert lot.place.name == "Shed"
    (first,) = list_movements(garden.session, lot.code, None, Paging(9)).items
    assert (first.reason, first.on_date) == ("harvested", date(2026, 10, 1))
    (stay,) = show_stays(garden.session, lot.code).items
    assert (stay.from_date, stay.until) == (date(2026, 10, 1), None)


def test_bought_seed_is_acquired_rather_than_harvested(garden: Garden) -> None:
    lot = garden.lot()
    (first,) = list_movements(garden.session, lot.code, None, Paging(9)).items
    assert first.reason == "acquired"


def test_a_lot_weighed_in_grams_says_how_sure_its_count_is(garden: Garden) -> None:
    lot = garden.lot(
        amount={"grams": 0.5}, thousand_seed_weight_g=2.0, thousand_seed_weight_se_g=0.1
    )
    assert (lot.amount.seeds, lot.amount.seeds_se, lot.amount.grams) == (250, 12.5, 0.5)


def test_a_treated_lot_says_never_to_eat_it(garden: Garden) -> None:
    treated, plain = (
        [caution.text for caution in garden.lot(treated=mark).cautions] for mark in (True, False)
    )
    assert "must not be used for food" in treated[0]
    assert not any("must not be used for food" in text for text in plain)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"harvest_date": "2027-03-02"}, "harvest_date"),
        ({"harvest_year": 2028}, "harvest_year"),
        ({"acquired_on": "2027-03-02"}, "acquired_on"),
        ({"harvest_date": "2026-10-02", "acquired_on": "2026-10-01"}, "acquired_on"),
    ],
)
def test_days_that_make_no_sense_are_refused_and_nothing_is_booked(
    garden: Garden, fields: dict[str, str], field: str
) -> None:
    variety = garden.variety()
    before = garden.dump()
    with pytest.raises(Refused) as refused:
        garden.lot(variety_id=variety, **fields)
    assert refused.value.field == field
    assert garden.dump() == before


def test_an_unknown_variety_place_or_parent_is_named_by_its_field(garden: Garden) -> None:
    variety = garden.variety()
    before = garden.dump()
    for fields, field in (
        ({"variety_id": 99}, "variety_id"),
        ({"place_id": 99}, "place_id"),
        ({"parents": ["00001"]}, "parents[0]"),
    ):
        with pytest.raises((Refused, MisreadCode)) as refused:
            garden.lot(**{"variety_id": variety, **fields})
        assert refused.value.field == field
        assert garden.dump() == before


def test_a_lot_cannot_descend_from_itself(garden: Garden) -> None:
    mother = garden.lot()
    daughter = garden.lot(parents=[mother.code])
    with pytest.raises(CircularParents):
        change(garden, mother.code, parents=[daughter.code])


def test_a_new_harvest_date_brings_its_year_along(garden: Garden) -> None:
    lot = garden.lot(harvest_date="2024-09-10")
    changed = change_lot(
        garden.session,
        lot.code,
        LotChange.model_validate({"harvest_date": "2023-09-10"}),
        expected={1},
        today=garden.today,
    )
    assert (changed.harvest_year, changed.version) == (2023, 2)
    with pytest.raises(Refused):
        change(garden, lot.code, harvest_year=2020)


def test_a_new_weight_does_not_keep_the_error_of_the_old_one(garden: Garden) -> None:
    lot = garden.lot(thousand_seed_weight_g=2.0, thousand_seed_weight_se_g=0.5)
    change(garden, lot.code, thousand_seed_weight_g=1.0)
    weight = show_lot(garden.session, lot.code, today=garden.today).thousand_seed_weight
    assert weight is not None
    assert weight.grams_se == pytest.approx(0.04)


def test_a_lot_with_a_history_is_never_deleted(garden: Garden) -> None:
    lot = garden.lot()
    before = garden.dump()
    with pytest.raises(Conflict):
        delete_lot(garden.session, lot.code, expected=None)
    assert garden.dump() == before


def test_a_lot_that_never_held_seed_can_go_and_its_code_is_not_given_again(
    garden: Garden,
) -> None:
    place = add_place(garden.session, PlaceCreate(name="Shed"))
    lot = garden.lot(0, place_id=place.id)
    delete_lot(garden.session, lot.code, expected={1})
    with pytest.raises(NotThere):
        show_lot(garden.session, lot.code, today=garden.today)
    assert garden.lot(0).code != lot.code


def test_a_lot_is_where_it_was_last_put(garden: Garden) -> None:
    shed = add_place(garden.session, PlaceCreate(name="Shed"))
    fridge = add_place(garden.session, PlaceCreate(name="Fridge"))
    lot = garden.lot(acquired_on="2025-01-01", place_id=shed.id)
    form = StayCreate(place_id=fridge.id, from_date=date(2026, 1, 1))
    move_lot_to(garden.session, lot.code, form, today=garden.today)
    first, second = show_stays(garden.session, lot.code).items
    assert (first.place.name, first.until) == ("Shed", date(2026, 1, 1))
    assert (second.place.name, second.until) == ("Fridge", None)
    form = StayCreate(place_id=fridge.id, from_date=date(2028, 1, 1))
    with pytest.raises(Refused):
        move_lot_to(garden.session, lot.code, form, today=garden.today)


def test_a_parent_of_a_kind_that_does_not_cross_with_the_lots_is_refused(garden: Garden) -> None:
    beet, parsnip = garden.lot(kind="beet"), garden.lot(kind="parsnip")
    crossed = garden.lot(kind="chard", origin="self-saved", parents=[beet.code])
    assert crossed.parents == [beet.code]
    before = garden.dump()
    with pytest.raises(Refused, match="parsnip") as refused:
        garden.lot(
            variety_id=crossed.variety.id, origin="self-saved", parents=[beet.code, parsnip.code]
        )
    assert refused.value.field == "parents[1]"
    assert garden.dump() == before


def test_a_harvest_after_a_test_or_sowing_of_the_lot_is_refused(garden: Garden) -> None:
    code = garden.lot(harvest_year=2024).code
    form = TestStart.model_validate({"lot": code, "started_on": "2025-02-01", "replicates": [9]})
    start_test(garden.session, form, **garden.when)
    before = garden.dump()

    later_day = {"harvest_date": "2025-02-02", "acquired_on": "2025-02-02"}
    later_year = {"harvest_year": 2026, "acquired_on": "2026-02-02"}
    for later, field in ((later_year, "harvest_year"), (later_day, "harvest_date")):
        with pytest.raises(Refused, match="tested or sown on 2025-02-01") as refused:
            change(garden, code, **later)
        assert refused.value.field == field
        assert garden.dump() == before
    change(garden, code, harvest_year=2026, harvest_estimated=True)


def test_the_day_a_packet_says_to_sow_it_by_is_kept_and_changed(garden: Garden) -> None:
    code = garden.lot(sow_by="2027-12-31").code
    assert show_lot(garden.session, code, today=garden.today).sow_by == date(2027, 12, 31)
    change(garden, code, sow_by="2028-12-31")
    assert show_lot(garden.session, code, today=garden.today).sow_by == date(2028, 12, 31)
    change(garden, code, sow_by=None)
    assert show_lot(garden.session, code, today=garden.today).sow_by is None
