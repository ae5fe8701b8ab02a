import mpmath
import numpy as np
import pytest
from scipy.special import ndtr
from scipy.stats import betabinom, binom

from seedbank.science.viability import probit_likelihood as likelihood

V = np.linspace(-5.0, 5.0, 41)  # beyond, scipy's own 1 - p rounds


def test_the_binomial_value_is_that_of_scipy_up_to_its_constant() -> None:
    for viable, seeds in ((0.0, 20.0), (13.0, 20.0), (20.0, 20.0)):
        ours = likelihood.binomial_value(V, np.array(viable), np.array(seeds))
        theirs = binom.logpmf(viable, seeds, ndtr(V))
        finite = np.isfinite(theirs)
        shift = ours[finite] - theirs[finite]
        assert shift == pytest.approx(np.full(shift.size, shift[0]), abs=1e-8)


def test_far_tails_agree_with_mpmath() -> None:
    mpmath.mp.dps = 40
    exact = 3 * mpmath.log(mpmath.ncdf(-20)) + 2 * mpmath.log(mpmath.ncdf(20))
    got = likelihood.binomial_value(np.array([-20.0]), np.array(3.0), np.array(5.0))[0]
    assert got == pytest.approx(float(exact), rel=1e-12)


def test_the_beta_binomial_value_is_that_of_scipy_up_to_its_constant() -> None:
    v = np.linspace(-3.0, 3.0, 31)
    rho, n, k = 0.15, 25.0, 17.0
    shape = (1 - rho) / rho
    theirs = betabinom.logpmf(k, n, ndtr(v) * shape, (1 - ndtr(v)) * shape)
    shift = likelihood.beta_binomial_value(v, np.array(k), np.array(n), np.array(rho)) - theirs
    assert shift == pytest.approx(np.full(shift.size, shift[0]), abs=1e-9)


@pytest.mark.parametrize("rho", [0.0, 0.1])
def test_slopes_are_the_derivatives_of_the_values(rho: float) -> None:
    v, step = np.linspace(-3.5, 3.5, 29), 1e-5
    k, n, r = np.array(7.0), np.array(12.0), np.array(rho)
    if rho:
        part = likelihood.beta_binomial(v, k, n, r)
        up = likelihood.beta_binomial_value(v + step, k, n, r)
        down = likelihood.beta_binomial_value(v - step, k, n, r)
    else:
        part = likelihood.binomial(v, k, n)
        up = likelihood.binomial_value(v + step, k, n)
        down = likelihood.binomial_value(v - step, k, n)
    assert part.slope == pytest.approx((up - down) / (2 * step), rel=1e-5, abs=1e-6)
    assert np.all(part.curvature > 0)


def test_overdispersion_going_to_nothing_is_the_binomial() -> None:
    v = np.linspace(-2.0, 2.0, 21)
    plain = likelihood.binomial_value(v, np.array(7.0), np.array(12.0))
    apart = []
    for rho in (1e-3, 1e-4, 1e-5):
        almost = likelihood.beta_binomial_value(v, np.array(7.0), np.array(12.0), np.array(rho))
        apart.append(float(np.ptp(almost - plain)))
    # The difference is of first order in rho.
    assert apart[0] / apart[1] == pytest.approx(10.0, rel=0.2)
    assert apart[1] / apart[2] == pytest.approx(10.0, rel=0.05)
