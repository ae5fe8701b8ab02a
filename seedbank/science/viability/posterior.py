"""Viability of a lot as a posterior, from its prior, its storage dose and its tests.

A lot may be in one of several circumstances (``circumstances``), each with doses of its own: every
dose asked about is then one a circumstance, (L, Z), and every answer the mixture.

Model (Ellis & Roberts 1980, Ann. Bot. 45:13-30): probit viability v = K - exp(-lam) D, where K is
the probit of viability at harvest, D the storage dose (the integral of dt / sigma of a typical lot)
and lam the log of how much longer than typical this lot keeps. Priors K ~ N(ki_mean, ki_sd^2),
lam ~ N(lam_mean, log_sigma_sd^2); each test is binomial or beta-binomial at its own dose.

The posterior is exact up to quadrature: see ``posterior_rows`` for the nodes. Everything asked of
it is a one-dimensional mixture over rows of lam. Outside checks: scipy.integrate.dblquad, mpmath, a
256 x 256 grid, MCMC (benchmark) and simulated coverage.

Where a distribution function reaches given probabilities, for many lots at once.

Newton's method on the probit of the distribution function, which is nearly a straight line, kept
inside a bracket that closes every step (Press et al. 2007, Numerical Recipes, 9.4, from memory).
Both tails come from their own end of the distribution: next to 1 the probit is taken of what lies
above, for a value that rounds to 1 has lost its slope. It ends when the probability asked for is
met, never because a step was short. Outside checks: scipy.optimize.brentq, and the probability at
every answer in ``tests/science/viability/test_posterior_dead_lots.py``.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from seedbank.science.quantities import BAND_QUANTILES, Band, FloatArray, IntArray, ProbitNodes
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior_rows import Block, Fit, Rows
from seedbank.science.viability.posterior_scan import Priors

Tails = Callable[[FloatArray, IntArray], tuple[FloatArray, FloatArray, FloatArray]]

MET = 1e-6  # this close to the probability asked for is an answer
_NOTHING = 1e-9  # less than quadrature can tell from no probability at all
_SHORTEST = 1e-12
_MOST_STEPS = 120


def solve(
    tails: Tails, goal: FloatArray, start: FloatArray, end: float, reach: FloatArray
) -> FloatArray:
    """x between ``-end`` and ``end`` with P(below x) = ``goal`` (Q,); ``start`` and answer (B, Q).

    ``tails(x, lots)`` gives P(below x), P(above x) and the density at x for those of the B lots.
    Where the goal lies beyond an end, the answer is that end. ``reach`` (B, 1) bounds each step.
    """
    x = np.clip(start, -end, end)
    low, high = np.full_like(x, -1.01 * end), np.full_like(x, 1.01 * end)  # so the ends are tried
    missed = np.full_like(x, np.inf)
    lots = np.arange(x.shape[0])
    for _ in range(_MOST_STEPS):
        here = x[lots]
        below, above, density = tails(here, lots)
        miss = np.where(goal <= 0.5, below - goal, (1.0 - goal) - above)
        left = np.where(miss <= 0.0, here, low[lots])
        right = np.where(miss >= 0.0, here, high[lots])
        step = np.clip(_newton_step(below, above, density, goal), -reach[lots], reach[lots])
        # Halve where Newton leaves the bracket, or its last step brought less than halving would.
        halve = (here + step <= left) | (here + step >= right)
        halve |= np.abs(miss) > 0.5 * missed[lots]
        moved = np.where(halve, 0.5 * (left + right), here + step)
        met = (np.abs(miss) <= MET) | (right - left <= _SHORTEST)
        met |= (right <= -end) | (left >= end)
        x[lots] = np.where(met, here, np.clip(moved, -end, end))
        low[lots], high[lots], missed[lots] = left, right, np.abs(miss)
        lots = lots[~np.all(met, axis=1)]
        if lots.size == 0:
            break
    return x


def _newton_step(
    below: FloatArray, above: FloatArray, density: FloatArray, goal: FloatArray
) -> FloatArray:
    tail = ndtri(np.maximum(np.minimum(below, above), _NOTHING))
    z = np.where(below < above, tail, -tail)
    slope = density * np.sqrt(2.0 * np.pi) * np.exp(0.5 * z * z)
    return np.asarray((ndtri(goal) - z) / np.maximum(slope, 1e-9), dtype=np.float64)


__all__ = ["Observations", "Posterior", "Priors", "fit_posterior"]

END = 9.0  # beyond this probit viability is 0 or 1 to sixteen digits
_LOG_DOSE_END = 18.0


def fit_posterior(
    priors: Priors,
    observations: Observations,
    horizon: FloatArray | None = None,
    *,
    kept: bool = True,
) -> "Posterior":
    """Posterior of every lot at once.

    ``priors`` has shape (L,), ``observations`` (L, J) in Z circumstances. ``horizon`` is the dose
    most questions
    will be asked at: a hint that saves work, never changes an answer. ``kept`` keeps what is worked
    out for the next question, some 35 kB a lot; without it each question fits the lots again, with
    the same answer, in memory that doesn't grow with them.
    Raises ValueError if shapes disagree or a spread is not positive.
    """
    priors.check()
    size = priors.ki_mean.shape[0]
    if observations.table.shape[0] != size:
        raise ValueError(f"observations must have {size} rows, one a lot")
    if horizon is None:
        horizon = np.max(observations.dose, axis=1, initial=1.0)
    fit = Fit(priors, observations, _in_cases(horizon, size, observations.cases))
    return Posterior(size, observations.cases, tuple(fit) if kept else fit)


def _in_cases(dose: FloatArray | float, lots: int, cases: int) -> FloatArray:
    """Doses in each circumstance, (L, Z), from those or from what is the same in all of them.

    Lots with fewer circumstances than others take the first of a row. Raises ValueError where a
    dose a lot is given for lots in several, for doses below 0 or not finite.
    """
    dose = np.asarray(dose, dtype=np.float64)
    if dose.ndim == 1 and (cases == 1 or not np.any(dose)):
        dose = dose[:, None]
    if dose.ndim == 1:
        raise ValueError("doses of lots in several circumstances must be (L, Z)")
    if dose.ndim == 2 and dose.shape[1] > cases:
        dose = dose[:, :cases]
    if not np.all(np.isfinite(dose) & (dose >= 0)):
        raise ValueError("dose must be finite and not negative")
    return np.broadcast_to(dose, (lots, cases))


@dataclass(frozen=True, slots=True)
class Posterior:
    """Posterior of ``size`` lots; every question takes the storage dose on the day asked about.

    That is (L,), or (L, Z) where lots may be in up to ``cases`` = Z circumstances.
    """

    size: int
    cases: int
    blocks: tuple[Block, ...] | Fit

    def in_parts(self) -> "Iterator[tuple[IntArray, Posterior]]":
        """Positions of some lots with their own posterior, part by part, until all were there.

        Whoever has several questions asks them of each part: it is then fitted once for them all.
        """
        if not isinstance(self.blocks, Fit):
            yield np.arange(self.size), self
            return
        for lots in self.blocks.parts():
            own = np.arange(lots.size)
            yield lots, Posterior(lots.size, self.cases, tuple(self.blocks.blocks(lots, own)))

    def probability_at_least(self, viability: FloatArray | float, dose: FloatArray) -> FloatArray:
        """P(viability >= ``viability``) at ``dose``; (L,). Threshold 0..1, scalar or one a lot."""
        threshold = ndtri(np.broadcast_to(np.asarray(viability, dtype=np.float64), (self.size,)))
        answer = np.empty(self.size)
        for lots, rows, at_dose in self._asked(dose):
            _, above, _ = rows.tails(threshold[lots][:, None], at_dose)
            answer[lots] = above[:, 0]
        # No seed lot is more than all alive, and every one is at least dead; else nothing is sure.
        answer = np.clip(answer, np.finfo(np.float64).tiny, np.nextafter(1.0, 0.0))
        return np.where(threshold == np.inf, 0.0, np.where(threshold == -np.inf, 1.0, answer))

    def quantile(self, probabilities: Sequence[float], dose: FloatArray) -> FloatArray:
        """Quantiles of viability at ``dose``; shape (L, len(probabilities)), fractions 0..1."""
        probit = self.probit_quantile(probabilities, dose)
        return np.asarray(np.where(probit <= -END, 0.0, ndtr(probit)), dtype=np.float64)

    def probit_quantile(self, probabilities: Sequence[float], dose: FloatArray) -> FloatArray:
        """The same quantiles on the probit scale, held within -9 (0 %) and 9 (100 %)."""
        goal = np.asarray(probabilities, dtype=np.float64)
        answer = np.empty((self.size, goal.size))
        for lots, rows, at_dose in self._asked(dose):
            answer[lots] = _solve_quantile(rows, at_dose, goal)
        return answer

    def probit_mean(self, dose: FloatArray) -> FloatArray:
        """Mean of probit viability at ``dose``, (L,): no finer rows are ever needed for it."""
        dose = _in_cases(dose, self.size, self.cases)
        answer = np.empty(self.size)
        for block in self.blocks:
            answer[block.lots], _ = block.rows.moments(dose[block.lots, : block.rows.cases])
        return answer

    def band(self, dose: FloatArray) -> Band:
        """Median with the central 50 % and 90 % bands of viability at ``dose``."""
        q = self.quantile(BAND_QUANTILES, dose)
        return Band(
            median=q[:, 2], low_50=q[:, 1], high_50=q[:, 3], low_90=q[:, 0], high_90=q[:, 4]
        )

    def crossing_dose(
        self,
        viability: FloatArray | float,
        probabilities: Sequence[float],
        others: Callable[[IntArray, FloatArray], FloatArray] | None = None,
    ) -> FloatArray:
        """Quantiles of the dose at which viability falls through ``viability``; (L, Q).

        Entry q is the dose by which the lot has crossed with probability q; 0 where it is that
        likely to have been below from the start, infinite for a viability of 0. Of lots that may be
        in several circumstances it is the dose if stored as believed; ``others`` gives for such
        doses (n, Q) of some lots (n,) those in each circumstance by then, (n, Z, Q).
        """
        asked = ndtri(np.broadcast_to(np.asarray(viability, dtype=np.float64), (self.size,)))
        threshold = np.where(np.isfinite(asked), asked, 0.0)
        goal = np.asarray(probabilities, dtype=np.float64)
        answer = np.empty((self.size, goal.size))
        for block in self.blocks:
            path = _Path(block.lots, block.rows.cases, others)
            coarse = _solve_crossing(block.rows, threshold[block.lots], goal, path)
            answer[block.lots] = coarse
            last = path.doses(np.arange(block.lots.size), coarse.max(axis=1)[:, None])[:, :, 0]
            for at, rows in block.refined(last):
                if rows.count > block.rows.count:
                    lots = block.lots[at]
                    path = _Path(lots, rows.cases, others)
                    answer[lots] = _solve_crossing(rows, threshold[lots], goal, path)
        # No seed lot was ever more than all alive, and none is ever less than dead.
        answer[asked == np.inf] = 0.0
        answer[asked == -np.inf] = np.inf
        return answer

    def nodes(self, dose: FloatArray, count: int = 65) -> ProbitNodes:
        """The lot's probit viability at ``dose`` as ``count`` weighted points, to mix over.

        Equally spaced between the 3e-5 and 1 - 3e-5 quantiles, or where seed is dead or alive
        beyond doubt, with density weights: the trapezoid rule, which for a smooth density errs far
        less than its spacing suggests (Trefethen & Weideman 2014, SIAM Rev. 56:385-458). What lies
        beyond either end weighs there.
        """
        ends = self.probit_quantile((3e-5, 1.0 - 3e-5), dose)
        probit = np.linspace(ends[:, 0], ends[:, 1], count, axis=1)
        weight = np.empty_like(probit)
        for lots, rows, at_dose in self._asked(dose):
            below, above, density = rows.tails(probit[lots], at_dose)
            part = np.maximum(density, 0.0) * (probit[lots, 1] - probit[lots, 0])[:, None]
            part[:, [0, -1]] *= 0.5
            part[:, 0] += np.clip(below[:, 0], 0.0, 1.0)
            part[:, -1] += np.clip(above[:, -1], 0.0, 1.0)
            weight[lots] = part
        return ProbitNodes(probit=probit, weight=weight / weight.sum(axis=1, keepdims=True))

    def _asked(self, dose: FloatArray) -> "Iterator[tuple[IntArray, Rows, FloatArray]]":
        dose = _in_cases(dose, self.size, self.cases)
        for block in self.blocks:
            here = dose[block.lots, : block.rows.cases]
            for at, rows in block.refined(here):
                yield block.lots[at], rows, here[at]


def _solve_quantile(rows: Rows, dose: FloatArray, goal: FloatArray) -> FloatArray:
    mean, sd = (part[:, None] for part in rows.moments(dose))

    def tails(v: FloatArray, lots: IntArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        return rows.take(lots).tails(v, dose[lots])

    return solve(tails, goal, mean + sd * ndtri(goal), END, 3.0 * sd)


_NEARBY = 1e-4  # of log dose, for slopes


@dataclass(frozen=True, slots=True)
class _Path:
    """Doses of some lots in each of Z circumstances, from the dose if stored as believed."""

    lots: IntArray
    cases: int
    others: Callable[[IntArray, FloatArray], FloatArray] | None

    def doses(self, at: IntArray, dose: FloatArray) -> FloatArray:
        """(n, Z, Q) for ``dose`` (n, Q) of the lots ``at`` (n,)."""
        if self.cases == 1:
            return dose[:, None, :]
        if self.others is None:
            raise ValueError("doses in the other circumstances are needed")
        return self.others(self.lots[at], dose)[:, : self.cases]

    def with_pace(self, at: IntArray, x: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Doses at log dose ``x`` (n, Q), and how fast they grow with it."""
        dose = self.doses(at, np.exp(x))
        if self.cases == 1:
            return dose, dose
        return dose, (self.doses(at, np.exp(x + _NEARBY)) - dose) / _NEARBY


def _solve_crossing(rows: Rows, threshold: FloatArray, goal: FloatArray, path: _Path) -> FloatArray:
    """Dose at which P(v < threshold) reaches each goal, found in log dose."""
    q = np.broadcast_to(threshold[:, None], (threshold.size, goal.size))

    def tails(x: FloatArray, lots: IntArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        return rows.take(lots).tails_in_dose(q[lots], *path.with_pace(lots, x))

    every = np.arange(threshold.size)
    begun = path.doses(every, np.zeros((threshold.size, 1)))[:, :, 0]
    below, above, _ = rows.tails(q, begun)
    already = np.where(goal <= 0.5, below >= goal, above <= 1.0 - goal)
    centre, _ = rows.moments(begun)
    lam = np.sum(rows.weight * rows.lam, axis=1)
    start = np.log(np.maximum(centre[:, None] - q, 0.05)) + lam[:, None]
    x = solve(tails, goal, start, _LOG_DOSE_END, np.full((threshold.size, 1), 2.0))
    return np.where(already, 0.0, np.exp(x))
