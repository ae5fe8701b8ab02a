"""Distances asked for, and the order in which crossing risks are put."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seedbank.science.crossing.crossing_risk import (
    LIKELY_FROM,
    Carrier,
    Likelihood,
    Mating,
    PartialCross,
    Purpose,
    Relation,
    distance_required,
    likelihood,
    relation_of,
    risk_index,
)

shares = st.floats(0.0, 1.0)
ratios = st.floats(0.0, 2.0)
PAIRS = (
    PartialCross("cichorium-intybus", "cichorium-endivia", Relation.SOMETIMES),
    PartialCross("a", "b", Relation.RARELY),
    PartialCross("a", "b", Relation.OFTEN),
)


def test_home_use_takes_the_home_distance_and_keeping_the_strict_one():
    assert distance_required(Purpose.HOME, 305.0, 1000.0).distance_m == 305.0
    assert distance_required(Purpose.KEEP, 305.0, 1000.0).distance_m == 1000.0
    assert distance_required(Purpose.RARE, 305.0, 1000.0).distance_m == 1000.0
    assert not distance_required(Purpose.RARE, 305.0, 1000.0).assumed


@given(
    st.none() | st.floats(0, 5000),
    st.none() | st.floats(0, 5000),
    st.sampled_from(Mating),
    st.sampled_from(Carrier),
)
def test_keeping_never_asks_less_than_home_use(home, strict, mating, carrier):
    if home is not None and strict is not None and home > strict:
        home, strict = strict, home
    least = distance_required(Purpose.HOME, home, strict, mating, carrier)
    most = distance_required(Purpose.KEEP, home, strict, mating, carrier)
    assert least.distance_m <= most.distance_m


@pytest.mark.parametrize("distance", [-1.0, float("nan")])
def test_a_distance_that_is_none_is_refused(distance):
    with pytest.raises(ValueError, match="0 m or more"):
        distance_required(Purpose.HOME, distance, None)


def test_selfing_kinds_are_asked_for_little_and_wind_crossers_for_much():
    selfing = distance_required(Purpose.KEEP, None, None, Mating.SELFING, Carrier.SELF)
    crossing = distance_required(Purpose.KEEP, None, None, Mating.OUTCROSSING, Carrier.WIND)
    assert selfing.distance_m <= 140 < 500 < crossing.distance_m


@pytest.mark.parametrize("mating", Mating)
@pytest.mark.parametrize("carrier", Carrier)
@pytest.mark.parametrize("purpose", Purpose)
def test_a_distance_nobody_knows_is_a_wide_one_and_its_far_end_is_asked(mating, carrier, purpose):
    asked = distance_required(purpose, None, None, mating, carrier)
    assert asked.assumed
    assert 2 * asked.least_m < asked.distance_m or mating is Mating.OUTCROSSING
    assert asked.least_m < asked.distance_m
    bounded = distance_required(Purpose.HOME, None, 5.0, mating, carrier)
    assert bounded.least_m <= bounded.distance_m == 5.0


def test_one_group_crosses_with_itself_and_others_only_as_listed():
    assert relation_of("beta", "beta", ()) is Relation.SAME
    assert relation_of("cichorium-intybus", "cichorium-endivia", PAIRS) is Relation.SOMETIMES
    assert relation_of("cichorium-endivia", "cichorium-intybus", PAIRS) is None
    assert relation_of("a", "b", PAIRS) is Relation.OFTEN
    assert relation_of("beta", "daucus", PAIRS) is None


@given(ratios, ratios, shares, shares)
def test_risk_falls_with_distance_and_rises_with_days_shared(near, far, few, many):
    near, far = sorted((near, far))
    few, many = sorted((few, many))
    assert risk_index(far, few) <= risk_index(near, few) <= risk_index(near, many)
    assert 0.0 <= float(risk_index(near, many)) <= 1.0


def test_risk_is_nil_at_the_required_distance_or_without_a_shared_day_and_one_side_by_side():
    assert risk_index([1.0, 1.5, 0.2], [1.0, 1.0, 0.0]).tolist() == [0.0, 0.0, 0.0]
    assert float(risk_index(0.0, 1.0)) == 1.0


@pytest.mark.parametrize(("ratio", "share"), [(-0.1, 0.5), (0.5, 1.1), (float("nan"), 0.5)])
def test_a_ratio_or_share_out_of_range_is_refused(ratio, share):
    with pytest.raises(ValueError, match="distance ratio"):
        risk_index(ratio, share)


def test_the_words_for_a_risk_at_their_edges():
    assert likelihood(0.0) is Likelihood.NONE
    assert likelihood(1e-9) is Likelihood.UNLIKELY
    assert likelihood(LIKELY_FROM) is Likelihood.LIKELY
