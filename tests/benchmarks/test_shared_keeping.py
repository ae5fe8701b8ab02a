"""What learning over the garden gains, and how near exact it is.

Run with ``pytest tests/benchmarks -m benchmark -s``; ``SEEDBANK_FULL=1`` for the sizes in brackets.
"""

import csv

import numpy as np
import pytest
from numpy.typing import NDArray

from seedbank.science.viability.posterior import fit_posterior
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO as USUAL_RHO
from tests.benchmarks.mcmc_gardens import ENDS, GARDENS, TABLE, sample, small_garden
from tests.simulated_gardens import Truth, score, simulated_garden
from tests.sizes import FULL

pytestmark = pytest.mark.benchmark
Floats = NDArray[np.float64]
GARDENS_A_WORLD = 200 if FULL else 25
WORLDS = {
    "on the prior": (Truth(), 0.85, 0.90),
    "all keep half as long": (Truth(longer=0.5), 0.70, 1.0),
    "all keep twice as long": (Truth(longer=2.0), 0.75, 1.0),
    "half, tests vary, some fail": (
        Truth(longer=0.5, between_tests=0.05, failed_tests=0.05), 1.0, 1.0,
    ),
    "0.4 probits lower at harvest": (Truth(at_harvest_probits=-0.4), 1.0, 1.0),
    "lots with heavy tails": (Truth(heavy_tails=True), 1.0, 1.0),
}  # fmt: skip


@pytest.mark.parametrize("world", WORLDS)
def test_untested_lots_are_known_better_from_their_neighbours(world: str) -> None:
    truth, most_crps, most_width = WORLDS[world]
    figures = []
    for number in range(GARDENS_A_WORLD):
        garden = simulated_garden([list(WORLDS).index(world), number], truth=truth)
        rho = garden.rho()
        pooled = garden.learn(rho)[2]
        figures.append(
            [
                [shown.crps, shown.covered, shown.width]
                for lots in (~garden.tested, garden.tested)
                for priors, of_tests in ((garden.priors, USUAL_RHO), (pooled, rho))
                for shown in (score(garden, priors, of_tests, lots),)
            ]
        )
    (alone, together), (own, with_all) = np.mean(figures, axis=0).reshape(2, 2, 3)
    print(
        f"\n{world}, {GARDENS_A_WORLD} gardens: untested CRPS {alone[0]:.3f} -> {together[0]:.3f} "
        f"({100 * (together[0] / alone[0] - 1):+.0f} %), 90 % bands hold {100 * alone[1]:.0f} -> "
        f"{100 * together[1]:.0f} %, width {100 * (together[2] / alone[2] - 1):+.0f} %; "
        f"tested CRPS {own[0]:.3f} -> {with_all[0]:.3f}, hold {100 * own[1]:.0f} -> "
        f"{100 * with_all[1]:.0f} %"
    )
    assert together[0] <= most_crps * alone[0]
    assert together[2] <= most_width * alone[2]
    assert 0.86 <= together[1] <= 0.94
    assert 0.86 <= with_all[1] <= 0.94


def reference(seed: int) -> tuple[Floats, float]:
    """Ends (L, 3) from the long chains, and the largest standard error of one."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if int(row["garden"]) == seed]
    ends = np.array([[float(row[f"end_{end}"]) for end in ENDS] for row in rows])
    return ends, max(float(row["largest_error"]) for row in rows)


@pytest.mark.parametrize("seed", GARDENS)
def test_bands_are_those_of_long_markov_chains(seed: int) -> None:
    garden = small_garden(seed)
    expected, error = reference(seed)
    priors = garden.learn(0.0)[2]
    off = np.abs(fit_posterior(priors, garden.tests(0.0)).quantile(ENDS, garden.now) - expected)
    print(
        f"\n{GARDENS[seed]} lots against chains: ends {100 * off.mean():.3f} points off on "
        f"average, {100 * off.max():.2f} at most; the chains' own error {100 * error:.3f} at most"
    )
    assert error <= 0.001
    assert off.mean() <= 0.003
    assert off.max() <= 0.015


def test_the_kept_table_is_what_the_chains_give() -> None:
    seed = next(iter(GARDENS))
    again = sample(small_garden(seed), steps=5000 if FULL else 500, seed=2)
    kept, error = reference(seed)
    assert np.all(np.abs(again.ends - kept) <= 5.0 * np.hypot(again.error, error))
