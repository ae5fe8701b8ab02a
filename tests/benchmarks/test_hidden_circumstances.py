"""Bands of lots of unknown age in stores that may not close hold what they say.

Run with ``pytest tests/benchmarks -m benchmark -s``; ``SEEDBANK_FULL=1`` for 200 gardens.
"""

import numpy as np
import pytest

from seedbank.science.viability.posterior import fit_posterior
from tests.simulated_gardens import hidden_garden
from tests.sizes import FULL

pytestmark = pytest.mark.benchmark
GARDENS = 200 if FULL else 40


def test_bands_hold_where_ages_are_unknown_and_stores_may_not_close() -> None:
    held: dict[str, list[bool]] = {}
    width: dict[str, list[float]] = {}
    for seed in range(GARDENS):
        hidden = hidden_garden([77, seed])
        priors, tests, now = hidden.believed()
        low, high = fit_posterior(priors, tests, now).quantile((0.05, 0.95), now).T
        truth = hidden.garden.truth
        inside = (low <= truth) & (truth <= high)
        tested = hidden.garden.tested
        for name, which in {
            "untested, age known": ~tested & ~hidden.unknown_age,
            "untested, age unknown": ~tested & hidden.unknown_age,
            "tested, age known": tested & ~hidden.unknown_age,
            "tested, age unknown": tested & hidden.unknown_age,
        }.items():
            held.setdefault(name, []).extend(inside[which].tolist())
            width.setdefault(name, []).extend((high - low)[which].tolist())
    for name, every in held.items():
        print(
            f"\n{name}: {len(every)} lots, 90 % bands hold {100 * np.mean(every):.1f} %, "
            f"width {np.mean(width[name]):.3f}",
            end="",
        )
    print()
    for name, every in held.items():
        assert 0.86 <= np.mean(every) <= 0.94, name
    # Of tested lots the older are nearer to dead, where no band is wide.
    unknown, known = (width[f"untested, age {age}"] for age in ("unknown", "known"))
    assert np.mean(unknown) > np.mean(known)
