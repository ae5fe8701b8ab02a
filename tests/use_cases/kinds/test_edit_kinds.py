"""Kinds of the gardener's own, and their word about any kind."""

import pytest

from seedbank.common.errors import Conflict, NotThere, Refused, StaleVersion
from seedbank.kinds.answers import FactAnswer, KindAnswer
from seedbank.kinds.edit_kinds import (
    add_kind,
    add_packaged_kinds,
    change_kind,
    delete_kind,
    facts_for,
    show_kind,
    state_fact,
    withdraw_fact,
)
from seedbank.kinds.edit_varieties import delete_variety
from seedbank.kinds.forms import FactStated, KindChange, KindCreate
from seedbank.kinds.tables import FactName, get_kind
from tests.use_cases.conftest import Garden


def fact(kind: KindAnswer, name: str) -> FactAnswer:
    (found,) = (one for one in kind.facts if one.name == name)
    return found


def state(garden: Garden, slug: str, name: FactName, value: str) -> KindAnswer:
    form = FactStated(value=value, source="my own four lots")
    return state_fact(garden.session, slug, name, form, expected=None)


def test_a_packaged_kind_shows_every_fact_with_its_source(garden: Garden) -> None:
    kind = show_kind(garden.session, "carrot")
    assert kind.packaged
    assert len(kind.facts) > 20
    assert all(one.source.text and one.source.confidence for one in kind.facts)
    assert fact(kind, "minimum_germination_pct").value == 65.0  # 2002/55/EC Annex II


def test_the_gardeners_word_overrides_the_packaged_fact_until_it_is_taken_back(
    garden: Garden,
) -> None:
    stated = state(garden, "carrot", FactName.MINIMUM_GERMINATION_PCT, "70")
    shown = fact(stated, "minimum_germination_pct")
    assert (shown.value, shown.stated_by_you) == (70.0, True)
    assert (shown.source.text, shown.source.confidence) == ("my own four lots", "own")
    facts = facts_for(garden.session, get_kind(garden.session, "carrot"))
    assert facts.minimum_germination_pct is not None
    assert facts.minimum_germination_pct.value == 70.0
    name = FactName.MINIMUM_GERMINATION_PCT
    back = withdraw_fact(garden.session, "carrot", name, expected={stated.version})
    assert fact(back, "minimum_germination_pct").value == 65.0
    with pytest.raises(NotThere):
        withdraw_fact(garden.session, "carrot", name, expected=None)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        (FactName.MINIMUM_GERMINATION_PCT, "101"),
        (FactName.HALF_VIABILITY_YEARS, "nan"),
        (FactName.LIFE_CYCLE, "evergreen"),
        (FactName.FIRST_COUNT_DAYS, "99"),  # after the final count
    ],
)
def test_a_fact_that_cannot_be_read_is_refused_and_changes_nothing(
    garden: Garden, name: FactName, value: str
) -> None:
    before = garden.dump()
    with pytest.raises(Refused) as refused:
        state(garden, "carrot", name, value)
    assert refused.value.field == "value"
    assert refused.value.mend
    assert garden.dump() == before


def test_a_kind_of_ones_own_is_added_filled_renamed_and_taken_out(garden: Garden) -> None:
    kind = add_kind(garden.session, KindCreate(slug="sea-beet", name="Sea beet"))
    assert not kind.packaged
    assert fact(kind, "storage_class").value == "unlisted"
    filled = state(garden, "sea-beet", FactName.THOUSAND_SEED_WEIGHT_G, "12-18")
    assert fact(filled, "thousand_seed_weight_g").value == {"typical": 15, "low": 12, "high": 18}
    form = KindChange(name="Wild sea beet")
    renamed = change_kind(garden.session, "sea-beet", form, expected={filled.version})
    assert renamed.name == "Wild sea beet"
    number = garden.variety("sea-beet")
    with pytest.raises(Conflict):
        delete_kind(garden.session, "sea-beet", expected=None)
    delete_variety(garden.session, number, expected=None)
    delete_kind(garden.session, "sea-beet", expected=None)
    with pytest.raises(NotThere):
        show_kind(garden.session, "sea-beet")


def test_a_packaged_kind_is_neither_renamed_nor_deleted(garden: Garden) -> None:
    before = garden.dump()
    with pytest.raises(Conflict):
        change_kind(garden.session, "carrot", KindChange(name="X"), expected=None)
    with pytest.raises(Conflict):
        delete_kind(garden.session, "carrot", expected=None)
    with pytest.raises(StaleVersion):
        state_fact(
            garden.session,
            "carrot",
            FactName.DEPTH_CM,
            FactStated(value="1", source="mine"),
            expected={9},
        )
    with pytest.raises(Conflict):
        add_kind(garden.session, KindCreate(slug="carrot", name="Carrot"))
    assert garden.dump() == before


def test_starting_again_adds_no_kind_twice(garden: Garden) -> None:
    before = garden.dump()
    add_packaged_kinds(garden.session)
    assert garden.dump() == before
