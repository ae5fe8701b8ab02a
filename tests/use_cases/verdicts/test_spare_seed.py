"""How much of a harvest to keep, for how long, and what is spare to give."""

from typing import Any

import pytest

from seedbank.overview.show_variety import show_variety_at_hand
from seedbank.plan.plan_supply import plan_supplies
from seedbank.verdicts.answers import SeedToKeepAnswer
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.verdicts.spare_seed import seed_to_keep_of_lot, seed_to_keep_of_variety
from tests.use_cases.conftest import Garden

HARVEST = {"origin": "self-saved", "harvest_date": "2026-10-15", "seed_parents": 20}


def variety(garden: Garden, kind: str = "lettuce", **more: Any) -> int:
    told = {"other_keepers": "few", "breeding": "open-pollinated", "plants_wanted": 10}
    return garden.variety(kind, **told | more)


def to_keep(garden: Garden, number: int) -> SeedToKeepAnswer:
    return seed_to_keep_of_variety(garden.session, number, today=garden.today)


@pytest.mark.parametrize("kind", ["lettuce", "carrot", "common-bean", "tomato", "parsnip"])
def test_a_full_harvest_tells_how_much_to_keep_till_when_and_what_is_spare(
    garden: Garden, kind: str
) -> None:
    number = variety(garden, kind)
    lot = garden.lot(6000, variety_id=number, **HARVEST).code
    told = to_keep(garden, number)
    assert told.until == show_verdict(garden.session, lot, today=garden.today).next_on
    assert told.until is not None
    assert told.seasons >= 1
    assert told.keep == told.for_rows + told.reserve + told.for_seed_crop
    assert told.for_seed_crop > 0
    assert told.spare == 6000 - told.keep > 0
    assert [(one.lot, one.seeds) for one in told.lots] == [(lot, told.spare)]
    assert f"{told.spare:,}" in told.text


def test_twice_the_next_crops_seed_is_held_for_half_is_held_back(garden: Garden) -> None:
    number = variety(garden, plants_wanted=1)
    garden.lot(6000, variety_id=number, **HARVEST)
    told = to_keep(garden, number)
    parents = 12  # of lettuce a home saver wants fewer; 1.6 are raised for each, twice
    assert told.for_seed_crop <= 2 * 1.6 * parents / 0.4
    assert told.for_seed_crop % 2 == 0


def test_a_reserve_is_there_for_the_seed_crop(garden: Garden) -> None:
    plain, reserved = variety(garden), variety(garden, reserve_seeds=5)
    for number in (plain, reserved):
        garden.lot(6000, variety_id=number, **HARVEST)
    without, having = to_keep(garden, plain), to_keep(garden, reserved)
    assert having.for_seed_crop == without.for_seed_crop - 5
    assert having.keep == without.keep


def test_too_little_is_all_to_be_kept(garden: Garden) -> None:
    number = variety(garden)
    garden.lot(40, variety_id=number, **HARVEST)
    told = to_keep(garden, number)
    assert (told.keep, told.spare, told.lots) == (40, 0, [])
    assert told.text.startswith("Keep it all")


def test_more_seed_never_leaves_less_to_spare(garden: Garden) -> None:
    number, spare = variety(garden), []
    for _ in range(4):
        garden.lot(900, variety_id=number, **HARVEST)
        spare.append(to_keep(garden, number).spare)
    assert spare == sorted(spare)
    assert spare[-1] > 0


def test_of_bought_seed_two_seasons_rows_are_kept(garden: Garden) -> None:
    number = variety(garden, other_keepers="many")
    bought = {"origin": "bought", "harvest_year": 2026, "acquired_on": "2027-01-20"}
    garden.lot(6000, variety_id=number, **bought)
    told = to_keep(garden, number)
    assert (told.seasons, told.for_seed_crop, told.until) == (2, 0, None)


def test_every_surface_says_one_number(garden: Garden) -> None:
    number = variety(garden)
    lot = garden.lot(6000, variety_id=number, **HARVEST).code
    told = to_keep(garden, number)
    assert seed_to_keep_of_lot(garden.session, lot, today=garden.today) == told
    assert show_variety_at_hand(garden.session, number, today=garden.today).to_keep == told
    assert plan_supplies(garden.session, today=garden.today).spare == [told]
