"""What lots teach each other, against sums over dense grids, and simulated gardens."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.special import logsumexp

from seedbank.science.shared_effects import (
    PLACES,
    EffectEvidence,
    LearnedEffects,
    NormalFactors,
    SharedEffects,
    learn_effects,
)
from seedbank.science.viability.posterior import Priors, fit_posterior
from seedbank.science.viability.shared_keeping import _spline, pace_evidence
from tests.simulated_gardens import SimulatedGarden, simulated_garden

Floats = NDArray[np.float64]
ENDS = (0.05, 0.25, 0.5, 0.75, 0.95)


def taught(garden: SimulatedGarden) -> tuple[LearnedEffects, Priors]:
    learned, _, priors = garden.learn()
    return learned, priors


def direct_log_likelihood(garden: SimulatedGarden, lot: int, lam: Floats) -> Floats:
    """log of the integral over K, by 2,001 points of the formula itself."""
    return np.asarray(logsumexp(garden.log_density(lot, lam, np.linspace(-9.0, 9.0, 2001)), axis=1))


def test_evidence_on_the_pace_is_the_integral_over_viability_at_harvest() -> None:
    garden = simulated_garden(3, lots=40, tested=1.0)
    evidence = pace_evidence(garden.priors, garden.tests(0.0))
    places = np.linspace(-1.0, 1.0, evidence.log_likelihood.shape[1])
    for lot in range(40):
        expected = direct_log_likelihood(garden, lot, evidence.reach[lot] * places)
        off = evidence.log_likelihood[lot] - expected
        seen = expected > expected.max() - 12.0
        likely = expected > expected.max() - 4.0
        off -= off[likely].mean()
        assert np.max(np.abs(off[likely])) < 1e-2
        assert np.max(np.abs(off[seen])) < 2e-2


def test_values_between_steps_are_those_of_cubic_splines() -> None:
    steps = np.linspace(-1.0, 1.0, 49)
    for values in (np.sin(3.0 * steps), -40.0 * steps**2, np.exp(2.0 * steps)):
        expected = CubicSpline(steps, values)(PLACES)
        assert values @ _spline() == pytest.approx(expected, abs=1e-12)


def one_effect(lots: int, garden_sd: float, lot_sd: float) -> SharedEffects:
    return SharedEffects(
        np.zeros((lots, 1), dtype=np.int64),
        np.ones((lots, 1)),
        np.array([garden_sd**2]),
        np.full(lots, lot_sd),
    )


def exact_effect(effects: SharedEffects, evidence: EffectEvidence) -> tuple[float, float]:
    """Mean and sd of the one shared effect, summed over a dense grid of it and of each lam."""
    b = np.linspace(-7.0, 7.0, 1401) * np.sqrt(effects.variance[0])
    log_p = -0.5 * b**2 / effects.variance[0]
    for reach, values, own in zip(
        evidence.reach, evidence.log_likelihood, effects.own_sd, strict=True
    ):
        lam = reach * np.linspace(-1.0, 1.0, values.size)
        log_p += logsumexp(values - 0.5 * ((lam - b[:, None]) / own) ** 2, axis=1)
    p = np.exp(log_p - log_p.max())
    p /= p.sum()
    mean = float(p @ b)
    return mean, float(np.sqrt(p @ (b - mean) ** 2))


@pytest.mark.parametrize("seed", range(6))
def test_one_shared_effect_is_learned_as_a_sum_over_all_its_values_says(seed: int) -> None:
    garden = simulated_garden(seed, lots=12, tested=1.0)
    effects = one_effect(12, 0.5, 0.3)
    priors = Priors(garden.priors.ki_mean, garden.priors.ki_sd, np.sqrt(effects.prior_variance))
    evidence = pace_evidence(priors, garden.tests())
    learned = learn_effects(effects, evidence)
    mean, sd = exact_effect(effects, evidence)
    assert learned.settled
    assert learned.mean[0] == pytest.approx(mean, abs=0.03 * sd)
    assert np.sqrt(learned.covariance[0, 0]) == pytest.approx(sd, rel=0.03)


def test_one_lot_alone_learns_nothing_from_itself() -> None:
    garden = simulated_garden(5, lots=1, tested=1.0)
    learned, _, priors = garden.learn()
    assert learned.factors.precision[0] != 0.0
    assert priors.lam_mean == pytest.approx(np.zeros(1), abs=1e-9)
    assert priors.log_sigma_sd == pytest.approx(garden.priors.log_sigma_sd, abs=1e-9)
    alone = fit_posterior(garden.priors, garden.tests()).quantile(ENDS, garden.now)
    assert fit_posterior(priors, garden.tests()).quantile(ENDS, garden.now) == pytest.approx(
        alone, abs=1e-6
    )


def test_without_a_test_every_lot_is_what_it_was() -> None:
    garden = simulated_garden(5, lots=30, tested=0.0)
    learned, _, priors = garden.learn()
    assert learned.settled
    assert priors.lam_mean == pytest.approx(np.zeros(30), abs=1e-12)
    assert priors.log_sigma_sd == pytest.approx(garden.priors.log_sigma_sd, abs=1e-12)


def test_lots_with_no_effect_in_common_learn_nothing_from_each_other() -> None:
    garden = simulated_garden(8, lots=20, tested=1.0)
    own = SharedEffects(
        np.arange(20)[:, None], np.ones((20, 1)), np.full(20, 0.25), np.full(20, 0.3)
    )
    priors = Priors(garden.priors.ki_mean, garden.priors.ki_sd, np.sqrt(own.prior_variance))
    mean, sd = learn_effects(own, pace_evidence(priors, garden.tests())).without_own(own)
    assert mean == pytest.approx(np.zeros(20), abs=1e-9)
    assert sd == pytest.approx(priors.log_sigma_sd, abs=1e-9)


def test_lots_come_in_any_order_and_one_at_a_time_to_the_same_bands() -> None:
    garden = simulated_garden(21, lots=30, tested=1.0)
    evidence = pace_evidence(garden.priors, garden.tests(0.0))
    together = learn_effects(garden.effects, evidence)
    order = np.random.default_rng(1).permutation(30)
    shuffled = learn_effects(
        garden.effects.take(order),
        EffectEvidence(evidence.reach[order], evidence.log_likelihood[order]),
    )
    factors, one_by_one = NormalFactors.none(0), together
    for known in range(1, 31):
        lots = order[:known]
        one_by_one = learn_effects(
            garden.effects.take(lots),
            EffectEvidence(evidence.reach[lots], evidence.log_likelihood[lots]),
            factors.take(np.append(np.arange(known - 1), -1)),
        )
        factors = one_by_one.factors
    bands = []
    for learned, lots in ((together, np.arange(30)), (shuffled, order), (one_by_one, order)):
        mean, sd = learned.without_own(garden.effects.take(lots))
        priors = Priors(garden.priors.ki_mean[lots], garden.priors.ki_sd[lots], sd, mean)
        posterior = fit_posterior(priors, garden.tests().take(lots))
        bands.append(posterior.quantile(ENDS, garden.now[lots])[np.argsort(lots)])
    assert bands[1] == pytest.approx(bands[0], abs=1e-5)
    assert bands[2] == pytest.approx(bands[0], abs=1e-5)


def test_factors_of_an_earlier_fit_save_sweeps_and_change_no_answer() -> None:
    garden = simulated_garden(22, lots=60, tested=1.0)
    evidence = pace_evidence(garden.priors, garden.tests(0.0))
    earlier = learn_effects(garden.effects, evidence).factors
    left, changed = np.arange(5, 60), np.array([0, 7, 30])  # five lots are gone
    values = evidence.log_likelihood[left]
    values[changed] = values[changed, ::-1]
    now, effects = EffectEvidence(evidence.reach[left], values), garden.effects.take(left)
    afresh = learn_effects(effects, now)
    again = learn_effects(effects, now, earlier.take(left).outdated(changed))
    for found, expected in zip(
        again.without_own(effects), afresh.without_own(effects), strict=True
    ):
        assert found == pytest.approx(expected, abs=1e-6)


def test_the_same_answer_to_the_last_figure_however_often_it_is_asked() -> None:
    garden = simulated_garden(4, lots=25)
    first, second = garden.learn()[2], garden.learn()[2]
    assert np.array_equal(first.lam_mean, second.lam_mean)
    assert np.array_equal(first.log_sigma_sd, second.log_sigma_sd)


def test_ambiguous_lots_may_widen_their_neighbours_doubt() -> None:
    # Seed either dead already or as good as new: its evidence has two humps.
    evidence = EffectEvidence(np.full(1, 4.0), _two_humps(1, apart=1.8))
    effects = one_effect(1, 0.8, 0.1)
    learned = learn_effects(effects, evidence)
    assert learned.factors.precision[0] < 0.0
    mean, sd = exact_effect(effects, evidence)
    assert learned.mean[0] == pytest.approx(mean, abs=0.02)
    assert np.sqrt(learned.covariance[0, 0]) == pytest.approx(sd, rel=0.03)


def test_many_ambiguous_lots_at_one_place_still_leave_a_law() -> None:
    learned = learn_effects(
        one_effect(60, 0.8, 0.1), EffectEvidence(np.full(60, 4.0), _two_humps(60, apart=3.0))
    )
    assert np.isfinite(learned.mean).all()
    assert learned.covariance[0, 0] > 0.0


def _two_humps(lots: int, apart: float) -> Floats:
    lam, far = 4.0 * np.linspace(-1.0, 1.0, 97), apart / 2.0
    both = np.logaddexp(-0.5 * ((lam - far) / 0.3) ** 2, -0.5 * ((lam + far) / 0.3) ** 2)
    return np.tile(np.maximum(both, -40.0), (lots, 1))
