"""Quadrature behind ``posterior``: rows of fixed lam, each with K on its own nodes.

A lot that may be in several circumstances has rows for each, weighing what the circumstance weighs
times how well it explains the lot's evidence: every answer is the mixture.

For one lam the density of K is log-concave (a probit binomial likelihood times a normal prior): it
is tabulated on equally spaced nodes between its ends, and its distribution function comes from
integrating the sinc series through them. Sums over such nodes are trapezoid sums; both converge
geometrically for a smooth density that vanishes at the ends (Stenger 1993, Numerical Methods Based
on Sinc and Analytic Functions, ch. 3-4; Trefethen & Weideman 2014, SIAM Rev. 56:385-458). Rows are
equally spaced in lam over the part that carries weight. No sampling anywhere.

Outside checks: those of ``posterior``, which is nothing but these rows.

Lots fitted together, a few at a time: their quadrature rows kept, or made anew when asked for.

Rows take some 35 kB a lot. Those of a small collection are kept for the next question; a large one
is gone through a part at a time, so that memory doesn't grow with it. Outside checks: those of
``posterior``, and that parts fitted anew answer as the whole kept, figure for figure.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.special import sici

from seedbank.science.quantities import FloatArray, IntArray
from seedbank.science.viability.evidence import Observations
from seedbank.science.viability.posterior_scan import (
    Priors,
    Scan,
    between_rows,
    ends_of_rows,
    log_density,
    scan_posterior,
    uneven,
)

_NODES, _UNEVEN_NODES = 18, 60
_ERROR_WANTED = 1e-5
_SEEN = 4.5
_APART = 0.4


@dataclass(frozen=True, slots=True)
class Rows:
    """Tabulated posterior of B lots: R rows of lam, N nodes of K a row.

    The first R / Z rows are of the first of ``cases`` = Z circumstances, and so on; a dose is asked
    for in each, (B, Z). ``lam`` (B, R); ``weight`` (B, R) sums to 1 a lot; K runs from ``start``
    (B, R) in ``step`` (B, R); ``below`` and ``above`` (B, R, N) are the row's mass on either side
    of each node, each from its own end; ``density`` and ``bend`` its density and that one's
    derivative, per node step; ``centre`` and ``spread`` (B, R) its moments in K.
    """

    cases: int
    lam: FloatArray
    weight: FloatArray
    start: FloatArray
    step: FloatArray
    below: FloatArray
    above: FloatArray
    density: FloatArray
    bend: FloatArray
    centre: FloatArray
    spread: FloatArray

    def take(self, lots: IntArray) -> "Rows":
        return Rows(
            self.cases,
            self.lam[lots],
            self.weight[lots],
            self.start[lots],
            self.step[lots],
            self.below[lots],
            self.above[lots],
            self.density[lots],
            self.bend[lots],
            self.centre[lots],
            self.spread[lots],
        )

    @property
    def count(self) -> int:
        """Rows a circumstance."""
        return int(self.lam.shape[1]) // self.cases

    def tails(self, v: FloatArray, dose: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """P(probit viability < v), P(> v) and the density at v; ``v`` (B, Q), ``dose`` (B, Z)."""
        taken = np.exp(-self.lam) * self._in_rows(dose)
        below, above, density = self._at(v[:, None, :] + taken[:, :, None])
        return (
            self._mix(self.weight, below),
            self._mix(self.weight, above),
            self._mix(self.weight / self.step, density),
        )

    def tails_in_dose(
        self, v: FloatArray, dose: FloatArray, pace: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """P(probit viability < v), P(> v) and how fast they change as doses grow at ``pace``.

        ``v`` is (B, Q), ``dose`` and ``pace`` are (B, Z, Q).
        """
        wear = np.exp(-self.lam)[:, :, None]
        below, above, density = self._at(v[:, None, :] + wear * self._in_rows(dose))
        density *= wear * self._in_rows(pace)
        return (
            self._mix(self.weight, below),
            self._mix(self.weight, above),
            self._mix(self.weight / self.step, density),
        )

    def _in_rows(self, of_cases: FloatArray) -> FloatArray:
        """Each circumstance's values (B, Z, ...) for each of its rows, (B, R, ...)."""
        return of_cases if self.cases == 1 else np.repeat(of_cases, self.count, axis=1)

    def moments(self, dose: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Mean and standard deviation of probit viability at ``dose`` (B, Z)."""
        centre = self.centre - np.exp(-self.lam) * self._in_rows(dose)
        mean = np.sum(self.weight * centre, axis=1)
        second = np.sum(self.weight * (self.spread**2 + (centre - mean[:, None]) ** 2), axis=1)
        return mean, np.sqrt(second)

    @staticmethod
    def _mix(weight: FloatArray, values: FloatArray) -> FloatArray:
        return np.asarray((weight[:, None, :] @ values)[:, 0, :], dtype=np.float64)

    def _at(self, k: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Quintic Hermite interpolation of what each row has below K, above it and at it."""
        last = self.below.shape[2] - 1
        place = (k - self.start[:, :, None]) / self.step[:, :, None]
        inside = np.clip(place, 0.0, last)
        node = np.minimum(inside.astype(np.intp), last - 1)
        t = inside - node
        lots, rows, nodes = self.below.shape
        flat = (np.arange(lots * rows) * nodes).reshape(lots, rows, 1) + node
        next_flat = flat + 1
        f0, f1 = self.below.take(flat), self.below.take(next_flat)
        left = self.above.take(flat)
        d0, d1 = self.density.take(flat), self.density.take(next_flat)
        c0, c1 = self.bend.take(flat), self.bend.take(next_flat)
        # Quintic through value, slope and bend at both nodes.
        rise = f1 - f0 - d0 - 0.5 * c0
        slope = d1 - d0 - c0
        bend = 0.5 * (c1 - c0)
        a = 10.0 * rise - 4.0 * slope + bend
        b = -15.0 * rise + 7.0 * slope - 2.0 * bend
        e = 6.0 * rise - 3.0 * slope + bend
        gain = t * (d0 + t * (0.5 * c0 + t * (a + t * (b + t * e))))
        density = d0 + t * (c0 + t * (3.0 * a + t * (4.0 * b + t * 5.0 * e)))
        density *= place == inside
        return f0 + gain, left - gain, np.maximum(density, 0.0, out=density)


def rows_needed(
    lam: FloatArray, weight: FloatArray, centre: FloatArray, spread: FloatArray, dose: FloatArray
) -> IntArray:
    """How many equally spaced rows each lot needs for a question at ``dose`` (B,).

    ``weight`` (B, R) sums to what the lot weighs among those it is mixed with, 1 if none.

    A row is a bump of width ``spread``; at a fixed viability the bumps sit |d centre / d lam|
    apart. Summing bumps r widths apart leaves a ripple of exp(-2 pi^2 / r^2) / pi of a bump in the
    distribution function (Poisson summation); the least count is taken that keeps it under 1e-5.
    Nor may rows be over 0.4 standard deviations of lam apart: sums would miss how its weight bends.
    """
    middle = centre - np.exp(-lam) * dose[:, None]
    apart = np.abs(np.gradient(middle, axis=1))
    square = (apart / spread) ** 2 * lam.shape[1] ** 2 / (2.0 * np.pi**2)
    # Rows where seed is dead or alive to six digits leave no ripple anyone could see.
    seen = np.where(np.abs(middle) - apart - 2.0 * spread < _SEEN, weight, 0.0)
    # exp(-rows^2 / square) weight / pi < error, solved for rows.
    room = np.log(np.maximum(seen / (np.pi * _ERROR_WANTED), 1.0))
    smooth = np.sqrt(np.max(square * room, axis=1))
    # For a normal weight, 1 / sum of squares is 2 sqrt(pi) standard deviations, counted in rows.
    whole = np.maximum(weight.sum(axis=1), np.finfo(np.float64).tiny)
    peaked = np.sum((weight / whole[:, None]) ** 2, axis=1)
    close = 2.0 * np.sqrt(np.pi) * peaked * (lam.shape[1] - 1) / _APART
    needed = np.maximum(smooth, close)
    place = np.minimum(np.searchsorted(_ROW_COUNTS, needed), _ROW_COUNTS.size - 1)
    return np.asarray(_ROW_COUNTS[place], dtype=np.int64)


_ROW_COUNTS = np.unique((20 * 1.19 ** np.arange(27)).astype(np.int64))  # 20, 23, 28 … 1,845
ROWS = int(_ROW_COUNTS[0])


def build_rows(
    priors: Priors, observations: Observations, scan: Scan, count: int, case_weight: FloatArray
) -> Rows:
    """Tabulate the posterior on ``count`` rows over the part of lam that ``scan`` found heavy.

    ``priors``, ``observations`` and ``scan`` are of each lot in each circumstance, (B x Z);
    ``case_weight`` (B, Z) is how likely each is.
    """
    lam = np.linspace(scan.low, scan.high, count, axis=1)
    left, right = (
        between_rows(scan, lam, ends) for ends in ends_of_rows(priors, observations, scan)
    )
    nodes = _UNEVEN_NODES if np.any(uneven(priors, observations)) else _NODES
    to_below, to_above, differentiate = _sinc_matrices(nodes)
    node = np.arange(nodes, dtype=np.float64)
    step = (right - left) / (nodes - 1)
    k = left[:, :, None] + step[:, :, None] * node
    log_p = log_density(priors, observations, lam[:, :, None], k)
    top = log_p.max(axis=2, keepdims=True)
    density = np.exp(log_p - top)
    mass = density @ to_below[:, -1]
    cases = case_weight.shape[1]
    evidence = np.log(mass * step) + top[:, :, 0]
    if cases > 1:
        with np.errstate(divide="ignore"):  # no weight is a logarithm of -inf
            likely = np.log(case_weight.reshape(-1, 1) * (scan.high - scan.low)[:, None])
        evidence = (evidence + likely).reshape(-1, cases * count)
    weight = np.exp(evidence - evidence.max(axis=1, keepdims=True))
    density /= mass[:, :, None]
    whole = density.sum(axis=2)
    mean = density @ node / whole
    spread = np.sqrt(np.maximum(density @ node**2 / whole - mean**2, 1e-4))

    def of_lots(of_cases: FloatArray) -> FloatArray:
        return of_cases.reshape(-1, cases * count, *of_cases.shape[2:])

    return Rows(
        cases=cases,
        lam=of_lots(lam),
        weight=weight / weight.sum(axis=1, keepdims=True),
        start=of_lots(left),
        step=of_lots(step),
        below=of_lots(density @ to_below),
        above=of_lots(density @ to_above),
        density=of_lots(density),
        bend=of_lots(density @ differentiate),
        centre=of_lots(left + step * mean),
        spread=of_lots(step * spread),
    )


@cache
def _sinc_matrices(count: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Matrices taking nodal densities to the mass below and above each node, and the derivative."""
    gap = np.subtract.outer(np.arange(count), np.arange(count)).T.astype(np.float64)
    integral = sici(np.pi * gap)[0] / np.pi
    sign = np.where(gap % 2 == 0, 1.0, -1.0)
    differentiate = np.divide(sign, gap, out=np.zeros_like(gap), where=gap != 0)
    return integral - integral[:, :1], integral[:, -1:] - integral, differentiate


_SCAN_CHUNK = 512
_TABLE_CHUNK = 96  # a block's tables stay in the second-level cache


class Block:
    """A few lots that share array shapes, with rows built once and refined when asked to.

    ``lots`` (B,); ``priors``, ``observations`` and ``scan`` are of each in each circumstance.
    """

    __slots__ = ("case_weight", "lots", "observations", "priors", "rows", "scan")

    def __init__(
        self, lots: IntArray, of_cases: "_Scanned", case_weight: FloatArray, count: int
    ) -> None:
        self.lots = lots
        self.priors, self.observations, self.scan = of_cases
        self.case_weight = case_weight
        self.rows = build_rows(*of_cases, count, case_weight)

    def refined(self, dose: FloatArray) -> "list[tuple[IntArray, Rows]]":
        """Rows fine enough for questions at ``dose`` (B, Z), as (positions in block, rows)."""
        rows, cases = self.rows, self.rows.cases

        def of_cases(values: FloatArray) -> FloatArray:
            return values.reshape(-1, rows.count)

        needed = rows_needed(
            of_cases(rows.lam),
            of_cases(rows.weight),
            of_cases(rows.centre),
            of_cases(rows.spread),
            dose.ravel(),
        )
        needed = needed.reshape(-1, cases).max(axis=1)
        enough = np.flatnonzero(needed <= rows.count)
        if enough.size == needed.size:
            return [(enough, rows)]
        groups = [(enough, rows.take(enough))] if enough.size else []
        for count in np.unique(needed[needed > rows.count]):
            at = np.flatnonzero(needed == count)
            each = _each_case(at, cases)
            of_each = (self.priors.take(each), self.observations.take(each), self.scan.take(each))
            groups.append((at, build_rows(*of_each, int(count), self.case_weight[at])))
        return groups


_Scanned = tuple[Priors, Observations, Scan]


def _each_case(lots: IntArray, cases: int) -> IntArray:
    """Where the circumstances of ``lots`` stand among all lots' circumstances."""
    return np.asarray((lots[:, None] * cases + np.arange(cases)).ravel(), dtype=np.int64)


@dataclass(frozen=True, slots=True)
class Fit:
    """What lots are fitted to; each pass over it fits them again, alike to the last figure."""

    priors: Priors
    observations: Observations
    horizon: FloatArray

    def __iter__(self) -> Iterator[Block]:
        for lots in self.parts():
            yield from self.blocks(lots, lots)

    def parts(self) -> Iterator[IntArray]:
        """Positions of the lots, some hundreds at a time, those alike in their tests together.

        Only lots with as many circumstances go together.
        """
        order = np.argsort(self.observations.number, kind="stable")
        cases = self.observations.cases_of_each
        for number in np.unique(cases).tolist():
            alike, most = order[cases[order] == number], max(_SCAN_CHUNK // number, 1)
            for start in range(0, alike.size, most):
                yield alike[start : start + most]

    def blocks(self, lots: IntArray, named: IntArray) -> Iterator[Block]:
        """One part's blocks, in which the lots go by the numbers ``named``."""
        tests = self.observations.take(lots)
        cases, weight = tests.cases, tests.weight
        part, tests = self.priors.take(np.repeat(lots, cases)), tests.each_case()
        scan = scan_posterior(part, tests)
        dose = self.horizon[lots, :cases].ravel()
        needed = rows_needed(scan.lam, scan.weight, scan.mode, scan.spread, dose)
        count = needed.reshape(-1, cases).max(axis=1)
        for rows in np.unique(count):
            same = np.flatnonzero(count == rows)
            most = max(_TABLE_CHUNK // cases, 1)
            for first in range(0, same.size, most):
                at = same[first : first + most]
                each = _each_case(at, cases)
                of_each = (part.take(each), tests.take(each), scan.take(each))
                yield Block(named[at], of_each, weight[at], int(rows))
