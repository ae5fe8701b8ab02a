"""Planting stock lasts about as long as it is said to, and no longer for being older."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from seedbank.science.viability.planting_stock import USUAL_YEARS, chance_kept

years = st.floats(0.05, 10)


def chance(keeps: float, age: float) -> float:
    return float(chance_kept(np.array([keeps]), np.array([age]))[0])


@given(years, years, years)
def test_age_lowers_the_chance_and_longer_keeping_raises_it(keeps, age, more) -> None:
    assert chance(keeps, age + more) <= chance(keeps, age)
    assert chance(keeps + more, age) >= chance(keeps, age)
    assert abs(chance(keeps, keeps) - 0.5) < 1e-9  # as long as it is said to keep


def test_where_nobody_has_said_the_answer_is_wider() -> None:
    assert chance(np.nan, USUAL_YEARS) == 0.5
    assert chance(USUAL_YEARS, 0.4) > chance(np.nan, 0.4) > 0.5
    assert chance(USUAL_YEARS, 1.5) < chance(np.nan, 1.5) < 0.5
    assert chance(0.7, 0.0) > 0.999999
