"""A gardener's own values: read, marked as theirs, and never a cloak for a recalled figure."""

import pytest

from seedbank.common.catalogue import text_of
from seedbank.facts.kinds import KeptAs, kind_facts, packaged_kinds
from seedbank.facts.methods import TemperatureRegime
from seedbank.facts.overrides import RULES, BadFact, with_overrides
from seedbank.facts.sources import Confidence, Spread
from seedbank.kinds.tables import FactName

MINE = "my own notebook, invented"
GOOD = {
    "kept_as": ("Tubers", KeptAs.TUBERS),
    "botanical": ("Sium sisarum", "Sium sisarum"),
    "crossing_group": ("skirret", "skirret"),
    "life_cycle": ("Perennial", "perennial"),
    "mating": ("outcrossing", "outcrossing"),
    "storage_class": ("orthodox", "orthodox"),
    "poisonous": ("no", False),
    "minimum_germination_pct": ("55", 55.0),
    "first_count_days": ("7", 7),
    "final_count_days": ("21", 21),
    "test_temperature_c": ("15-25", (TemperatureRegime(15, 25),)),
    "thousand_seed_weight_g": ("1.5-2.5", Spread(2.0, 1.5, 2.5)),
    "seedlings_per_unit": ("1-2", Spread(1.5, 1, 2)),
    "depth_cm": ("1.5", 1.5),
    "in_row_cm": ("25", Spread(25, 25, 25)),
    "row_cm": ("40", Spread(40, 40, 40)),
    "soil_min_c": ("6", 6.0),
    "soil_opt_c": ("18", 18.0),
    "isolation_home_m": ("200", 200.0),
    "isolation_strict_m": ("800", 800.0),
    "seed_parents_maintain": ("20", 20),
    "seed_parents_rare": ("50", 50),
}
BAD = {
    "kept_as": "seedlings",
    "keeps_years": "0",
    "life_cycle": "evergreen",
    "mating": "shy",
    "storage_class": "tropical",
    "poisonous": "perhaps",
    "minimum_germination_pct": "101",
    "first_count_days": "2.5",
    "final_count_days": "soon",
    "test_temperature_c": "30-20",
    "half_viability_years": "-1",
    "thousand_seed_weight_g": "nan",
    "seedlings_per_unit": "0",
    "depth_cm": "inf",
    "in_row_cm": "-5",
    "row_cm": "",
    "soil_min_c": "80",
    "soil_opt_c": "warm",
    "isolation_home_m": "-1",
    "isolation_strict_m": "far",
    "seed_parents_maintain": "0",
    "seed_parents_rare": "1e3",
    "botanical": " ",
    "crossing_group": "",
}


def test_every_fact_a_gardener_may_store_can_be_read_here() -> None:
    assert set(RULES) == {name.value for name in FactName}


def test_a_kind_known_only_from_the_gardener_holds_all_they_say() -> None:
    kind = with_overrides(
        None,
        {name: (text, MINE) for name, (text, _) in GOOD.items()},
        slug="skirret",
        name="skirret",
    )
    for name, (_, value) in GOOD.items():
        fact = getattr(kind, RULES[name].field)
        assert fact.value == value, name
        assert (fact.confidence, fact.source) == (Confidence.OWN, MINE)
    assert kind.seed_unit.value == "cluster"


def test_a_kind_of_ones_own_is_unlisted_until_told_otherwise() -> None:
    kind = with_overrides(None, {}, slug="skirret", name="skirret")
    assert kind.storage_class.value == "unlisted"
    assert kind.storage_class.confidence is Confidence.COMPUTED
    assert kind.minimum_germination_pct is None


@pytest.mark.parametrize("name", sorted(BAD))
def test_a_bad_value_is_refused_with_its_mend(name: str) -> None:
    with pytest.raises(BadFact) as caught:
        with_overrides(kind_facts("pea"), {name: (BAD[name], MINE)})
    assert (caught.value.name, caught.value.value) == (name, BAD[name])
    assert text_of(caught.value.mend).startswith("Give ")


def test_an_unknown_name_and_a_missing_source_are_refused() -> None:
    with pytest.raises(BadFact, match="own-fact-name"):
        with_overrides(None, {"colour": ("red", MINE)})
    with pytest.raises(BadFact, match="own-fact-source"):
        with_overrides(None, {"depth_cm": ("2", "  ")})


def test_a_memory_value_stays_memory_when_other_values_are_the_gardeners() -> None:
    basil = kind_facts("basil")
    assert basil.final_count_days is not None
    assert basil.final_count_days.confidence is Confidence.MEMORY
    merged = with_overrides(basil, {"first_count_days": ("5", MINE), "depth_cm": ("1", MINE)})
    assert merged.first_count_days is not None
    assert merged.first_count_days.confidence is Confidence.OWN
    assert merged.final_count_days == basil.final_count_days
    assert merged.soil_min_c == basil.soil_min_c
    assert merged.soil_min_c is not None
    assert merged.soil_min_c.confidence is Confidence.MEMORY


@pytest.mark.parametrize("slug", sorted(packaged_kinds()))
def test_no_overrides_change_nothing(slug: str) -> None:
    assert with_overrides(kind_facts(slug), {}) == kind_facts(slug)


def test_own_half_viability_replaces_the_published_evidence_and_constants() -> None:
    kind = with_overrides(kind_facts("onion"), {"half_viability_years": ("3.5", MINE)})
    assert [fact.value.p50_years for fact in kind.half_viability] == [3.5]
    assert kind.viability_constants is None
    assert kind.longevity == kind_facts("onion").longevity


def test_values_out_of_order_are_refused_and_name_both() -> None:
    with pytest.raises(BadFact, match=r"order.*first_count_days.*12.*final_count_days.*10"):
        with_overrides(kind_facts("onion"), {"first_count_days": ("12", MINE)})
    with pytest.raises(BadFact, match=r"isolation_home_m.*900"):
        with_overrides(
            None, {"isolation_home_m": ("900", MINE), "isolation_strict_m": ("100", MINE)}
        )
    fine = with_overrides(
        kind_facts("onion"), {"first_count_days": ("12", MINE), "final_count_days": ("12", MINE)}
    )
    assert fine.final_count_days is not None
    assert fine.final_count_days.value == 12
