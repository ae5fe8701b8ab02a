"""Lots looked for by words, place and verdict, and by codes that are nearly right."""

import pytest
from sqlmodel import Session

from seedbank.common.errors import Refused
from seedbank.database.queries import Paging
from seedbank.lots.show_lots import show_lot
from seedbank.lots.tables.lot_codes import ALPHABET
from seedbank.overview.answers import FoundLot
from seedbank.overview.find_lots import look_for_lots, near_lots, whole_code
from seedbank.overview.forms import LotQuestion
from seedbank.science.verdicts.verdict import Verdict
from seedbank.verdicts.list_verdicts import show_verdict
from tests.use_cases.conftest import DEMO_TODAY, Garden


def found(session: Session, limit: int = 200, **asked: object) -> list[FoundLot]:
    question = LotQuestion.model_validate(asked)
    return look_for_lots(session, question, Paging(limit), today=DEMO_TODAY).items


def test_every_lot_comes_as_alive_and_judged_as_it_is_by_itself(demo_stock: Session) -> None:
    lots = found(demo_stock)
    assert [one.lot.variety.name for one in lots] == sorted(one.lot.variety.name for one in lots)
    for one in lots[::20]:
        alone = show_verdict(demo_stock, one.lot.code, today=DEMO_TODAY)
        assert one.verdict == alone.verdict
        assert one.viability is not None
        assert one.viability.median_pct == pytest.approx(alone.viability.median_pct, abs=0.01)
        assert one.lot == show_lot(demo_stock, one.lot.code, today=DEMO_TODAY)


def test_words_place_and_verdict_narrow_each_other(demo_stock: Session) -> None:
    every = found(demo_stock)
    place = next(one.lot.place for one in every if one.lot.place)
    for asked, holds in (
        ({"place": place.id}, lambda one: one.lot.place == place),
        ({"verdict": "sow-as-usual"}, lambda one: one.verdict is Verdict.SOW_AS_USUAL),
        ({"words": "carrot"}, lambda one: one.kind_name == "carrot"),
    ):
        some = found(demo_stock, **asked)
        assert 0 < len(some) < len(every)
        assert all(holds(one) for one in some if "carrot" not in one.lot.notes)
    both = found(demo_stock, place=place.id, verdict="sow-as-usual")
    codes = {one.lot.code for one in both}
    assert codes == {
        one.lot.code
        for one in every
        if one.lot.place == place and one.verdict is Verdict.SOW_AS_USUAL
    }


def test_a_lot_is_found_by_any_everyday_name_of_its_kind(garden: Garden) -> None:
    code = garden.lot(kind="squash-pepo", harvest_year=2025).code
    garden.lot(kind="sweet-pea", harvest_year=2025)
    for words, found in (("courgette", [code]), ("Zucchini", [code]), ("snow peas", [])):
        page = look_for_lots(
            garden.session, LotQuestion(words=words), Paging(9), today=garden.today
        )
        assert [one.lot.code for one in page.items] == found


def test_a_place_that_is_not_listed_is_refused(garden: Garden) -> None:
    with pytest.raises(Refused) as refused:
        found(garden.session, place=77)
    assert refused.value.field == "place"


def test_a_whole_code_names_its_lot_however_it_is_typed(garden: Garden) -> None:
    lot = garden.lot()
    assert whole_code(garden.session, f" {lot.code[:2]}-{lot.code[2:].lower()} ") == lot.code
    assert whole_code(garden.session, "carrot") is None
    assert whole_code(garden.session, "") is None


def test_a_mistyped_code_leads_to_the_lots_it_may_mean(garden: Garden) -> None:
    lot = garden.lot()
    other = next(sign for sign in ALPHABET if sign not in lot.code)
    [near] = near_lots(garden.session, f"{lot.code[:2]}{other}{lot.code[3:]}")
    assert (near.code, near.slip.text) == (lot.code, "the third character is wrong")
    assert (near.variety, near.kind_name) == (lot.variety, "carrot")
    assert near_lots(garden.session, lot.code) == []
    assert near_lots(garden.session, "no code at all, and long") == []
