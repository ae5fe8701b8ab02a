"""What may be left of seed nobody has counted, against draws from the same law."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from seedbank.science.amounts import SHARES, AmountLaw

numbers = st.floats(1, 1e5)


def law(median: float, log_sd: float, known: float) -> AmountLaw:
    return AmountLaw(np.array([median]), np.array([log_sd]), np.array([known]))


@pytest.mark.parametrize(
    ("median", "log_sd", "known"), [(250, 1.1, 0), (250, 1.1, -400), (30, 0.6, 20)]
)
def test_nodes_and_chances_are_those_of_draws(median: float, log_sd: float, known: float) -> None:
    came = median * np.exp(log_sd * np.random.default_rng(3).standard_normal(2_000_000))
    left = (came + known)[came > max(-known, 0)]
    one = law(median, log_sd, known)
    np.testing.assert_allclose(one.nodes()[:, 0], np.quantile(left, SHARES), rtol=0.02, atol=1)
    for seeds in (1.0, 50.0, 300.0):
        told = float(one.chance_of(np.array([seeds]))[0])
        assert told == pytest.approx(np.mean(left >= seeds), abs=0.003)
    for seeds in (100.0, 300.0, np.inf):
        fewer, parts = left[left < seeds], (np.arange(8) + 0.5) / 8
        at = np.quantile(fewer, parts)
        np.testing.assert_allclose(one.below(seeds, 8)[:, 0], at, rtol=0.03, atol=1)


def test_nothing_taken_the_middle_is_the_packet() -> None:
    assert law(250, 1.1, 0).nodes()[1, 0] == 250


@given(numbers, st.floats(0.05, 2.0), st.floats(-1e6, 1e4), numbers, numbers)
def test_some_is_left_and_more_is_never_likelier(median, log_sd, known, seeds, more) -> None:
    one = law(median, log_sd, known)
    low, middle, high = one.nodes()[:, 0]
    assert 1 <= low <= middle <= high < np.inf
    fewer, many = (float(one.chance_of(np.array([n]))[0]) for n in (seeds, seeds + more))
    assert 0 <= many <= fewer <= 1
