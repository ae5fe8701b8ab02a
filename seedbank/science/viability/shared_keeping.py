"""What each lot's own evidence says of how long it keeps beside a typical lot.

lam, the log of that, is what lots share in part (``shared_effects``). Outside checks: sums over
dense grids and simulated gardens (``tests/science/viability/test_shared_keeping.py``).
"""

from functools import cache

import numpy as np

from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.shared_effects import PLACES, REACH_SD, EffectEvidence
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior_scan import (
    Priors,
    log_density,
    modes_of_rows,
    tabulate_k,
    uneven,
)

_COARSE = PLACES[::2]
_CHUNK = 512


def pace_evidence(priors: Priors, observations: Observations) -> EffectEvidence:
    """Evidence on lam of lots (T,) with tests; ``priors.log_sigma_sd`` only sets the grid's reach.

    K's law is normal times the tests' likelihood: for each lam summed by the trapezoid rule around
    its mode. 49 values of lam are worked out, and cubic pieces give those between. Circumstances
    are summed over by their weights.
    """
    reach = REACH_SD * priors.log_sigma_sd
    all_one = np.zeros(observations.weight.shape, dtype=np.int64)
    return EffectEvidence(reach, evidence_by_state(priors, observations, all_one, 1)[:, 0])


def evidence_by_state(
    priors: Priors, observations: Observations, state: IntArray, states: int
) -> FloatArray:
    """The same, (T, S, 97), summed over the circumstances (T, Z) that are in each ``state``.

    -inf where a lot is in no circumstance of a state.
    """
    values = np.full((priors.ki_mean.size, states, PLACES.size), -np.inf)
    every_lot, every_case = np.nonzero(observations.weight > 0.0)
    for start in range(0, every_lot.size, _CHUNK):
        lot, case = every_lot[start : start + _CHUNK], every_case[start : start + _CHUNK]
        own = priors.take(lot)
        lam = REACH_SD * own.log_sigma_sd[:, None] * _COARSE
        fine = _k_summed_out(own, observations.in_cases(lot, case), lam) @ _spline()
        fine += np.log(observations.weight[lot, case])[:, None]
        for one in np.unique(case).tolist():
            rows = np.flatnonzero(case == one)
            at = lot[rows], state[lot[rows], one]
            values[at] = np.logaddexp(values[at], fine[rows])
    return values


_AROUND = np.linspace(-6.0, 6.0, 21)
_AROUND_STEP = _AROUND[1] - _AROUND[0]


def _k_summed_out(priors: Priors, observations: Observations, lam: FloatArray) -> FloatArray:
    flat = Priors(priors.ki_mean, priors.ki_sd, np.full(priors.ki_mean.shape, np.inf))
    of_many = uneven(flat, observations)
    odd, plain = np.flatnonzero(of_many), np.flatnonzero(~of_many)
    summed = np.empty_like(lam)
    if plain.size:
        summed[plain] = _around_modes(flat.take(plain), observations.take(plain), lam[plain])
    if odd.size:  # between modes far apart nothing would be summed
        of_k = tabulate_k(flat.take(odd), observations.take(odd), lam[odd], every=2)
        summed[odd] = of_k.best[1] + np.log(of_k.mass / _AROUND_STEP)
    return summed


def _around_modes(priors: Priors, observations: Observations, lam: FloatArray) -> FloatArray:
    mode, _, curvature = modes_of_rows(priors, observations, lam)
    scale = 1.0 / np.sqrt(curvature)
    k = mode[:, :, None] + scale[:, :, None] * _AROUND
    value = log_density(priors, observations, lam[:, :, None], k)
    top = value.max(axis=2)
    summed = top + np.log(np.exp(value - top[:, :, None]).sum(axis=2) * scale)
    return np.asarray(summed, dtype=np.float64)


@cache
def _spline() -> FloatArray:
    """Matrix (49, 97) from values at the coarse steps to those at all: cubic pieces half way.

    The first two are one cubic, as are the last two. Outside check: ``scipy.interpolate``, which
    takes too long to load for this alone.
    """
    unit = np.eye(_COARSE.size)
    second = np.diff(unit, 2, axis=0)
    bends = np.vstack([second[:1], unit[:-2] + 4.0 * unit[1:-1] + unit[2:], second[-1:]])
    none = np.zeros((1, _COARSE.size))
    bend = np.linalg.solve(bends, np.vstack([none, 6.0 * second, none]))
    values = np.empty((PLACES.size, _COARSE.size))
    values[::2] = unit
    values[1::2] = (unit[:-1] + unit[1:]) / 2.0 - (bend[:-1] + bend[1:]) / 16.0
    return values.T
