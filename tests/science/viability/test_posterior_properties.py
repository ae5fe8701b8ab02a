"""What must hold of every posterior, whatever the lot and its tests: order, inverses, neighbours.

Tests at one dose only where evidence is compared: there the likelihoods of k and k + 1 viable seeds
stand in a monotone ratio (Milgrom 1981, Bell J. Econ. 12:380-391, from memory), which orders the
posteriors. Tests at several doses bind K and lam together, and no such order need hold.
"""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior import Posterior, Priors, fit_posterior

CHANCES = (0.05, 0.25, 0.5, 0.75, 0.95)
CLOSE = 2e-4  # in viability: what quadrature and root finding may leave

priors = st.tuples(st.floats(0.3, 2.5), st.floats(0.1, 1.0), st.floats(0.1, 0.9))
doses = st.floats(0.0, 4.0)
counts = st.integers(1, 100).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
tests = st.lists(
    st.tuples(doses, counts, st.sampled_from([0.0, 0.05, 0.2])), min_size=0, max_size=3
)
few = settings(max_examples=40, deadline=None)


def fit(prior: tuple[float, float, float], told: list) -> Posterior:  # type: ignore[type-arg]
    columns = [np.array([value], dtype=np.float64) for value in prior]
    rows = np.array([(d, k, n, rho) for d, (k, n), rho in told], dtype=np.float64).reshape(1, -1, 4)
    return fit_posterior(Priors(*columns), Observations.of_tests(*(rows[..., i] for i in range(4))))


@few
@given(priors, tests, doses, doses)
def test_viability_rises_with_the_quantile_and_never_with_the_dose(prior, told, one, other):
    posterior = fit(prior, told)
    sooner, later = (posterior.quantile(CHANCES, np.array([d])) for d in sorted((one, other)))
    assert np.all(np.diff(sooner) >= -CLOSE)
    assert np.all(later <= sooner + CLOSE)


@few
@given(priors, doses, counts, st.sampled_from([0.0, 0.05, 0.2]))
def test_one_more_living_seed_never_lowers_what_is_thought_of_a_lot(prior, dose, count, rho):
    alive, seeds = count
    if alive == seeds:
        alive -= 1
    worse = fit(prior, [(dose, (alive, seeds), rho)])
    better = fit(prior, [(dose, (alive + 1, seeds), rho)])
    then = np.array([dose])
    assert np.all(better.quantile(CHANCES, then) >= worse.quantile(CHANCES, then) - CLOSE)
    assert better.probit_mean(then)[0] >= worse.probit_mean(then)[0] - CLOSE


@few
@given(priors, tests, doses, st.sampled_from(CHANCES))
def test_the_chance_of_a_quantile_is_the_quantile_asked(prior, told, dose, chance):
    posterior, then = fit(prior, told), np.array([dose])
    at = posterior.quantile((chance,), then)[:, 0]
    if 1e-6 < at[0] < 1 - 1e-6:  # beyond, a step of rounding is a step of chance
        assert abs(posterior.probability_at_least(at, then)[0] - (1 - chance)) < 3e-3


@few
@given(priors, tests, st.floats(0.1, 0.95), st.sampled_from(CHANCES))
def test_at_the_crossing_dose_the_lot_is_as_likely_below_as_asked(prior, told, line, chance):
    posterior = fit(prior, told)
    dose = posterior.crossing_dose(line, (chance,))[:, 0]
    below = 1 - posterior.probability_at_least(line, dose)[0]
    if dose[0] == 0.0:
        assert below >= chance - 3e-3
    elif dose[0] < 1e6:  # a lot that may never have begun to age has no end to its axis
        assert abs(below - chance) < 3e-3


@few
@given(priors, tests, doses)
def test_a_test_of_no_seed_says_nothing(prior, told, dose):
    then = np.array([dose])
    without = fit(prior, told).quantile(CHANCES, then)
    padded = fit(prior, [*told, (1.0, (0, 0), 0.0)]).quantile(CHANCES, then)
    np.testing.assert_allclose(padded, without, atol=CLOSE)
