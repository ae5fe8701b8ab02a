"""The lot a seed crop gives: its line, its purity, and what is refused."""

from typing import Any

import pytest

from seedbank.common.errors import Conflict, NotEnoughSeed, Refused
from seedbank.lots.answers import LotAnswer
from seedbank.lots.show_lots import show_lot
from seedbank.lots.tables.lots import Isolation, Purity
from seedbank.saving.check_crossing import check_seed_crop
from seedbank.saving.edit_flowerings import add_flowering
from seedbank.saving.edit_sites import add_gear, add_site
from seedbank.saving.forms import (
    FloweringCreate,
    GearCreate,
    SeedCropChange,
    SeedCropCreate,
    SeedCropHarvest,
    SeedCropSow,
    SiteCreate,
)
from seedbank.saving.grow_seed_crops import (
    change_seed_crop,
    harvest_seed_crop,
    sow_seed_crop,
    start_seed_crop,
)
from seedbank.saving.show_lines import show_drift, show_seed_parents
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.sowing.record_sowing import delete_sowing
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.viability.show_viability import show_viability
from tests.use_cases.conftest import Garden


@pytest.fixture
def site(garden: Garden) -> int:
    return add_site(garden.session, SiteCreate(name="Here")).id


def start(garden: Garden, site: int, **more: Any) -> int:
    sown = {"sown_on": "2025-06-20"}
    body = {"site_id": site, "purpose": "home", "flower_year": 2026, "sow": sown, **more}
    form = SeedCropCreate.model_validate(body)
    return start_seed_crop(garden.session, form, **garden.when).id


def harvest(garden: Garden, crop: int, **more: Any) -> LotAnswer:
    form = SeedCropHarvest.model_validate({"amount": {"seeds": 500}, **more})
    return harvest_seed_crop(garden.session, crop, form, **garden.when).lot


def test_the_purity_standing_goes_with_the_lot_into_every_answer_and_to_its_offspring(
    garden: Garden, site: int
) -> None:
    parent = garden.lot(400, kind="kale", generation=0)
    wild = {"year": 2026, "site_id": site, "kind": "cabbage", "what": "neighbour"}
    form = FloweringCreate.model_validate(wild | {"distance_m": 40.0})
    add_flowering(garden.session, form, today=garden.today)
    crop = start(garden, site, lot=parent.code)
    expected = check_seed_crop(garden.session, crop).purity_note.text
    lot = harvest(garden, crop, parents_kept=20, harvested_on="2026-08-20")
    assert (lot.purity, lot.purity_note) == (Purity.RISK, expected)
    assert "neighbouring cabbage near Here" in expected
    session, today = garden.session, garden.today
    for told in (
        show_lot(session, lot.code, today=today),
        show_verdict(session, lot.code, today=today),
        show_viability(session, lot.code, today=today),
        show_drift(session, lot.code),
        show_seed_parents(session, lot.code, purpose=Purpose.KEEP, today=today),
    ):
        assert (told.purity, told.purity_note) == (lot.purity, lot.purity_note)
    again = start(garden, site, lot=lot.code, isolation="cage", sow={"sown_on": "2026-08-21"})
    child = harvest(garden, again, parents_kept=20)
    assert (child.generation, child.purity) == (2, Purity.RISK)
    assert child.purity_note.startswith(f"Its parent lot {lot.code} ran a risk of crossing.")


def test_a_lots_generation_counts_on_from_its_parent(garden: Garden, site: int) -> None:
    for parent, generation in (
        ({"generation": 4}, 5),
        ({"generation": None}, 1),  # bought: the count begins here
        ({"generation": None, "origin": "self-saved"}, None),
    ):
        lot = garden.lot(**parent)
        assert harvest(garden, start(garden, site, lot=lot.code)).generation == generation


def test_grams_are_booked_with_the_weight_measured_on_the_new_lot(
    garden: Garden, site: int
) -> None:
    crop = start(garden, site, lot=garden.lot().code)
    lot = harvest(garden, crop, amount={"grams": 5.0}, thousand_seed_weight_g=2.0)
    assert (lot.amount.seeds, lot.origin, lot.harvest_date) == (
        2500,
        "self-saved",
        garden.today,
    )


def test_a_crop_without_a_single_parent_gives_no_lot(garden: Garden, site: int) -> None:
    crop = start(garden, site, lot=garden.lot().code, parents_started=5)
    form = SeedCropChange(parents_rogued=5, parents_kept=0)
    change_seed_crop(garden.session, crop, form, expected=None)
    before = garden.dump()
    with pytest.raises(Refused, match="parents_kept"):
        harvest(garden, crop)
    with pytest.raises(Refused, match="more than"):
        harvest(garden, crop, parents_kept=1)
    assert garden.dump() == before


def test_seeds_sown_leave_the_lot_and_come_back_with_the_sowing(garden: Garden, site: int) -> None:
    lot = garden.lot(100)
    crop = start(garden, site, lot=lot.code, flower_year=2027, sow=None)
    with pytest.raises(NotEnoughSeed):
        sow_seed_crop(garden.session, crop, SeedCropSow(seeds_sown=101), **garden.when)
    told = sow_seed_crop(garden.session, crop, SeedCropSow(seeds_sown=60), **garden.when)
    assert (told.stage, garden.balance(lot.code)) == ("sown", 40)
    with pytest.raises(Conflict):
        sow_seed_crop(garden.session, crop, SeedCropSow(seeds_sown=1), **garden.when)
    assert told.sowing_id is not None
    delete_sowing(garden.session, told.sowing_id, expected=None, **garden.when)
    assert garden.balance(lot.code) == 100


def test_the_year_it_flowers_follows_from_the_kind_where_it_is_not_said(
    garden: Garden, site: int
) -> None:
    for kind, year in (("carrot", 2028), ("pea", 2027)):
        body = {"variety_id": garden.variety(kind), "site_id": site, "purpose": "keep"}
        form = SeedCropCreate.model_validate(body)
        assert start_seed_crop(garden.session, form, **garden.when).flower_year == year


def test_what_does_not_fit_together_is_refused_by_its_field(garden: Garden, site: int) -> None:
    lot, other = garden.lot(), garden.lot()
    bags = add_gear(garden.session, GearCreate.model_validate({"name": "Bags", "gear": "bag"}))
    variety = lot.variety.id
    before = garden.dump()
    for wrong, field in (
        ({"lot": other.code}, "lot"),
        ({"gear_id": bags.id, "isolation": Isolation.CAGE}, "gear_id"),
        ({"gear_id": 99}, "gear_id"),
        ({"site_id": 99}, "site_id"),
        ({"sow_on": "2028-04-01", "sow": None}, "flower_year"),
    ):
        with pytest.raises(Refused) as refused:
            start(garden, site, **{"variety_id": variety, **wrong})
        assert refused.value.field == field
        assert garden.dump() == before
