"""A packet taken in with whatever isn't listed yet, all of it or nothing."""

import pytest

from seedbank.common.errors import Conflict, Refused
from seedbank.kinds.edit_varieties import add_variety, show_variety
from seedbank.kinds.forms import VarietyCreate
from seedbank.lots.answers import LotAnswer
from seedbank.lots.edit_places import add_place
from seedbank.lots.forms import PacketCreate, PacketMove, PlaceCreate
from seedbank.lots.show_lots import show_lot
from seedbank.lots.take_in_packet import move_packet, take_in_packet
from tests.use_cases.conftest import Garden


def take_in(garden: Garden, **fields: object) -> LotAnswer:
    form = PacketCreate.model_validate({"origin": "bought", **fields})
    return take_in_packet(garden.session, form, **garden.when)


def test_a_new_variety_and_a_new_place_come_in_with_the_packet(garden: Garden) -> None:
    lot = take_in(
        garden,
        kind="Carrot",
        variety="Dusk Finger",
        amount={"seeds": 300},
        new_place={"name": "Blue tin", "sealed": True},
        harvest_year=2026,
    )
    assert (lot.variety.name, lot.variety.kind, lot.amount.seeds) == ("Dusk Finger", "carrot", 300)
    assert lot.place is not None
    assert lot.place.name == "Blue tin"
    assert show_variety(garden.session, lot.variety.id).name == "Dusk Finger"


def test_a_variety_the_kind_has_is_used_whatever_its_case(garden: Garden) -> None:
    first = take_in(garden, kind="carrot", variety="Dusk Finger")
    again = take_in(garden, kind="CARROT", variety="dusk finger")
    no_kind = take_in(garden, variety="Dusk finger")
    assert again.variety == no_kind.variety == first.variety


def test_a_word_of_a_new_variety_tells_the_kind_more_nearly(garden: Garden) -> None:
    add_variety(garden.session, VarietyCreate(kind="onion", name="Red bunching"))
    kinds = [
        take_in(garden, kind=kind, variety=variety).variety.kind
        for kind, variety in (
            ("onion", "White bunching"),
            ("onion", "Red bunching"),
            ("onion", "Red Globe"),
            ("bean", "Runner, tall"),
            ("French bean", "Tall"),
        )
    ]
    assert kinds == ["welsh-onion", "onion", "onion", "runner-bean", "common-bean"]


def test_varieties_that_differ_by_case_only_are_told_apart(garden: Garden) -> None:
    for name in ("Moth", "MOTH"):
        add_variety(garden.session, VarietyCreate(kind="pea", name=name))
    assert take_in(garden, kind="pea", variety="MOTH").variety.name == "MOTH"


def test_a_variety_of_two_kinds_has_to_say_which(garden: Garden) -> None:
    take_in(garden, kind="carrot", variety="Moth")
    with pytest.raises(Refused, match="yet") as refused:
        take_in(garden, variety="Mooth")
    assert refused.value.field == "kind"
    take_in(garden, kind="pea", variety="Moth")
    with pytest.raises(Refused, match="more than one") as refused:
        take_in(garden, variety="Moth")
    assert refused.value.mend == "Say which: carrot or pea."


@pytest.mark.parametrize(
    ("word", "kind"), [("Courgettes", "squash-pepo"), ("snow peas", "pea"), ("Möhre", "carrot")]
)
def test_a_kind_may_be_told_by_any_everyday_name(garden: Garden, word: str, kind: str) -> None:
    taken = take_in(garden, kind=word, variety="Dusk Finger")
    assert taken.variety.kind == kind


def test_a_misspelt_kind_is_refused_with_one_like_it_and_nothing_is_kept(garden: Garden) -> None:
    before = garden.dump()
    with pytest.raises(Refused) as refused:
        take_in(garden, kind="carot", variety="Dusk Finger")
    assert (refused.value.field, refused.value.mend) == ("kind", "Perhaps carrot?")
    assert garden.dump() == before


def test_a_fault_in_the_lot_takes_its_new_variety_and_place_back(garden: Garden) -> None:
    before = garden.dump()
    with pytest.raises(Refused) as refused:
        take_in(
            garden,
            kind="carrot",
            variety="Dusk Finger",
            new_place={"name": "Blue tin"},
            harvest_year=garden.today.year + 1,
        )
    assert refused.value.field == "harvest_year"
    assert garden.dump() == before


def test_a_new_place_of_a_taken_name_is_told_beside_its_own_field(garden: Garden) -> None:
    add_place(garden.session, PlaceCreate(name="Blue tin"))
    with pytest.raises(Conflict) as refused:
        take_in(garden, kind="carrot", variety="Moth", new_place={"name": "Blue tin"})
    assert refused.value.field == "new_place.name"


@pytest.mark.parametrize("model", [PacketCreate, PacketMove])
def test_a_place_is_listed_or_new_but_not_both(
    model: type[PacketCreate] | type[PacketMove],
) -> None:
    both = {"place_id": 1, "new_place": {"name": "Blue tin"}}
    more = {"origin": "gift", "variety": "Moth"} if model is PacketCreate else {}
    with pytest.raises(ValueError, match="not both"):
        model.model_validate({**both, **more})


def test_a_lot_is_put_in_a_place_that_is_added_for_it(garden: Garden) -> None:
    lot = garden.lot()
    form = PacketMove.model_validate({"new_place": {"name": "Blue tin"}})
    stay = move_packet(garden.session, lot.code, form, today=garden.today)
    assert (stay.place.name, stay.from_date) == ("Blue tin", garden.today)
    shown = show_lot(garden.session, lot.code, today=garden.today)
    assert shown.place == stay.place
