"""What to sow, what is lacking, and what may be given away without touching reserve or plan."""

import math
from typing import Any

import pytest

from seedbank.database.cache import CacheRegion
from seedbank.kinds.edit_kinds import state_fact
from seedbank.kinds.forms import FactStated
from seedbank.kinds.tables import FactName
from seedbank.lots.forms import MovementCreate
from seedbank.lots.move_seed import record_movement
from seedbank.plan import plan_supply
from seedbank.plan.answers import GetBy, SuppliesAnswer
from seedbank.plan.plan_supply import plan_supplies
from seedbank.sowing.advise_variety import advise_variety
from seedbank.sowing.answers import VarietySowingAdviceAnswer
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.sowable_lots import VarietyStock
from seedbank.verdicts.spare_seed import FIT_TO_GIVE, LEAST_GIFT
from tests.use_cases.conftest import Garden

GOOD = {"harvest_date": "2026-09-01"}


def supplies(garden: Garden) -> SuppliesAnswer:
    return plan_supplies(garden.session, today=garden.today)


def test_an_empty_collection_needs_and_spares_nothing(garden: Garden) -> None:
    answer = supplies(garden)
    assert (answer.sow, answer.orders, answer.spare) == ([], [], [])


def test_the_sowing_list_is_the_sowing_advice(garden: Garden) -> None:
    number = garden.variety("radish", plants_wanted=30)
    garden.lot(3000, variety_id=number, **GOOD)
    advice = advise_variety(garden.session, number, SowingAsk(), today=garden.today)
    (one,) = supplies(garden).sow
    assert (one.seeds, one.enough) == (advice.seeds, advice.enough)
    assert sum(lot.seeds for lot in one.lots) == one.seeds


def test_after_seed_is_taken_the_lists_are_as_if_nothing_had_been_kept(
    garden: Garden, monkeypatch: pytest.MonkeyPatch
) -> None:
    for kind in ("radish", "carrot", "pea"):
        number = garden.variety(kind, plants_wanted=30)
        garden.lot(60, variety_id=number, harvest_year=2023)
        code = garden.lot(300, variety_id=number, **GOOD).code
    before = supplies(garden)
    worked: list[int] = []
    whole = plan_supply.advise_from

    def advise(stock: VarietyStock, *rest: Any) -> VarietySowingAdviceAnswer:
        worked.append(stock.variety.id or 0)
        return whole(stock, *rest)

    monkeypatch.setattr(plan_supply, "advise_from", advise)
    body = {"reason": "given", "on_date": "2027-03-01", "amount": {"seeds": 290}}
    record_movement(garden.session, code, MovementCreate.model_validate(body), **garden.when)
    after = supplies(garden)
    assert worked == [number]
    assert after != before
    monkeypatch.setattr(plan_supply, "_ADVISED", CacheRegion(9))
    assert supplies(garden) == after
    assert len(worked) == 1 + 3


def test_a_variety_nobody_wants_plants_of_is_not_sown_and_not_lacking(garden: Garden) -> None:
    garden.variety("radish")
    answer = supplies(garden)
    assert (answer.sow, answer.orders) == ([], [])


@pytest.mark.parametrize(
    ("breeding", "keepers", "get_by", "said"),
    [
        ("f1", "many", GetBy.BUY, "F1 hybrid"),
        ("open-pollinated", "many", GetBy.BUY, "many keep it"),
        ("open-pollinated", "few", GetBy.SWAP, "few keep it"),
        ("landrace", "none", GetBy.SWAP, "Nobody else"),
    ],
)
def test_seed_that_is_lacking_is_bought_or_swapped_for(
    garden: Garden, breeding: str, keepers: str, get_by: GetBy, said: str
) -> None:
    garden.variety("radish", plants_wanted=30, breeding=breeding, other_keepers=keepers)
    (one,) = supplies(garden).orders
    assert one.get_by is get_by
    assert said in one.text
    assert one.seeds == sum(
        (one.for_this_season, one.for_next_season, one.to_sow_again, one.to_test)
    )
    assert one.packets == math.ceil(one.seeds / one.packet_seeds)


def test_too_little_seed_is_on_both_lists(garden: Garden) -> None:
    number = garden.variety("radish", plants_wanted=300)
    garden.lot(40, variety_id=number, **GOOD)
    answer = supplies(garden)
    assert [one.enough for one in answer.sow] == [False]
    assert [one.variety.id for one in answer.orders] == [number]


def test_spare_seed_leaves_rows_reserve_and_seed_crop_untouched(garden: Garden) -> None:
    number = garden.variety(
        "radish", plants_wanted=20, reserve_seeds=100, other_keepers="few", breeding="landrace"
    )
    garden.lot(400, variety_id=number, harvest_year=2023)
    garden.lot(900, variety_id=number, **GOOD)
    (one,) = supplies(garden).spare
    assert one.held == 1300
    assert one.keep == one.for_rows + one.reserve + one.for_seed_crop
    assert one.keep + one.spare == one.held
    assert one.spare == sum(lot.seeds for lot in one.lots)
    assert one.reserve == 100
    for lot in one.lots:
        assert lot.seeds >= LEAST_GIFT
        assert lot.alive_pct >= 100.0 * FIT_TO_GIVE


def test_all_of_a_reserve_is_never_spare(garden: Garden) -> None:
    number = garden.variety("radish", reserve_seeds=500, other_keepers="none")
    garden.lot(500, variety_id=number, **GOOD)
    assert supplies(garden).spare == []


def test_seed_for_the_next_crop_and_another_try_stays(garden: Garden) -> None:
    number = garden.variety("radish", other_keepers="none", breeding="landrace", plants_wanted=0)
    lot = garden.lot(5000, variety_id=number, harvest_year=2024)
    (one,) = supplies(garden).spare
    assert one.for_seed_crop > 0
    assert one.spare == garden.balance(lot.code) - one.keep


def test_dead_seed_is_not_given_away(garden: Garden) -> None:
    number = garden.variety("onion")
    garden.lot(5000, variety_id=number, harvest_year=1995, acquired_on="1995-11-01")
    assert supplies(garden).spare == []


def test_seed_that_has_outlived_its_kind_is_not_for_giving(garden: Garden) -> None:
    number = garden.variety("carrot")
    fact = FactStated(value="recalcitrant", source="invented for this test")
    state_fact(garden.session, "carrot", FactName.STORAGE_CLASS, fact, expected=None)
    garden.lot(40, variety_id=number, harvest_date="2025-10-20")
    new = garden.lot(3000, variety_id=number, harvest_date="2026-11-01").code
    (spare,) = supplies(garden).spare
    assert {lot.lot for lot in spare.lots} == {new}
