"""What to order: what isn't saved and isn't enough for this season's rows and the next one's."""

import math
from typing import Any

import pytest

from seedbank.facts.kinds import kind_facts
from seedbank.plan.answers import OrderAnswer
from seedbank.plan.list_orders import fresh_seasons, list_orders
from seedbank.plan.plan_supply import plan_supplies
from seedbank.season.answers import Listed
from seedbank.season.season_lists import season_list
from tests.use_cases.conftest import Garden

BOUGHT = {"origin": "bought", "harvest_year": 2026, "acquired_on": "2027-01-20"}


def orders(garden: Garden) -> list[OrderAnswer]:
    return list_orders(garden.session, today=garden.today).items


def variety(garden: Garden, kind: str = "beet", **more: Any) -> int:
    return garden.variety(kind, **{"plants_wanted": 60, "other_keepers": "many", **more})


def test_plenty_of_fresh_bought_seed_needs_no_order(garden: Garden) -> None:
    garden.lot(5000, variety_id=variety(garden), **BOUGHT)
    assert orders(garden) == []


def test_a_variety_wanted_of_which_none_is_held_is_ordered_whole(garden: Garden) -> None:
    number = variety(garden)
    (one,) = orders(garden)
    assert one.variety.id == number
    assert (one.enough_this_season, one.enough_next_season) == (0.0, 0.0)
    # Good seed of beet: about three clusters a plant; as much again to sow the gaps, ten to test.
    assert 120 <= one.for_this_season <= 240
    assert one.for_next_season == one.for_this_season == one.to_sow_again
    assert one.seeds == 3 * one.for_this_season + one.to_test
    assert one.packets == math.ceil(one.seeds / one.packet_seeds)
    assert one.grams == pytest.approx(one.seeds * 0.0177, rel=0.4)  # 14 to 20 g a thousand


def test_seed_for_one_season_only_is_ordered_for_the_next(garden: Garden) -> None:
    garden.lot(260, variety_id=variety(garden), **BOUGHT)
    (one,) = orders(garden)
    assert one.enough_this_season == 1.0
    assert one.enough_next_season < 1.0
    assert one.for_this_season == 0
    assert one.for_next_season > 0


def test_more_seed_never_asks_for_more(garden: Garden) -> None:
    number, asked = variety(garden), []
    for _ in range(8):
        asked.append(sum(one.seeds for one in orders(garden)))
        garden.lot(70, variety_id=number, **BOUGHT)
    assert asked == sorted(asked, reverse=True)
    assert asked[0] > 0
    assert asked[-1] == 0


def test_seed_too_weak_for_a_row_is_named_beside_the_order_in_its_place(garden: Garden) -> None:
    garden.lot(400, variety_id=variety(garden, "onion"), **BOUGHT | {"harvest_year": 2018})
    (one,) = orders(garden)
    assert one.enough_this_season == 0.0
    assert "400 seeds held are left out" in one.text


def test_the_reserve_is_left_alone_by_rows(garden: Garden) -> None:
    garden.lot(600, variety_id=variety(garden, reserve_seeds=600), **BOUGHT)
    (one,) = orders(garden)
    assert one.enough_this_season == 0.0


def test_what_is_saved_here_is_ordered_for_this_season_at_most(garden: Garden) -> None:
    number = variety(garden, breeding="open-pollinated")
    garden.lot(20, variety_id=number, origin="self-saved", harvest_date="2026-09-01")
    (one,) = orders(garden)
    assert one.for_this_season > 0
    assert (one.for_next_season, one.to_test) == (0, 0)


def test_how_long_fresh_packets_do_is_as_common_practice_has_it() -> None:
    """Onion, leek and parsnip hardly lie over, tomato four years: common practice."""
    assert {fresh_seasons(kind_facts(kind)) for kind in ("onion", "leek", "parsnip")} <= {1, 2}
    assert fresh_seasons(kind_facts("tomato")) == 4


def test_nobody_wanting_a_variety_of_which_none_is_held_orders_nothing(garden: Garden) -> None:
    variety(garden, plants_wanted=0)
    assert orders(garden) == []


def test_where_nobody_has_said_a_row_of_three_metres_is_reckoned(garden: Garden) -> None:
    garden.lot(5, variety_id=variety(garden, plants_wanted=0), **BOUGHT)
    (one,) = orders(garden)
    assert one.assumed
    assert one.plants_wanted == 48


def test_dead_seed_is_not_enough(garden: Garden) -> None:
    number = variety(garden, "onion")
    old = {"origin": "bought", "harvest_year": 1995, "acquired_on": "1996-01-20"}
    garden.lot(9000, variety_id=number, **old)
    (one,) = orders(garden)
    assert one.enough_this_season == 0.0


def test_planting_stock_is_ordered_in_pieces(garden: Garden) -> None:
    number = variety(garden, "garlic", plants_wanted=50)
    garden.lot(20, variety_id=number)
    (one,) = orders(garden)
    assert (one.seeds, one.packets) == (30, 0)


def test_the_list_to_get_and_the_supplies_say_the_same(garden: Garden) -> None:
    for kind in ("beet", "pea", "lettuce"):
        garden.lot(30, variety_id=variety(garden, kind), **BOUGHT)
    found = orders(garden)
    assert len(found) == 3
    assert plan_supplies(garden.session, today=garden.today).orders == found
    listed = season_list(garden.session, Listed.BUY, today=garden.today)
    assert [one.reasons[0].text for one in listed.items] == [one.text for one in found]
