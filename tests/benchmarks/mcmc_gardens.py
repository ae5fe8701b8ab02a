"""Bands of small gardens by long Markov chains over the shared effects: a reference for ours.

K, and what is a lot's own, are summed out on fine grids from the formula itself (nothing of the
package's quadrature); the shared effects are sampled by elliptical slices (I. Murray, R.P. Adams,
D. MacKay, AISTATS 2010, from memory), a thousand chains side by side. Ends of bands come from the
law of each lot averaged over the samples; their standard error from twenty groups of chains.

``python -m tests.benchmarks.mcmc_gardens`` makes ``mcmc_gardens.csv`` anew.
"""

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp, ndtr

from tests.simulated_gardens import SimulatedGarden, simulated_garden

Floats = NDArray[np.float64]
TABLE = Path(__file__).with_suffix(".csv")
GARDENS = {101: 12, 102: 24, 103: 40}
"""Seeds and numbers of lots; six in ten are tested."""
ENDS = (0.05, 0.5, 0.95)
CHAINS, GROUPS, WARM_UP, STEPS = 1000, 20, 300, 5000
_LAM = np.linspace(-5.5, 5.5, 551)
_U = np.linspace(-5.0, 5.0, 1001)
_V = np.linspace(-9.0, 5.0, 2801)
_T = np.linspace(-8.0, 8.0, 401)


def small_garden(seed: int) -> SimulatedGarden:
    return simulated_garden(seed, lots=GARDENS[seed], tested=0.6)


@dataclass(frozen=True, slots=True)
class Bands:
    """Ends (L, 3) of each lot's band at ``ENDS`` as fractions alive, and their standard errors."""

    ends: Floats
    error: Floats


def evidence(garden: SimulatedGarden, lot: int) -> Floats:
    """log likelihood of the lot's tests at each of ``_LAM``, K summed out."""
    return np.asarray(logsumexp(garden.log_density(lot, _LAM, _T), axis=1))


def sample(garden: SimulatedGarden, steps: int = STEPS, seed: int = 1) -> Bands:
    rng = np.random.default_rng(seed)
    effects, lots = garden.effects, garden.now.size
    spread = np.sqrt(effects.variance)
    log_like = np.array([evidence(garden, lot) for lot in range(lots)])
    log_like -= log_like.max(axis=1, keepdims=True)
    near = -0.5 * ((_LAM - _U[:, None]) / effects.own_sd[0]) ** 2
    given_u = np.array([logsumexp(near + row, axis=1) for row in log_like])
    teachers = np.flatnonzero(garden.tested)
    design = np.zeros((lots, spread.size))
    np.put_along_axis(design, effects.effect, effects.share, axis=1)

    def fit(b: Floats) -> Floats:
        place = np.clip((b @ design[teachers].T - _U[0]) / (_U[1] - _U[0]), 0.0, _U.size - 1.001)
        left = place.astype(np.int64)
        low, high = given_u[teachers, left], given_u[teachers, left + 1]
        return np.asarray((low + (place - left) * (high - low)).sum(axis=1))

    b = rng.normal(size=(CHAINS, spread.size)) * spread
    value = fit(b)
    # How often u = x b of each lot fell into each cell, by group of chains.
    cells = np.zeros((GROUPS, lots, _U.size))
    group = np.repeat(np.arange(GROUPS), CHAINS // GROUPS)
    for step in range(WARM_UP + steps):
        b, value = _slice(b, value, fit, spread, rng)
        if step >= WARM_UP:
            u = np.clip((b @ design.T - _U[0]) / (_U[1] - _U[0]), 0.0, _U.size - 1.0)
            for lot in range(lots):
                flat = group * _U.size + np.rint(u[:, lot]).astype(np.int64)
                cells[:, lot] += np.bincount(flat, minlength=GROUPS * _U.size).reshape(GROUPS, -1)
    by_group = np.array(
        [
            _ends(garden, lot, cells[:, lot], log_like[lot], near, given_u[lot])
            for lot in range(lots)
        ]
    )
    whole = np.array(
        [
            _ends(garden, lot, cells[:, lot].sum(0)[None], log_like[lot], near, given_u[lot])[0]
            for lot in range(lots)
        ]
    )
    return Bands(whole, by_group.std(axis=1, ddof=1) / np.sqrt(GROUPS))


def _slice(b, value, fit, spread, rng):  # type: ignore[no-untyped-def]
    other = rng.normal(size=b.shape) * spread
    floor = value + np.log(rng.uniform(size=value.size))
    angle = rng.uniform(0.0, 2.0 * np.pi, value.size)
    low, high = angle - 2.0 * np.pi, angle.copy()
    new, found, open_ = b.copy(), value.copy(), np.arange(value.size)
    while open_.size:
        turn = angle[open_, None]
        tried = b[open_] * np.cos(turn) + other[open_] * np.sin(turn)
        at = fit(tried)
        good = at > floor[open_]
        new[open_[good]], found[open_[good]] = tried[good], at[good]
        open_ = open_[~good]
        back = angle[open_] < 0.0
        low[open_] = np.where(back, angle[open_], low[open_])
        high[open_] = np.where(back, high[open_], angle[open_])
        angle[open_] = rng.uniform(low[open_], high[open_])
    return new, found


def _ends(
    garden: SimulatedGarden,
    lot: int,
    cells: Floats,
    log_like: Floats,
    near: Floats,
    given_u: Floats,
) -> Floats:
    """Ends of one lot's band for each row of ``cells``, (G, 3)."""
    weight = cells / cells.sum(axis=1, keepdims=True)
    prior_of_lam = weight @ np.exp(near - given_u[:, None])
    k = garden.priors.ki_mean[lot] + garden.priors.ki_sd[lot] * _T
    value = garden.log_density(lot, _LAM, _T)
    of_k = np.exp(value - value.max(axis=1, keepdims=True))
    of_k /= of_k.sum(axis=1, keepdims=True)
    of_lam = prior_of_lam * np.exp(log_like)
    of_lam /= of_lam.sum(axis=1, keepdims=True)
    now = np.clip(k - np.exp(-_LAM)[:, None] * garden.now[lot], _V[0], _V[-1])
    place = (now - _V[0]) / (_V[1] - _V[0])
    left = np.minimum(place.astype(np.int64), _V.size - 2)
    part = place - left
    answers = []
    for row in of_lam:
        mass = row[:, None] * of_k
        density = np.bincount(left.ravel(), (mass * (1.0 - part)).ravel(), minlength=_V.size)
        density += np.bincount(left.ravel() + 1, (mass * part).ravel(), minlength=_V.size)
        below = np.cumsum(density) - 0.5 * density
        answers.append(ndtr(np.interp(ENDS, below, _V)))
    return np.array(answers)


def main() -> None:
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["garden", "lot", *(f"end_{end}" for end in ENDS), "largest_error"])
        for seed in GARDENS:
            found = sample(small_garden(seed))
            for lot, (ends, error) in enumerate(zip(found.ends, found.error, strict=True)):
                rows.writerow([seed, lot, *(f"{end:.5f}" for end in ends), f"{error.max():.6f}"])


if __name__ == "__main__":
    main()
