"""Checks that chances are never rounded into certainties."""

import pytest

from seedbank.science.quantities import percent


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.0, "0 %"),
        (1e-9, "under 1 %"),
        (0.01, "1 %"),
        (0.426, "43 %"),
        (0.99, "99 %"),
        (0.9999, "over 99 %"),
        (1.0, "100 %"),
    ],
)
def test_only_an_exact_certainty_reads_as_one(chance, words):
    assert percent(chance) == words
