"""What ten towels save where they are chosen for what they teach, and where the oldest are tested.

Gardens of 72 lots of known truth (``tests/simulated_gardens``), two in five tested before. As much
turns on each lot, so that only what is learned tells the choices apart. Each garden is learned anew
with the counts drawn from the truth, every lot is then sown as usual or otherwise by its mean, and
what that costs at the truth is set beside what it cost without. Both choices see the same garden,
so they differ by a pair.
"""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ndtri

from seedbank.science.testing.test_batch import (
    SIZES,
    Belief,
    Candidates,
    Questions,
    Spread,
    choose_batch,
    joint_covariance,
    reading_error,
)
from seedbank.science.viability.posterior import fit_posterior
from tests.by_turns import by_turns
from tests.simulated_gardens import SimulatedGarden, Truth, simulated_garden
from tests.sizes import sized

pytestmark = pytest.mark.benchmark
Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
GARDENS = sized(25, 200)
LOTS, TOWELS, SEEDS = 72, 10, 10
LEVEL = float(ndtri(0.75))


def moments(garden: SimulatedGarden, rho: float) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Mean and sd (L,) of probit viability now, mean and sd of lam, covariance of the effects."""
    learned, _, priors = garden.learn(rho)
    posterior = fit_posterior(priors, garden.tests(rho))
    low, high = posterior.probit_quantile((0.05, 0.95), garden.now).T
    sd = (high - low) / (2 * 1.6449)
    return (
        posterior.probit_mean(garden.now), sd, priors.lam_mean, priors.log_sigma_sd,
        learned.covariance,
    )  # fmt: skip


def chosen(garden: SimulatedGarden, slope: Floats, rho: float) -> Ints:
    mean, sd, lam, lam_sd, covariance = moments(garden, rho)
    pace = np.exp(-lam + 0.5 * lam_sd**2) * garden.now
    alone = np.hypot(garden.priors.ki_sd, pace * garden.effects.own_sd)
    joint = joint_covariance(Spread(sd, alone, pace), garden.effects, covariance)
    lots = np.arange(LOTS)
    error = reading_error(mean, sd, np.full(LOTS, LEVEL), np.array(SIZES), rho)
    cost = np.full(error.shape, np.inf)
    cost[:, 0] = 0.0
    offered = Candidates(lots, np.zeros(LOTS, dtype=np.int64), error, cost)
    questions = Questions(lots, mean - LEVEL, slope)
    found = choose_batch(questions, Belief.untested(joint), offered, TOWELS)
    return np.array([one.candidate for one in found])


def with_towels(garden: SimulatedGarden, lots: Ints, seed: list[int]) -> SimulatedGarden:
    """The same garden once these lots were tested today."""
    rng = np.random.default_rng(seed)
    rho = Truth().between_tests
    p = garden.truth[lots]
    worth = (1.0 - rho) / rho
    p = rng.beta(np.maximum(p * worth, 1e-9), np.maximum((1.0 - p) * worth, 1e-9))
    added = [np.zeros((LOTS, 1)) for _ in range(2)]
    added[0][lots, 0], added[1][lots, 0] = rng.binomial(SEEDS, p), SEEDS
    return replace(
        garden,
        dose=np.column_stack([garden.dose, garden.now]),
        viable=np.column_stack([garden.viable, added[0]]),
        seeds=np.column_stack([garden.seeds, added[1]]),
    )


def loss(garden: SimulatedGarden, slope: Floats, rho: float) -> float:
    """Of sowing each lot as usual or otherwise by its mean, at what it really is."""
    over = ndtri(garden.truth) - LEVEL
    usual = moments(garden, rho)[0] >= LEVEL
    return float(slope @ np.where(usual, np.maximum(-over, 0.0), np.maximum(over, 0.0)))


def test_ten_towels_chosen_save_more_than_the_ten_oldest() -> None:
    saved = []
    for number in range(GARDENS):
        garden = simulated_garden([71, number], lots=LOTS)
        slope = np.ones(LOTS)
        rho = garden.rho()
        before = loss(garden, slope, rho)
        batches = (chosen(garden, slope, rho), np.argsort(-garden.now)[:TOWELS])
        assert batches[0].size == TOWELS
        saved.append(
            [before - loss(with_towels(garden, lots, [73, number]), slope, rho) for lots in batches]
        )
    ours, oldest = np.transpose(saved)
    more, se = np.mean(ours - oldest), np.std(ours - oldest) / np.sqrt(GARDENS)
    print(
        f"\n{GARDENS} gardens of {LOTS} lots: ten chosen save {ours.mean():.2f}, the ten oldest "
        f"{oldest.mean():.2f}, {ours.mean() / oldest.mean() - 1:+.0%}; "
        f"a pair {more:.2f} +- {se:.2f}"
    )
    assert ours.mean() >= 1.15 * oldest.mean()
    assert more > 2.0 * se


def test_choosing_among_two_thousand_lots_costs_at_most_four_inversions() -> None:
    rng = np.random.default_rng(1)
    lots = 2000
    common = rng.normal(0.0, 0.2, (lots, 40))
    joint = common @ common.T + np.diag(rng.uniform(0.1, 0.6, lots))
    mean, sd = rng.normal(0.9, 0.7, lots), np.sqrt(np.diagonal(joint))
    error = reading_error(mean, sd, np.full(lots, LEVEL), np.array(SIZES), 0.012)
    cost = np.full(error.shape, 0.02)
    offered = Candidates(np.arange(lots), np.zeros(lots, dtype=np.int64), error, cost)
    questions = Questions(np.arange(lots), mean - LEVEL, np.ones(lots))

    def choose() -> None:
        assert len(list(choose_batch(questions, Belief.untested(joint), offered, TOWELS))) == TOWELS

    chosen_in, inverted_in = by_turns(3, choose, lambda: np.linalg.inv(joint))
    ratio = chosen_in.seconds / inverted_in.seconds
    print(f"\n2,000 lots: {chosen_in.seconds:.2f} s, {ratio:.1f} inversions of their covariance")
    assert ratio <= 4.0
