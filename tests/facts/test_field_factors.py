"""Field factors and soil temperatures as the science asks for them."""

from dataclasses import replace

import pytest

from seedbank.facts.field_factors import (
    field_factors,
    published_shift_prior,
    shift_prior_sources,
    temperature_curve_for,
)
from seedbank.facts.kinds import kind_facts, packaged_kinds
from seedbank.facts.overrides import with_overrides
from seedbank.facts.sources import Confidence
from seedbank.science.sowing.field_shift_prior import SowingConditions
from seedbank.science.sowing.soil_warmth import judge_soil
from tests.science.sowing.field_factors import published_prior


def test_the_packaged_table_gives_the_prior_that_the_science_was_checked_with() -> None:
    packaged, checked = published_shift_prior(), published_prior()
    assert (packaged.average, packaged.fine) == (checked.average, checked.fine)
    assert packaged.under_cover == checked.under_cover
    for kind, offset in checked.kinds.items():
        mine = packaged.kinds[kind.replace(" ", "-")]
        assert (mine.mean, mine.sd) == (offset.mean, offset.sd)


def test_kinds_of_one_species_borrow() -> None:
    kinds = published_shift_prior().kinds
    assert kinds["broad-bean"].mean == kinds["field-bean"].mean
    assert "tomato" not in kinds


def test_cereals_and_formulas_are_no_vegetables_seedbed() -> None:
    named = {factor.kind for factor in field_factors()}
    assert not named & {"cereals", "wheat", "winter-barley", "formula-general"}
    settings = [factor.setting for factor in field_factors()]
    assert {settings.count(step) for step in ("poor", "average", "fine", "under-cover")} == {1}


def test_the_seedbed_scale_is_said_to_be_from_memory() -> None:
    assert {source.confidence for source in shift_prior_sources()} == {Confidence.MEMORY}


def test_carrot_soil_warmth_is_read_from_its_table() -> None:
    need = temperature_curve_for(kind_facts("carrot"))
    # Harrington & Minges 1954: carrot at 10 C took 17 days, at 20 C 7 days.
    assert judge_soil(need.curve, 10.0).days == pytest.approx(17, abs=0.5)
    assert judge_soil(need.curve, 20.0).days == pytest.approx(7, abs=0.5)
    assert any("Harrington" in source.text for source in need.sources)


def test_a_kind_without_a_table_falls_back_on_its_limits() -> None:
    facts = replace(kind_facts("carrot"), emergence_by_temperature=())
    need = temperature_curve_for(facts)
    assert need.curve is not None
    assert need.curve.basis == "minimum and optimum only"
    assert judge_soil(need.curve, 1.0).verdict == "cold"
    no_optimum = temperature_curve_for(replace(facts, soil_opt_c=None))
    assert no_optimum.curve is not None
    assert Confidence.COMPUTED in {source.confidence for source in no_optimum.sources}


def test_a_kind_of_ones_own_knows_no_warmth_until_it_is_stated() -> None:
    facts = with_overrides(None, {}, slug="skirret-of-mine", name="Skirret of mine")
    assert temperature_curve_for(facts).curve is None


def test_every_packaged_kind_has_a_curve_or_no_soil_minimum() -> None:
    for facts in packaged_kinds().values():
        known = temperature_curve_for(facts).curve is not None
        assert known or facts.soil_min_c is None or facts.soil_opt_c is None, facts.slug


def test_conditions_of_every_packaged_kind_have_a_shift() -> None:
    prior = published_shift_prior()
    for slug in packaged_kinds():
        shift = prior.setting_shift(SowingConditions(slug, "row", "open", 2027, "spring"))
        assert shift > 0.0
