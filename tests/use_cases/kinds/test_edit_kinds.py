"""Kinds of the gardener's own, and their word about any kind."""

import pytest

from seedbank.common.errors import Conflict, NotThere, Refused, StaleVersion
from seedbank.facts.kinds import KeptAs
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
from seedbank.viability.show_viability import show_viability
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


def test_a_name_and_three_answers_make_a_kind(garden: Garden) -> None:
    form = KindCreate(name="Oca", kept_as=KeptAs.TUBERS, keeps_years=0.8, poisonous=False)
    kind = add_kind(garden.session, form)
    assert (kind.slug, kind.packaged) == ("oca", False)
    assert fact(kind, "kept_as").value == "tubers"
    assert fact(kind, "poisonous").value is False
    keeps = fact(kind, "planting_stock_years")
    assert keeps.value == {"low": 0.8, "high": 0.8}
    assert all(one.stated_by_you for one in (fact(kind, "kept_as"), keeps))


def test_a_name_alone_makes_a_kind_of_which_nothing_is_known(garden: Garden) -> None:
    bare = add_kind(garden.session, KindCreate(name="Moth’s Ear"))
    assert bare.slug == "moth-s-ear"
    assert {one.name for one in bare.facts if one.stated_by_you} == set()
    asked = KindCreate(name="Owl’s Ear", kept_as=KeptAs.SEED, keeps_years=8.0)
    told = add_kind(garden.session, asked)
    lots = [garden.lot(kind=one.slug, harvest_year=2020).code for one in (bare, told)]
    alive = [show_viability(garden.session, one, today=garden.today).now for one in lots]
    # Told that it keeps long, it is held to be more alive than a kind nobody knows.
    assert alive[1].median_pct > alive[0].median_pct
    assert alive[0].high_90_pct - alive[0].low_90_pct > 60


def test_every_other_fact_may_come_along_and_none_twice(garden: Garden) -> None:
    one = {"name": "botanical", "value": "Sium sisarum", "source": "a flora"}
    form = {"name": "Skirret", "facts": [one]}
    assert fact(add_kind(garden.session, KindCreate.model_validate(form)), "botanical").value
    before = garden.dump()
    for name, facts in {
        "twice": [one, one],
        "asked-already": [{**one, "name": "poisonous", "value": "no"}],
        "misread": [{**one, "name": "depth_cm", "value": "deep"}],
    }.items():
        wrong = KindCreate.model_validate({"name": name, "poisonous": True, "facts": facts})
        with pytest.raises(Refused):
            add_kind(garden.session, wrong)
    for nameless in ("…", "x"):
        with pytest.raises(Refused, match="short name"):
            add_kind(garden.session, KindCreate(name=nameless))
    assert garden.dump() == before
