"""Checks of the regeneration rules against printed tables and scipy's binomial."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr, ndtri
from scipy.stats import binom

from seedbank.science.verdicts.regeneration import (
    regeneration_viability,
    retest_interval_years,
    viability_needed,
    viability_needed_in_field,
)

# Rao et al. 2006, Manual of Seed Handling in Genebanks, table 8.2 (read): initial -> regenerate.
LIMITS = {
    100: 85, 99: 84, 98: 83, 97: 82, 96: 82, 95: 81, 94: 80, 93: 79, 92: 78, 91: 77, 90: 77,
    89: 76, 88: 75, 87: 74, 86: 73, 85: 72,
}  # fmt: skip


def test_the_unrounded_limit_lies_within_half_a_percent_of_the_printed_one():
    exact = 100 * regeneration_viability(np.array(list(LIMITS)) / 100)
    assert exact == pytest.approx(list(LIMITS.values()), abs=0.5 + 1e-9)


def test_the_next_test_is_due_after_a_third_of_the_predicted_time_and_within_40_years():
    # FAO Genebank Standards 2014, 4.3.3 (from memory).
    found = retest_interval_years(np.array([9.0, 300.0, 120.0, -2.0, np.inf, np.nan]))
    assert found[:5].tolist() == [3.0, 40.0, 40.0, 0.0, 40.0]
    assert np.isnan(found[5])


@given(st.integers(1, 400), st.data(), st.sampled_from([0.5, 0.8, 0.9, 0.95, 0.99]))
@settings(deadline=None)
def test_the_viability_needed_gives_the_parents_at_exactly_the_confidence(seeds, data, confidence):
    parents = data.draw(st.integers(1, seeds))
    needed = float(viability_needed(np.array([seeds]), np.array([parents]), confidence)[0])
    assert binom.sf(parents - 1, seeds, needed) == pytest.approx(confidence, abs=1e-9)
    assert binom.sf(parents - 1, seeds, needed * 0.999) < confidence


def test_edges_of_the_viability_needed_are_written_out():
    needed = viability_needed(
        np.array([10, 10, 9, 0, 0, 10.9]), np.array([0, 10, 10, 1, 0, 10]), 0.9
    )
    # All of n must grow: p**n = confidence.
    all_of_ten = 0.9 ** (1 / 10)
    assert needed.tolist() == pytest.approx([0, all_of_ten, np.inf, np.inf, 0, all_of_ten])


def test_impossible_confidence_and_negative_counts_are_refused():
    with pytest.raises(ValueError, match="confidence"):
        viability_needed(np.array([10]), np.array([2]), 1.0)
    with pytest.raises(ValueError, match="0 or more"):
        viability_needed(np.array([-1]), np.array([2]), 0.9)


def test_a_hard_seedbed_asks_for_more_viability_and_impossible_needs_ask_for_every_seed():
    needed = np.array([0.3, 0.8, np.inf, 0.0])
    asked = viability_needed_in_field(needed, 0.7)
    assert ndtr(ndtri(asked[:2]) - 0.7) == pytest.approx(needed[:2])
    assert asked[2:].tolist() == [1.0, 0.0]
