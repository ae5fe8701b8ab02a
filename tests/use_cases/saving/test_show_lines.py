"""Seed parents to raise from a lot, and what its line has lost."""

import pytest

from seedbank.saving.show_lines import show_drift, show_seed_parents
from seedbank.science.crossing.crossing_risk import Purpose
from tests.use_cases.conftest import Garden


def test_diversity_kept_falls_by_half_over_twice_the_parents_each_generation(
    garden: Garden,
) -> None:
    variety = garden.variety("cabbage")
    codes: list[str] = []
    for parents in (None, 10, 20):
        lot = garden.lot(
            variety_id=variety, origin="self-saved", parents=codes[-1:], seed_parents=parents
        )
        codes.append(lot.code)
    told = show_drift(garden.session, codes[-1])
    # (1 - 1/20)(1 - 1/40): Crow & Kimura 1970, ch. 7 (from memory)
    assert told.kept == pytest.approx(0.92625, abs=5e-5)
    assert [step.lot for step in told.line] == codes
    assert [step.kept for step in told.line] == [1.0, 0.95, told.kept]
    assert told.generations == 2.0
    assert 10 < (told.effective_number or 0) < 20
    assert "inbreeding" in {caution.code for caution in told.cautions}


def test_a_founder_has_lost_nothing_and_uncounted_parents_are_said(garden: Garden) -> None:
    founder = garden.lot(kind="cabbage", seed_parents=3)
    told = show_drift(garden.session, founder.code)
    assert (told.kept, told.generations, told.effective_number) == (1.0, 0.0, None)
    assert told.cautions == []
    child = garden.lot(variety_id=founder.variety.id, origin="self-saved", parents=[founder.code])
    told = show_drift(garden.session, child.code)
    assert told.uncounted_generations == 1.0
    assert "parents-uncounted" in {caution.code for caution in told.cautions}


def test_a_selfer_drifts_as_half_its_plants_would(garden: Garden) -> None:
    founder = garden.lot(kind="pea")
    child = garden.lot(
        variety_id=founder.variety.id, origin="self-saved", parents=[founder.code], seed_parents=10
    )
    told = show_drift(garden.session, child.code)
    assert told.line[-1].effective_parents == 5.0  # N/(1 + F), F = 1: Crow & Kimura (from memory)
    assert told.kept == 0.9


def test_the_purpose_sets_the_parents_and_biennials_lose_some_over_winter(
    garden: Garden,
) -> None:
    lot = garden.lot(2000, kind="carrot")
    told = [
        show_seed_parents(garden.session, lot.code, purpose=purpose, today=garden.today)
        for purpose in Purpose
    ]
    assert [one.parents for one in told] == [5, 60, 200]  # reproduction.csv, carrot
    assert told[0].seeds < told[1].seeds < told[2].seeds
    assert [loss.what for loss in told[0].losses] == [
        "before flowering",
        "over winter",
        "by roguing",
    ]
    annual = garden.lot(2000, kind="pea")
    shown = show_seed_parents(garden.session, annual.code, purpose=Purpose.KEEP, today=garden.today)
    assert "over winter" not in {loss.what for loss in shown.losses}
    assert [year.flower_year for year in shown.years] == [2027, 2028]


def test_too_little_seed_is_said_and_waiting_never_helps(garden: Garden) -> None:
    lot = garden.lot(40, kind="carrot", harvest_year=2020)
    told = show_seed_parents(garden.session, lot.code, purpose=Purpose.KEEP, today=garden.today)
    assert (told.enough, told.seeds) == (False, 40)
    few = show_seed_parents(
        garden.session, lot.code, purpose=Purpose.KEEP, today=garden.today, parents=10
    )
    this_year, next_year = few.years
    assert next_year.chance <= this_year.chance
    assert told.chance < few.chance
