"""A mixture of lots with shares: a lot of its own, which is judged as no seed of any variety."""

from typing import Any

import pytest
from pydantic import ValidationError

from seedbank.common.errors import Conflict, NotEnoughSeed, Refused
from seedbank.germination.forms import TestStart
from seedbank.germination.run_tests import start_test
from seedbank.interchange.descriptors.write_descriptors import write_descriptors
from seedbank.interchange.passport.write_passport import write_passport
from seedbank.lots.answers import LotAnswer
from seedbank.lots.forms import MixtureCreate, MixtureTold, MovementCreate
from seedbank.lots.mix_lots import mix_lots, tell_mixture
from seedbank.lots.move_seed import record_movement
from seedbank.lots.show_lots import show_lot
from seedbank.plan.last_plan import stock_digest
from seedbank.plan.plan_supply import plan_supplies
from seedbank.saving.forms import Purpose
from seedbank.saving.show_lines import show_seed_parents
from seedbank.science.verdicts.verdict import Verdict
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.forms import SowingAsk, SowingCreate
from seedbank.sowing.record_sowing import record_sowing
from seedbank.verdicts.advise_testing import advise_testing
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.viability.forecast_viability import forecast
from seedbank.viability.show_viability import show_viability
from tests.use_cases.conftest import Garden


def mixed(garden: Garden, *parts: tuple[str, int], variety: int | None = None) -> LotAnswer:
    told = {
        "variety_id": variety or garden.variety("lettuce"),
        "parts": [{"lot": code, "amount": {"seeds": seeds}} for code, seeds in parts],
    }
    return mix_lots(garden.session, MixtureCreate.model_validate(told), **garden.when)


@pytest.fixture
def leaves(garden: Garden) -> LotAnswer:
    lettuce, rocket = garden.lot(400, kind="lettuce").code, garden.lot(500, kind="rocket").code
    return mixed(garden, (lettuce, 300), (rocket, 100))


def test_each_lot_gives_its_share_and_the_mixture_remembers(
    garden: Garden, leaves: LotAnswer
) -> None:
    assert leaves.amount.seeds == 400
    assert [one.share for one in leaves.mixture] == [0.75, 0.25]
    codes = [one.lot or "" for one in leaves.mixture]
    assert [garden.balance(code) for code in codes] == [100, 400]
    assert show_lot(garden.session, leaves.code, today=garden.today).mixture == leaves.mixture
    assert show_lot(garden.session, codes[0], today=garden.today).mixture == []


def test_all_of_it_is_mixed_or_nothing_is(garden: Garden) -> None:
    few, garlic = garden.lot(30).code, garden.lot(30, kind="garlic").code
    before = garden.dump()
    with pytest.raises(NotEnoughSeed):
        mixed(garden, (garden.lot(10).code, 5), (few, 40))
    with pytest.raises(Refused, match="twice"):
        mixed(garden, (few, 5), (few, 5))
    with pytest.raises(Refused, match="planting stock"):
        mixed(garden, (few, 5), (garlic, 5))
    after = garden.dump()
    assert after["mixture_part"] == before["mixture_part"]
    assert garden.balance(few) == 30


def test_it_is_as_alive_as_its_parts_and_judged_as_none_of_them(
    garden: Garden, leaves: LotAnswer
) -> None:
    session, today = garden.session, garden.today
    life = show_viability(session, leaves.code, today=today)
    assert (life.now.median_pct, life.now.planting_stock, life.now.reckoned) == (None, False, False)
    assert [one.code for one in life.reasons] == ["mixture-not-judged"]
    assert life.mixture is not None
    each = [show_viability(session, part.lot or "", today=today).now for part in life.mixture.parts]
    assert [one.viability for one in life.mixture.parts] == each
    ends = [
        [0.0 if end is None else end for end in (one.low_90_pct, one.high_90_pct)] for one in each
    ]
    low, high = (0.75 * one + 0.25 * other for one, other in zip(*ends, strict=True))
    assert life.mixture.low_90_pct == pytest.approx(low, abs=0.01)
    assert life.mixture.high_90_pct == pytest.approx(high, abs=0.01)
    verdict = show_verdict(session, leaves.code, today=today)
    assert (verdict.verdict, verdict.urgency) == (Verdict.NOT_JUDGED, 0)
    assert [one.code for one in verdict.reasons] == ["mixture"]
    advice = advise_testing(session, leaves.code, today=today)
    assert [one.code for one in advice.reasons] == ["mixture-tested-whole"]


def test_no_seed_is_saved_of_it_and_no_paper_tells_of_it_as_one_lot(
    garden: Garden, leaves: LotAnswer
) -> None:
    session, today, code = garden.session, garden.today, leaves.code
    with pytest.raises(Conflict, match="come true"):
        show_seed_parents(session, code, purpose=Purpose.KEEP, today=today)
    with pytest.raises(Conflict, match="no one thickness"):
        advise_lot(session, code, SowingAsk(plants=10), today=today)
    with pytest.raises(Conflict, match="mixture"):
        write_passport(session, code, seeds=10, today=today)
    with pytest.raises(Conflict, match="mixture"):
        write_descriptors(session, code, today=today)


def test_it_is_sown_tested_given_and_let_go_and_teaches_nothing_of_its_kind(
    garden: Garden, leaves: LotAnswer
) -> None:
    session, code = garden.session, leaves.code
    start_test(session, TestStart(lot=code, replicates=[20]), **garden.when)
    sown = {"lot": code, "seeds_sown": 100, "method": "broadcast", "area_m2": 1.0}
    record_sowing(session, SowingCreate.model_validate(sown), **garden.when)
    for reason, seeds in (("given", 30), ("discarded", 50)):
        form = MovementCreate.model_validate({"reason": reason, "amount": {"seeds": seeds}})
        record_movement(session, code, form, **garden.when)
    assert garden.balance(code) == 200
    seen = forecast(session, today=garden.today)
    at = seen.collection.code.index(code)
    assert seen.planting_stock[at]
    assert not seen.reckoned(at)


def test_what_a_bought_mixture_holds_is_told_as_far_as_it_is_known(garden: Garden) -> None:
    lot = garden.lot(None, kind="lettuce", origin="bought")
    parts = [{"name": "red mustard", "share": 0.5}, {"name": "herbs"}]
    form = MixtureTold.model_validate({"parts": parts})
    told = tell_mixture(garden.session, lot.code, form, expected=None, today=garden.today)
    assert [(one.name, one.share) for one in told.mixture] == [
        ("red mustard", 0.5),
        ("herbs", None),
    ]
    assert told.version > lot.version
    life = show_viability(garden.session, lot.code, today=garden.today)
    assert life.mixture is not None
    assert (life.mixture.low_90_pct, life.mixture.high_90_pct) == (0, 100)
    assert show_verdict(garden.session, lot.code, today=garden.today).verdict is Verdict.NOT_JUDGED
    before = stock_digest(garden.session)
    none = MixtureTold.model_validate({"parts": []})
    tell_mixture(garden.session, lot.code, none, expected=None, today=garden.today)
    judged = show_verdict(garden.session, lot.code, today=garden.today)
    assert judged.verdict is not Verdict.NOT_JUDGED
    assert stock_digest(garden.session) != before  # a plan is made of it


def test_it_stands_for_no_variety_where_another_lot_is_asked_for(garden: Garden) -> None:
    variety = garden.variety("lettuce", plants_wanted=10, other_keepers="none")
    alone = garden.lot(60, variety_id=variety, harvest_date="2019-09-01", acquired_on="2020-01-01")
    before = show_verdict(garden.session, alone.code, today=garden.today)
    mixed(garden, (garden.lot(900).code, 400), (garden.lot(900).code, 400), variety=variety)
    after = show_verdict(garden.session, alone.code, today=garden.today)
    assert (after.verdict, after.urgency) == (before.verdict, before.urgency)
    supplies = plan_supplies(garden.session, today=garden.today)
    assert all(lot.lot == alone.code for one in supplies.sow for lot in one.lots)


def told_by_shares(garden: Garden, seeds: int, **shares: float) -> LotAnswer:
    told = {
        "variety": "Spring leaves",
        "seeds": seeds,
        "parts": [{"lot": code, "share": share} for code, share in shares.items()],
    }
    return mix_lots(garden.session, MixtureCreate.model_validate(told), **garden.when)


def test_shares_come_to_whole_seeds_and_to_all_of_them(garden: Garden) -> None:
    codes = [garden.lot(300, kind="lettuce").code for _ in range(3)]
    made = told_by_shares(garden, 100, **dict(zip(codes, (0.5, 0.33, 0.17), strict=True)))
    assert [garden.balance(code) for code in codes] == [250, 267, 283]
    thirds = told_by_shares(garden, 100, **dict.fromkeys(codes, 0.333))
    assert sum(300 - garden.balance(code) for code in codes) == 200
    assert made.amount.seeds == thirds.amount.seeds == 100
    assert made.variety == thirds.variety  # made once, by its name
    assert made.variety.kind == "lettuce"


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ({"seeds": 10, "shares": (0.97, 0.03)}, "is not one seed"),
        ({"seeds": 100, "shares": (0.5, 0.4)}, "must come to 100 %"),
        ({"seeds": None, "shares": (0.5, 0.5)}, "how many seeds"),
    ],
)
def test_shares_that_cannot_be_are_refused(garden: Garden, told: dict[str, Any], says: str) -> None:
    codes = [garden.lot(300, kind="lettuce").code for _ in range(2)]
    with pytest.raises((Refused, ValidationError), match=says):
        told_by_shares(garden, told["seeds"], **dict(zip(codes, told["shares"], strict=True)))
    assert [garden.balance(code) for code in codes] == [300, 300]
