"""A batch of tests: the closed form beside sums and simulation, and what must always hold."""

from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ndtr

from seedbank.science.quantities import ProbitNodes
from seedbank.science.shared_effects import SharedEffects, learn_effects
from seedbank.science.testing.test_batch import (
    SIZES,
    Belief,
    Candidates,
    Questions,
    Spread,
    batch_worth,
    choose_batch,
    joint_covariance,
    reading_error,
    sheets_of,
    turning_count,
)
from seedbank.science.testing.test_plan import count_probabilities
from tests.simulated_gardens import simulated_garden

Floats = NDArray[np.float64]
RHO = 0.012


def garden(seed: int, lots: int) -> tuple[Questions, Floats, Floats, Floats]:
    """Questions of a garden drawn at random, with covariance, mean and sd of its lots."""
    rng = np.random.default_rng(seed)
    effect = np.column_stack(
        [
            np.zeros(lots, dtype=np.int64),
            1 + rng.integers(0, 4, lots),
            5 + rng.integers(0, 30, lots),
        ]
    )
    sds = np.concatenate([[0.31], [0.3, 0.3, 0.6, 0.6], np.full(30, 0.32)])
    effects = SharedEffects(effect, np.ones(effect.shape), sds**2, np.full(lots, 0.3))
    pace = rng.uniform(0.2, 1.5, lots)
    alone = np.hypot(rng.uniform(0.2, 0.5, lots), 0.3 * pace)
    spread = Spread(np.hypot(alone, pace * np.sqrt(effects.prior_variance - 0.09)), alone, pace)
    joint = joint_covariance(spread, effects, np.diag(sds**2))
    mean = rng.normal(0.9, 0.7, lots)
    questions = Questions(np.arange(lots), mean - 0.6, rng.uniform(2.0, 12.0, lots))
    return questions, joint, mean, spread.sd


def errors(mean: Floats, sd: Floats, level: float = 0.6) -> Floats:
    return reading_error(mean, sd, np.full(mean.shape, level), np.array(SIZES), RHO)


def candidates(mean: Floats, sd: Floats, cost: float = 0.8) -> Candidates:
    error = errors(mean, sd)
    first = np.zeros(mean.size, dtype=np.int64)
    return Candidates(
        np.arange(mean.size), first, error, cost + 0.027 * np.full(error.shape, SIZES)
    )


def test_the_worth_of_one_test_is_what_summing_over_every_count_gives() -> None:
    off, share = [], []
    cases = product((-0.5, 0.0, 0.5, 1.0, 1.5, 2.0), (0.3, 0.6, 0.9), (0.3, 0.6, 0.9), (10, 20, 50))
    for mean, sd, level, seeds in cases:
        probit = np.linspace(mean - 7 * sd, mean + 7 * sd, 401)
        weight = np.exp(-0.5 * ((probit - mean) / sd) ** 2)
        weight /= weight.sum()
        joint = count_probabilities(ProbitNodes(probit[None], weight[None]), seeds, RHO)[0]
        each = ((probit - level) * weight) @ joint
        exact = np.abs(each).sum() / 2 - abs(mean - level) / 2
        error = errors(np.array([mean]), np.array([sd]), level)[0, [SIZES.index(seeds)]]
        one = Questions(np.array([0]), np.array([mean - level]), np.ones(1))
        closed = batch_worth(one, np.array([[sd**2]]), np.array([0]), error)
        off.append(closed - exact)
        if exact > 0.02:
            share.append(closed / exact - 1.0)
    rms = np.sqrt(np.mean(np.square(share)))
    assert np.abs(off).max() <= 0.005  # of a plant, where a probit costs one
    assert rms <= 0.04


def simulated_worth(seed: int, seeds: int, lots: int = 30) -> tuple[float, float]:
    """Closed form of the best four tests, and the same with true viabilities and counts drawn,
    beliefs by Bayes' rule over 8,000 draws."""
    questions, joint, mean, sd = garden(seed, lots)
    offered = candidates(mean, sd, 0.0)
    found = choose_batch(questions, Belief.untested(joint), offered, 4)
    batch = [one.candidate for one in found]
    rng = np.random.default_rng(seed)
    error = errors(mean, sd)[batch, SIZES.index(seeds)]
    inner = joint[np.ix_(batch, batch)]
    draws = rng.multivariate_normal(mean[batch], inner, 8_000)
    carry = np.linalg.solve(inner, joint[batch])
    counts = count_probabilities(ProbitNodes(draws.T, np.ones(draws.T.shape)), seeds, RHO)
    saved = []
    for _ in range(1000):
        p = ndtr(rng.multivariate_normal(mean[batch], inner))
        k = rng.binomial(seeds, rng.beta(p * (1 / RHO - 1), (1 - p) * (1 / RHO - 1)))
        weight = np.prod([counts[t, :, k[t]] for t in range(len(batch))], axis=0)
        moved = (weight @ draws / weight.sum() - mean[batch]) @ carry
        away = np.abs(questions.margin + moved[questions.lot]) - np.abs(questions.margin)
        # Its mean is nought, so taking it off only steadies the figure.
        even = np.sign(questions.margin) * moved[questions.lot]
        saved.append((away - even) @ questions.slope / 2)
    return batch_worth(questions, joint, np.array(batch), error), float(np.mean(saved))


@pytest.mark.parametrize("seeds", [10, 25])
def test_the_worth_of_a_batch_is_what_simulated_counts_give(seeds: int) -> None:
    closed, simulated = np.transpose([simulated_worth(seed, seeds) for seed in range(1, 7)])
    assert closed.sum() / simulated.sum() == pytest.approx(1.0, abs=0.04), np.round(
        closed / simulated, 3
    )


def test_updates_one_by_one_are_the_formula() -> None:
    questions, joint, mean, sd = garden(4, 60)
    chosen = list(choose_batch(questions, Belief.untested(joint), candidates(mean, sd), 8))
    offered = candidates(mean, sd)
    lots = np.array([one.candidate for one in chosen])
    error = np.array([offered.error[one.candidate, one.size] for one in chosen])
    whole = batch_worth(questions, joint, lots, error)
    assert len(chosen) == 8
    assert sum(one.worth for one in chosen) == pytest.approx(whole, rel=1e-9)
    for one, of_test in zip(chosen, error.tolist(), strict=True):
        assert one.worth_if(questions, one.candidate, of_test) == pytest.approx(one.worth)
        assert one.worth_if(questions, one.candidate, 2.0 * of_test) < one.worth


@pytest.mark.parametrize("seed", range(5))
def test_a_lot_more_never_lowers_the_worth_and_none_is_worth_more_than_knowing(seed: int) -> None:
    questions, joint, mean, sd = garden(10 + seed, 40)
    error = errors(mean, sd)[:, 2]
    order = np.random.default_rng(seed).permutation(40)
    worth = [batch_worth(questions, joint, order[:n], error[order[:n]]) for n in range(1, 41)]
    assert np.all(np.diff(worth) >= -1e-9)
    assert worth[-1] <= questions.perfect(joint).sum()
    sure = batch_worth(questions, joint, order, np.full(40, 1e-9))
    assert sure == pytest.approx(questions.perfect(joint).sum(), rel=1e-6)


def test_a_count_of_seed_long_dead_or_all_alive_reads_nothing() -> None:
    error = errors(np.array([-45.0, -8.0, 8.0, 45.0]), np.full(4, 0.3))
    assert np.all(np.isfinite(error))
    assert error.min() > 1e6


def test_a_test_that_changes_nothing_is_not_listed() -> None:
    questions, joint, mean, sd = garden(5, 40)
    far = Questions(questions.lot, questions.margin + 40.0, questions.slope)
    assert list(choose_batch(far, Belief.untested(joint), candidates(mean, sd), 10)) == []
    nothing = Questions(questions.lot, questions.margin, np.zeros(40))
    assert list(choose_batch(nothing, Belief.untested(joint), candidates(mean, sd), 10)) == []


def test_a_fresh_tested_lot_gains_next_to_nothing() -> None:
    # 45 of 50 alive this year: 40 carrots lose 0.1 plants, one of 2.5 years untested about 2.
    fresh = Questions(np.array([0]), np.array([1.25 - 0.6]), np.array([8.8]))
    old = Questions(np.array([0]), np.array([0.75 - 0.6]), np.array([8.8]))
    for one, mean, sd, low, high in ((fresh, 1.25, 0.28, 0.0, 0.15), (old, 0.75, 0.8, 1.5, 2.5)):
        error = errors(np.array([mean]), np.array([sd]))[0, :1]
        assert low <= batch_worth(one, np.array([[sd**2]]), np.array([0]), error) <= high


def test_it_is_a_test_of_the_lot_that_teaches_others_where_all_else_is_alike() -> None:
    # Six lots of one tin, one alone; as much turns on each.
    effect = np.array([[0]] * 6 + [[1]])
    effects = SharedEffects(effect, np.ones((7, 1)), np.array([0.36, 0.36]), np.full(7, 0.3))
    spread = Spread(np.full(7, np.hypot(0.6, 0.5)), np.full(7, 0.5), np.ones(7))
    joint = joint_covariance(spread, effects, np.diag(effects.variance))
    questions = Questions(np.arange(7), np.full(7, 0.1), np.full(7, 5.0))
    offered = candidates(np.full(7, 0.7), spread.sd)
    first = next(choose_batch(questions, Belief.untested(joint), offered, 1))
    assert first.candidate < 6
    assert np.count_nonzero(first.narrowed > 0.01) == 6


def test_paper_and_number_of_tests_are_kept() -> None:
    questions, joint, mean, sd = garden(6, 50)
    offered = candidates(mean, sd, 0.0)
    assert len(list(choose_batch(questions, Belief.untested(joint), offered, 3))) == 3
    found = list(choose_batch(questions, Belief.untested(joint), offered, 50, 5))
    assert sum(sheets_of(one.size) for one in found) <= 5
    short = Candidates(offered.lot, offered.first, offered.error, np.full((50, 4), np.inf))
    assert list(choose_batch(questions, Belief.untested(joint), short, 3)) == []


def test_a_tests_own_lot_keeps_its_variance_and_teaches_less_for_it() -> None:
    """What lots share after some were tested, beside the garden's own fit."""
    garden_ = simulated_garden(3, lots=40)
    learned = learn_effects(
        garden_.effects.take(np.flatnonzero(garden_.tested)), garden_.learn()[1]
    )
    untested = ~garden_.tested
    pace = garden_.now
    alone = np.hypot(garden_.priors.ki_sd, garden_.effects.own_sd * pace)
    shared = garden_.effects.spread(learned.covariance)
    whole = np.hypot(alone, np.sqrt(shared) * pace)
    sd = np.where(untested, whole, 0.5 * whole)
    joint = joint_covariance(Spread(sd, alone, pace), garden_.effects, learned.covariance)
    assert np.allclose(np.diagonal(joint), sd**2)
    assert np.linalg.eigvalsh(joint).min() > 0.0
    all_open = joint_covariance(Spread(whole, alone, pace), garden_.effects, learned.covariance)
    both = np.ix_(untested, untested)
    assert np.allclose(joint[both], all_open[both])
    assert np.all(
        np.abs(joint[np.ix_(~untested, untested)])
        < np.abs(all_open[np.ix_(~untested, untested)]) + 1e-12
    )


def test_the_count_that_turns_a_decision() -> None:
    turn = turning_count(1.0, 0.8, 0.6, 10, RHO)
    assert 6 <= turn.fewest_alive <= 8
    assert 0.2 < turn.probability_changes < 0.3
    assert turn.over_now
    assert not turning_count(0.3, 0.8, 0.6, 10, RHO).over_now
    sure = turning_count(2.5, 0.2, 0.6, 10, RHO)
    assert sure.fewest_alive <= 2
    assert sure.probability_changes < 0.01
