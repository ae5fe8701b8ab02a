"""A kind's published test read into what the science asks for."""

import numpy as np

from seedbank.facts.kinds import kind_facts
from seedbank.facts.methods import tolerance_table
from seedbank.facts.overrides import with_overrides
from seedbank.germination.propose_test import dormancy_traits


def test_lettuce_wants_light_prechill_and_no_heat() -> None:
    traits = dormancy_traits(kind_facts("lettuce"))
    # 7 CFR 201.58 table 2: lettuce, 20 C, light; dormant: prechill 10 C 3 d, or 15 C
    assert traits.wants_light
    assert (traits.prechill_c, traits.prechill_days) == ((10.0,), 3.0)
    assert (traits.test_low_c, traits.test_high_c) == (20.0, 20.0)
    assert traits.heat_dormancy_c == (25.0, 30.0)  # packaged sowing table, note of lettuce
    assert traits.expected == 0.75  # 2002/55/EC Annex II: lettuce 75 %


def test_carrot_sleeps_in_no_heat_and_its_seed_is_never_hard() -> None:
    traits = dormancy_traits(kind_facts("carrot"))
    assert traits.heat_dormancy_c is None
    assert not traits.has_hard
    assert (traits.test_low_c, traits.test_high_c) == (20.0, 30.0)  # 7 CFR 201.58: carrot 20-30


def test_hard_seed_is_no_surprise_in_a_family_known_for_it() -> None:
    sweet_pea = kind_facts("sweet-pea")
    assert sweet_pea.counts_hard_seed is None or not sweet_pea.counts_hard_seed.value
    assert dormancy_traits(sweet_pea).has_hard  # legumes: botany, from memory


def test_a_kind_nothing_is_known_of_gets_the_defaults() -> None:
    traits = dormancy_traits(with_overrides(None, {}, slug="sea-beet", name="Sea beet"))
    assert (traits.expected, traits.test_low_c, traits.prechill_c) == (0.8, None, ())


def test_the_tolerance_table_is_the_published_one_with_its_blanks() -> None:
    table = tolerance_table()
    # 7 CFR 201.55 (2015 edition)
    assert table.tolerated(90.0, 4) == 12.0
    assert table.tolerated(51.0, 2) == 16.0
    assert table.tolerated(99.0, 2) is None
    assert np.isnan(table.max_range[2][0])
    assert "201.55" in table.source
