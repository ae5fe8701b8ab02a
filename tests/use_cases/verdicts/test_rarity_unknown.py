"""How many others keep a variety isn't known until it is said; asked for where it decides."""

import pytest

from seedbank.common.errors import Refused
from seedbank.kinds.edit_varieties import (
    change_variety,
    show_variety,
    tell_keepers,
    untold_keepers,
)
from seedbank.kinds.forms import KeepersTold, VarietyChange
from seedbank.science.verdicts.verdict import FOR_SEED, Verdict
from seedbank.verdicts.answers import VerdictAnswer
from seedbank.verdicts.list_verdicts import show_verdict
from tests.use_cases.conftest import Garden

DEAD = {"harvest_date": "1990-09-01", "acquired_on": "1991-01-01"}


def verdict(garden: Garden, code: str) -> VerdictAnswer:
    return show_verdict(garden.session, code, today=garden.today)


def test_of_a_new_variety_it_is_unknown_unless_said(garden: Garden) -> None:
    untold, told = garden.variety(), garden.variety(other_keepers="many")
    known = [show_variety(garden.session, one).keepers_unknown for one in (untold, told)]
    assert known == [True, False]
    form = VarietyChange.model_validate({"other_keepers": "few"})
    assert not change_variety(garden.session, untold, form, expected=None).keepers_unknown
    again = VarietyChange.model_validate({"keepers_unknown": True})
    assert change_variety(garden.session, untold, again, expected=None).keepers_unknown


def test_nothing_is_given_up_on_a_guess_of_how_many_keep_it(garden: Garden) -> None:
    told = {name: garden.variety("onion", other_keepers=name) for name in ("many", "few")}
    codes = {name: garden.lot(40, variety_id=number, **DEAD).code for name, number in told.items()}
    untold = garden.lot(40, kind="onion", **DEAD).code
    assert verdict(garden, codes["many"]).verdict is Verdict.CAN_GO
    answer = verdict(garden, untold)
    assert answer.verdict is verdict(garden, codes["few"]).verdict is Verdict.GET_FRESH
    assert "keepers-decide" in [one.code for one in answer.reasons]
    (asked,) = answer.to_narrow
    assert asked.code == "record-other-keepers"
    assert asked.names["verdict"] == Verdict.CAN_GO
    assert verdict(garden, codes["many"]).to_narrow == []


@pytest.mark.parametrize("seeds", [5, 40, 1000])
@pytest.mark.parametrize("kind", ["onion", "parsnip", "tomato"])
def test_nobody_is_told_to_grow_dead_seed_on_a_guess(garden: Garden, kind: str, seeds: int) -> None:
    answer = verdict(garden, garden.lot(seeds, kind=kind, **DEAD).code)
    assert answer.verdict not in FOR_SEED


def test_it_is_asked_for_only_where_it_decides(garden: Garden) -> None:
    fresh = garden.lot(5000, harvest_date="2026-09-01", acquired_on="2026-10-01").code
    assert verdict(garden, fresh).to_narrow == []
    dead = garden.lot(20, **DEAD).code
    (asked,) = verdict(garden, dead).to_narrow
    assert asked.names["verdict"] != verdict(garden, dead).verdict


def test_many_are_told_in_one_request_or_none(garden: Garden) -> None:
    numbers = [garden.variety() for _ in range(3)]
    assert [one.id for one in untold_keepers(garden.session, 10)] == numbers
    items = [{"variety_id": number, "other_keepers": "few"} for number in numbers[:2]]
    before = garden.dump()
    missing = {"variety_id": 9999, "other_keepers": "few"}
    with pytest.raises(Refused) as refused:
        tell_keepers(garden.session, KeepersTold.model_validate({"items": [*items, missing]}))
    assert refused.value.field == "items[2].variety_id"
    assert garden.dump() == before
    told = tell_keepers(garden.session, KeepersTold.model_validate({"items": items}))
    assert told.varieties == 2
    assert [one.id for one in untold_keepers(garden.session, 10)] == numbers[2:]
    found = show_variety(garden.session, numbers[0])
    assert (found.other_keepers, found.version) == ("few", 2)  # whoever read it before must reread


def test_no_answer_says_that_others_keep_it_where_nobody_has(garden: Garden) -> None:
    told, untold = garden.variety("onion", other_keepers="many"), garden.variety("onion")
    said = {
        number: " ".join(
            one.text
            for one in verdict(garden, garden.lot(20, variety_id=number, **DEAD).code).reasons
        )
        for number in (told, untold)
    }
    assert "many others keep it" in said[told]
    assert "Nobody has said how many others keep the variety" in said[untold]
    assert "many others keep it" not in said[untold]
