"""Rates by the hand and by the pinch."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seedbank.science.sowing.hand_measures import (
    SPOTS,
    Pinch,
    fewest_at_spots,
    pinch_for,
    under_a_hand,
)


def test_a_carrot_row_as_it_is_sown_by_hand() -> None:
    # 105 a metre, the middle of printed carrot rates: 21 under 20 cm, two every 2 cm or so.
    assert under_a_hand(105.0) == pytest.approx(21.0)
    assert pinch_for(105.0) == Pinch(2, 2)
    assert pinch_for(175.0) == Pinch(8, 5)
    # "fewer than 51 in 3 m" is fewer than 17 at five spots of 20 cm, which are a metre.
    assert fewest_at_spots(51, 3.0) == 17
    assert fewest_at_spots(5, 1.0) is None


@given(st.floats(10.0, 400.0))
def test_a_pinch_is_never_far_from_the_rate(rate: float) -> None:
    # Fine seed is sown at 10 to 400 a metre; the steps leave gaps of 30 % at most between them.
    assert abs(math.log(pinch_for(rate).seeds_per_m / rate)) <= 0.15


@given(st.integers(1, 500), st.floats(1.01, 50.0), st.floats(12.0, 28.0))
def test_spots_as_thin_as_the_row_are_told_thin(fewest: int, row_m: float, span_cm: float) -> None:
    spots = fewest_at_spots(fewest, row_m, span_cm)
    looked_at = SPOTS * span_cm / 100.0
    if row_m <= looked_at:
        assert spots is None
    else:
        assert spots is not None
        assert spots - 1 < fewest * looked_at / row_m + 1e-6
        assert spots <= fewest


def test_a_rate_of_nothing_has_no_pinch() -> None:
    with pytest.raises(ValueError, match="some seed"):
        pinch_for(0.0)
