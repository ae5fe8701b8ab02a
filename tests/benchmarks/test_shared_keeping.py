"""What learning over the garden gains, how near exact it is, and what it costs.

Run with ``pytest tests/benchmarks -m benchmark -s``; ``SEEDBANK_FULL=1`` for the sizes in brackets.
"""

import csv
from functools import partial

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ndtr

from seedbank.science.shared_effects import (
    EffectEvidence,
    LearnedEffects,
    SharedEffects,
    learn_effects,
)
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.science.viability.shared_keeping import pace_evidence
from seedbank.science.viability.test_evidence import BETWEEN_TESTS_RHO as USUAL_RHO
from tests.benchmarks.mcmc_gardens import ENDS, GARDENS, TABLE, sample, small_garden
from tests.by_turns import by_turns
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


LOTS, TESTS = (100_000, 3) if FULL else (10_000, 3)
PLACES, KINDS, SAVERS = 40, 110, 60


def large_garden(lots: int) -> tuple[SharedEffects, Priors, Observations, Floats]:
    rng = np.random.default_rng(20261130)
    first = np.cumsum([0, 1, PLACES, KINDS])
    effect = np.column_stack(
        [
            first[at] + rng.integers(0, number, lots)
            for at, number in enumerate((1, PLACES, KINDS, SAVERS))
        ]
    )
    sds = np.repeat([0.31, 0.30, 0.32, 0.20], (1, PLACES, KINDS, SAVERS))
    effects = SharedEffects(effect, np.ones(effect.shape), sds**2, np.full(lots, 0.30))
    lam = rng.normal(0.0, sds)[effect].sum(axis=1) + rng.normal(0.0, 0.3, lots)
    priors = Priors(
        rng.uniform(1.2, 1.7, lots), rng.uniform(0.4, 0.8, lots), np.sqrt(effects.prior_variance)
    )
    dose = np.sort(rng.uniform(0.05, 1.8, (lots, TESTS)), axis=1)
    alive = ndtr(rng.normal(priors.ki_mean, priors.ki_sd)[:, None] - np.exp(-lam)[:, None] * dose)
    seeds = rng.choice([10, 20, 25, 40, 50, 100], (lots, TESTS))
    viable = rng.binomial(seeds, alive).astype(np.float64)
    tests = Observations.of_tests(
        dose, viable, seeds.astype(np.float64), np.full(dose.shape, USUAL_RHO)
    )
    return effects, priors, tests, dose[:, -1] + rng.uniform(0.0, 0.4, lots)


def bands(priors: Priors, tests: Observations, now: Floats) -> Floats:
    answer = np.empty((now.size, 5))
    for lots, part in fit_posterior(priors, tests, now, kept=False).in_parts():
        answer[lots] = part.quantile((0.05, 0.25, 0.5, 0.75, 0.95), now[lots])
    return answer


def learned_bands(
    effects: SharedEffects, priors: Priors, tests: Observations, now: Floats
) -> tuple[LearnedEffects, EffectEvidence]:
    evidence = pace_evidence(priors, tests)
    learned = learn_effects(effects, evidence)
    mean, sd = learned.without_own(effects)
    bands(Priors(priors.ki_mean, priors.ki_sd, sd, mean), tests, now)
    return learned, evidence


def test_learning_over_the_garden_costs_little_beside_the_lots_themselves() -> None:
    effects, priors, tests, now = large_garden(LOTS)
    alone, together = by_turns(
        1 if FULL else 3,
        lambda: bands(priors, tests, now),
        lambda: learned_bands(effects, priors, tests, now),
    )
    ratio = together.seconds / alone.seconds
    print(f"\n{LOTS:,} lots with {TESTS} tests: {together.seconds:.2f} s, {ratio:.2f} x each alone")
    assert ratio <= 4.0


def test_belief_grows_linearly_with_the_lots() -> None:
    few, many = (10_000, 100_000) if FULL else (2_000, 10_000)
    seconds = []
    for lots in (few, many):
        [once] = by_turns(1, partial(learned_bands, *large_garden(lots)))
        seconds.append(once.seconds / lots)
    ratio = seconds[1] / seconds[0]
    print(
        f"\n{few:,} : {many:,} lots: {1000 * seconds[0]:.2f} : {1000 * seconds[1]:.2f} ms a lot, "
        f"ratio {ratio:.2f}"
    )
    assert ratio <= 1.3


def test_one_more_test_among_ten_thousand_lots_is_answered_at_once() -> None:
    effects, priors, tests, now = large_garden(10_000)
    learned, evidence = learned_bands(effects, priors, tests, now)
    lot = np.array([4321])
    one = np.ones((1, 1))
    new_test = Observations.of_tests(now[lot, None], 6.0 * one, 30.0 * one, USUAL_RHO * one)
    more = Observations(
        np.append(tests.dose[lot], new_test.dose, axis=1),
        np.append(tests.table[lot], new_test.table, axis=1),
        tests.tables,
    )

    def answered() -> Floats:
        new = pace_evidence(priors.take(lot), more)
        values = evidence.log_likelihood
        values[lot] = new.log_likelihood
        again = learn_effects(effects, EffectEvidence(evidence.reach, values), learned.factors)
        mean, sd = again.without_own(effects)
        own = Priors(priors.ki_mean[lot], priors.ki_sd[lot], sd[lot], mean[lot])
        return bands(own, more, now[lot])

    [once] = by_turns(7, answered)
    print(f"\none test more at 10,000 lots: {1000 * once.seconds:.0f} ms")
    assert once.seconds < 0.09  # 0.05 is asked; 0.05 to 0.08 are taken
