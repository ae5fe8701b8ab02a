"""What tests and other records say of viability: log likelihoods tabulated over the probit.

Whatever speaks of a lot becomes one table over v, the probit of viability, and is asked at the
lot's storage dose of its day. Tables are shared: 20 of 20 is worked out once, not for every lot.
Between its points a table goes in cubic pieces, beyond its ends straight on: a single seed alive
weighs e^-75 at the lower, the upper is all alive to fifteen digits.

A test of ``n`` seeds with ``k`` viable is binomial with probability Phi(v), or beta-binomial with
that mean and intra-class correlation rho (Skellam 1948, J. R. Stat. Soc. B 10:257-261). Outside
checks: scipy.stats.binom and betabinom, mpmath for far tails.
"""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammaln, ndtr

from seedbank.science.quantities import FloatArray, IntArray

LOW, HIGH, STEP = -12.0, 8.0, 0.04
GRID = np.linspace(LOW, HIGH, round((HIGH - LOW) / STEP) + 1)
_CELLS = GRID.size - 1
_ANYWHERE_MEAN, _ANYWHERE_SD = 0.5, 1.5
"""Of a lot nothing is known about; for first guesses alone."""
_UNLIKELY = 8.0  # log likelihood below a table's best


def count_likelihood(
    viable: FloatArray,
    seeds: FloatArray,
    rho: FloatArray,
    probit: FloatArray = GRID,
    share: ArrayLike = 1.0,
) -> FloatArray:
    """log P(``viable`` of ``seeds``) at each of ``probit``, (T, 501) at ``GRID``, for counts (T,).

    Binomial where ``rho`` is 0, else beta-binomial; the binomial coefficient, which says nothing
    of v or rho, is left out. Of living seed only ``share`` (T,) is ever counted.
    """
    k, n, r, of = np.broadcast_arrays(viable, seeds, rho, share)
    k, n, r, of = (np.asarray(part, dtype=np.float64)[:, None] for part in (k, n, r, of))
    dead, alive = (1.0 - of) + of * ndtr(-probit), of * ndtr(probit)
    plain = k * np.log(alive) + (n - k) * np.log(dead)
    worth = (1.0 - r) / np.where(r > 0.0, r, 0.5)
    a, b = alive * worth, dead * worth
    uneven = gammaln(k + a) - gammaln(a) + gammaln(n - k + b) - gammaln(b)
    uneven += gammaln(worth) - gammaln(worth + n)
    return np.asarray(np.where(r > 0.0, uneven, plain), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class EvidenceTables:
    """Log likelihoods over v as cubic pieces; the first of the T says nothing.

    ``pieces`` (T x 500, 4) are the coefficients of each table's pieces, ``guess`` (T,) about where
    in v a table alone puts a lot, and ``worth`` (T,) with what precision. ``bend`` (T,) is the most
    that one bends upwards where it is likely at all (second derivative), as where a sowing may have
    failed; 0 of those with one peak.
    """

    pieces: FloatArray
    guess: FloatArray
    worth: FloatArray
    bend: FloatArray

    @classmethod
    def of(cls, values: FloatArray, *, one_peak: bool = True) -> "EvidenceTables":
        """Tables from log likelihoods (T, 501) at ``GRID``; one that says nothing comes first.

        Those of ``one_peak`` leave a lot with a single one too, as counts of tests do.
        """
        values = np.vstack([np.zeros(GRID.size), values])
        rise = np.gradient(values, axis=1)
        inner = 8.0 * (values[:, 3:-1] - values[:, 1:-3]) - values[:, 4:] + values[:, :-4]
        rise[:, 2:-2] = inner / 12.0  # of fourth order in the step
        left, right, gain = rise[:, :-1], rise[:, 1:], np.diff(values, axis=1)
        pieces = np.stack(
            [values[:, :-1], left, 3.0 * gain - 2.0 * left - right, left + right - 2.0 * gain],
            axis=2,
        )
        weight = values - 0.5 * ((GRID - _ANYWHERE_MEAN) / _ANYWHERE_SD) ** 2
        weight = np.exp(weight - weight.max(axis=1, keepdims=True))
        weight /= weight.sum(axis=1, keepdims=True)
        guess = weight @ GRID
        spread = np.sum(weight * (GRID - guess[:, None]) ** 2, axis=1)
        worth = np.maximum(1.0 / spread - 1.0 / _ANYWHERE_SD**2, 0.0)
        likely = values[:, 1:-1] > values.max(axis=1, keepdims=True) - _UNLIKELY
        upwards = np.where(likely & (not one_peak), np.diff(values, 2, axis=1) / STEP**2, 0.0)
        return cls(pieces.reshape(-1, 4), guess, worth, upwards.max(axis=1, initial=0.0))

    def at(self, table: IntArray, v: FloatArray) -> FloatArray:
        """Log likelihood of ``table`` at ``v``; shapes broadcast."""
        piece, t, beyond = self._piece(table, v)
        c0, c1, c2, c3 = np.moveaxis(piece, -1, 0)
        value = c3 * t
        for part in (c2, c1):
            value += part
            value *= t
        value += c0
        if np.any(beyond):
            value += beyond * (c1 + t * (2.0 * c2 + 3.0 * t * c3))
        return np.asarray(value)

    def with_slopes(
        self, table: IntArray, v: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Log likelihood, its slope in v, and its curvature (minus the second derivative)."""
        piece, t, beyond = self._piece(table, v)
        c0, c1, c2, c3 = np.moveaxis(piece, -1, 0)
        slope = c1 + t * (2.0 * c2 + 3.0 * t * c3)
        value = c0 + t * (c1 + t * (c2 + t * c3)) + beyond * slope
        curvature = np.where(beyond == 0.0, -2.0 * c2 - 6.0 * t * c3, 0.0)
        return value, slope / STEP, curvature / STEP**2

    def take(self, at: IntArray) -> "EvidenceTables":
        """The first, which says nothing, and those ``at``."""
        rows = np.append(0, at)
        pieces = self.pieces.reshape(-1, _CELLS, 4)[rows].reshape(-1, 4)
        return EvidenceTables(pieces, self.guess[rows], self.worth[rows], self.bend[rows])

    def and_those(self, other: "EvidenceTables") -> "EvidenceTables":
        """These tables and then the ``other``, without its first, which says nothing."""
        return EvidenceTables(
            np.vstack([self.pieces, other.pieces[_CELLS:]]),
            np.append(self.guess, other.guess[1:]),
            np.append(self.worth, other.worth[1:]),
            np.append(self.bend, other.bend[1:]),
        )

    def _piece(self, table: IntArray, v: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Coefficients of the piece under ``v``, how far into it, and how far beyond the ends."""
        place = (v - LOW) / STEP
        within = np.clip(place, 0.0, _CELLS)
        cell = np.minimum(within.astype(np.int64), _CELLS - 1)
        return self.pieces.take(table * _CELLS + cell, axis=0), within - cell, place - within


@dataclass(frozen=True, slots=True)
class Observations:
    """What is on record of each lot: up to J pieces of evidence, (L, J).

    ``table`` is the row of ``tables`` of each, 0 for none, ``dose`` (L, J, Z) the lot's dose on its
    day in each of the Z circumstances the lot may be in, and ``weight`` (L, Z) how likely those
    are, 0 where a lot has fewer. Given as (L, J), ``dose`` is of lots with one circumstance. Other
    evidence than counts: ``Observations(dose, table, EvidenceTables.of(values))``, then
    ``and_those``.
    """

    dose: FloatArray
    table: IntArray
    tables: EvidenceTables
    weight: FloatArray = field(default_factory=lambda: np.ones((1, 1)))

    def __post_init__(self) -> None:
        if self.dose.ndim == 2:
            object.__setattr__(self, "dose", self.dose[:, :, None])
        shape = (self.dose.shape[0], self.dose.shape[2])
        object.__setattr__(self, "weight", np.broadcast_to(self.weight, shape))

    @classmethod
    def of_tests(
        cls, dose: FloatArray, viable: FloatArray, seeds: FloatArray, overdispersion: FloatArray
    ) -> "Observations":
        """Tests of each lot: ``viable`` of ``seeds`` at ``dose``, (L, J), padded with no seeds.

        ``overdispersion`` is the intra-class correlation of each test (0: binomial); ``dose`` may
        be (L, J, Z). Raises ValueError unless these are four (L, J) arrays of possible counts.
        """
        parts = (viable, seeds, overdispersion)
        shape = dose.shape[:2]
        if dose.ndim not in (2, 3) or any(part.shape != shape for part in parts):
            raise ValueError("observations must be four (L, J) arrays")
        if np.any(viable < 0) or np.any(viable > seeds):
            raise ValueError("viable must lie between 0 and seeds")
        if np.any(dose < 0) or not np.all(np.isfinite(dose)):
            raise ValueError("dose must be finite and not negative")
        if np.any(overdispersion < 0) or np.any(overdispersion >= 1):
            raise ValueError("overdispersion must lie in [0, 1)")
        counts = np.stack([viable, seeds, overdispersion], axis=2).reshape(-1, 3)
        done = counts[:, 1] > 0
        distinct, which = np.unique(counts[done], axis=0, return_inverse=True)
        table = np.zeros(done.size, dtype=np.int64)
        table[done] = which.ravel() + 1
        tables = EvidenceTables.of(count_likelihood(*distinct.T))
        return cls(dose, table.reshape(shape), tables)

    @classmethod
    def none(cls, lots: int) -> "Observations":
        empty = np.zeros((lots, 0))
        return cls.of_tests(empty, empty, empty, empty)

    @property
    def width(self) -> int:
        return int(self.table.shape[1])

    @property
    def number(self) -> IntArray:
        """How many pieces of evidence there are of each lot, (L,)."""
        return np.asarray(np.count_nonzero(self.table, axis=1), dtype=np.int64)

    def and_those(self, other: "Observations") -> "Observations":
        """These pieces of evidence and then the ``other``, of the same L lots.

        Raises ValueError unless both are of so many lots.
        """
        if other.table.shape[0] != self.table.shape[0]:
            raise ValueError("evidence to be joined must be of the same lots")
        after = self.tables.guess.size - 1
        cases = max(self.cases, other.cases)
        both = Observations(
            np.hstack([np.broadcast_to(d, (*d.shape[:2], cases)) for d in (self.dose, other.dose)]),
            np.hstack([self.table, np.where(other.table > 0, other.table + after, 0)]),
            self.tables.and_those(other.tables),
            self.weight if self.cases == cases else other.weight,
        )
        return both.take(np.arange(self.table.shape[0]))

    def take(self, lots: IntArray) -> "Observations":
        """Those of some lots, in as few columns as hold them."""
        rows = self.table[lots]
        used_first = np.argsort(rows == 0, axis=1, kind="stable")
        used_first = used_first[:, : int(np.count_nonzero(rows, axis=1).max(initial=0))]
        cases = int(self.cases_of_each[lots].max(initial=1))
        return Observations(
            np.take_along_axis(self.dose[lots, :, :cases], used_first[:, :, None], axis=1),
            np.take_along_axis(rows, used_first, axis=1),
            self.tables,
            self.weight[lots, :cases],
        )

    @property
    def cases(self) -> int:
        """In how many circumstances lots may be, Z, at most."""
        return int(self.dose.shape[2])

    @property
    def cases_of_each(self) -> IntArray:
        """How many of the Z circumstances hold all those of each lot (L,) that weigh anything."""
        if self.cases == 1:
            return np.ones(self.dose.shape[0], dtype=np.int64)
        places = np.arange(1, self.cases + 1)
        return np.asarray(np.max(np.where(self.weight > 0.0, places, 1), axis=1), dtype=np.int64)

    def weighed(self, weight: FloatArray) -> "Observations":
        """The same, with the circumstances as likely as ``weight`` (L, Z) says."""
        return replace(self, weight=weight)

    def in_cases(self, lot: IntArray, case: IntArray) -> "Observations":
        """``lot`` (n,) in circumstance ``case`` (n,), each as a lot of its own."""
        return Observations(self.dose[lot, :, case], self.table[lot], self.tables)

    def each_case(self) -> "Observations":
        """Every lot in every circumstance as a lot of its own, (L x Z), the circumstances inner."""
        lots, cases = self.dose.shape[0], self.cases
        lot = np.repeat(np.arange(lots), cases)
        return self.in_cases(lot, np.tile(np.arange(cases), lots))
