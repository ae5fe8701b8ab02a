"""A coarse look at each lot's posterior: where in lam it lives, and where K sits for each lam.

Outside checks: those of ``posterior``; the scan only places its rows.

What a posterior is fitted to: each lot's prior, and what is on record of it.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from seedbank.science.quantities import BoolArray, FloatArray, IntArray, taken
from seedbank.science.viability.evidence import Observations


@dataclass(frozen=True, slots=True)
class Priors:
    """Prior of each lot, shape (L,): K ~ N(ki_mean, ki_sd^2), lam ~ N(lam_mean, log_sigma_sd^2).

    ``lam_mean`` is 0 of a typical lot; other lots' tests move it (``shared_keeping``).
    """

    ki_mean: FloatArray
    ki_sd: FloatArray
    log_sigma_sd: FloatArray
    lam_mean: FloatArray = field(default_factory=lambda: np.zeros(1))

    def check(self) -> None:
        """Raise ValueError unless these are finite vectors of one length, spreads above 0."""
        shape = self.ki_mean.shape
        if len(shape) != 1 or self.ki_sd.shape != shape or self.log_sigma_sd.shape != shape:
            raise ValueError("priors must be three vectors of one length")
        if self.lam_mean.shape not in (shape, (1,)):
            raise ValueError("lam_mean must be one number, or one a lot")
        if not (np.all(self.ki_sd > 0) and np.all(self.log_sigma_sd > 0)):
            raise ValueError("ki_sd and log_sigma_sd must be above 0")
        if not np.all(np.isfinite(self.ki_mean + self.ki_sd + self.log_sigma_sd + self.lam_mean)):
            raise ValueError("priors must be finite")

    def widened(self, log_sd: FloatArray) -> "Priors":
        """The same with one more doubt about lam, of this spread (L,), in quadrature."""
        return replace(self, log_sigma_sd=np.hypot(self.log_sigma_sd, log_sd))

    def take(self, lots: IntArray) -> "Priors":
        whose = np.broadcast_to(self.lam_mean, self.ki_mean.shape)
        return Priors(self.ki_mean[lots], self.ki_sd[lots], self.log_sigma_sd[lots], whose[lots])


DROP = 10.5  # rows and nodes end where the density is e^-10.5 (3e-5) of its peak
_ROWS = 15
_MOST_STEPS = 60
_MOST_SCANS = 12


@dataclass(frozen=True, slots=True)
class Scan:
    """Coarse rows, shape (B, 15): lam, mode and curvature of K there, and Laplace weight."""

    lam: FloatArray
    mode: FloatArray
    peak: FloatArray
    curvature: FloatArray
    weight: FloatArray

    @property
    def low(self) -> FloatArray:
        return self.lam[:, 0]

    @property
    def high(self) -> FloatArray:
        return self.lam[:, -1]

    @property
    def spread(self) -> FloatArray:
        return np.asarray(1.0 / np.sqrt(self.curvature), dtype=np.float64)

    def take(self, lots: IntArray) -> "Scan":
        return taken(self, lots)


def scan_posterior(priors: Priors, observations: Observations) -> Scan:
    """Find the part of lam that carries weight: wider at a heavy end, closer where few rows are."""
    reach = np.sqrt(2.0 * DROP) * priors.log_sigma_sd
    scan = _scan(priors, observations, priors.lam_mean - reach, priors.lam_mean + reach)
    unfit = np.arange(reach.size)
    for _ in range(_MOST_SCANS if observations.width else 0):
        low, high, fits = _heavy(scan.take(unfit))
        unfit, low, high = unfit[~fits], low[~fits], high[~fits]
        if unfit.size == 0:
            break
        anew = _scan(priors.take(unfit), observations.take(unfit), low, high)
        for whole, part in zip(
            (scan.lam, scan.mode, scan.peak, scan.curvature, scan.weight),
            (anew.lam, anew.mode, anew.peak, anew.curvature, anew.weight),
            strict=True,
        ):
            whole[unfit] = part
    return scan


def _heavy(scan: Scan) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Ends of the heavy part, and whether the rows already span it and little more.

    One coarse row beyond it where there is one, half as far again where the last row is heavy.
    """
    share = scan.weight / scan.weight.max(axis=1, keepdims=True)
    kept = share > np.exp(-DROP)
    first = np.maximum(np.argmax(kept, axis=1) - 1, 0)
    last = np.minimum(_ROWS - np.argmax(kept[:, ::-1], axis=1), _ROWS - 1)
    cut_low, cut_high = share[:, 0] > 3.0 * np.exp(-DROP), share[:, -1] > 3.0 * np.exp(-DROP)
    lots, further = np.arange(kept.shape[0]), 0.5 * (scan.high - scan.low)
    low = scan.lam[lots, first] - np.where(cut_low, further, 0.0)
    high = scan.lam[lots, last] + np.where(cut_high, further, 0.0)
    fits = (last - first + 1 >= _ROWS - 3) & ~cut_low & ~cut_high
    return low, high, fits


def _scan(priors: Priors, observations: Observations, low: FloatArray, high: FloatArray) -> Scan:
    lam = np.linspace(low, high, _ROWS, axis=1)
    k, value, curvature = modes_of_rows(priors, observations, lam)
    evidence = value - 0.5 * np.log(curvature)
    weight = np.exp(evidence - evidence.max(axis=1, keepdims=True))
    return Scan(lam, k, value, curvature, weight / weight.sum(axis=1, keepdims=True))


def modes_of_rows(
    priors: Priors, observations: Observations, lam: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """K where each coarse row's density peaks, with log density and curvature there.

    Newton's method inside a bracket, each row until it is within a quarter of a standard deviation:
    far from the mode, as where seed kept so badly is long dead, a few steps don't do. Of uneven
    lots (``uneven``) K is gone through instead, and the curvature that of as much mass.
    """
    mode, value, curvature = _newton_modes(priors, observations, lam)
    odd = np.flatnonzero(uneven(priors, observations))
    if odd.size:
        of_k = tabulate_k(priors.take(odd), observations.take(odd), lam[odd])
        mode[odd], value[odd] = of_k.best
        curvature[odd] = 2.0 * np.pi / of_k.mass**2
    return mode, value, curvature


def _newton_modes(
    priors: Priors, observations: Observations, lam: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    k = _first_guess(priors, observations, lam)
    value, slope, curvature = slope_and_curvature(priors, observations, lam, k)
    low, high = np.full(k.size, -1e9), np.full(k.size, 1e9)
    for _ in range(_MOST_STEPS):
        rows = np.flatnonzero(np.abs(slope) > 0.25 * np.sqrt(curvature))
        if rows.size == 0:
            break
        here, rise = k.flat[rows], slope.flat[rows]
        low[rows] = np.where(rise > 0.0, here, low[rows])
        high[rows] = np.where(rise < 0.0, here, high[rows])
        moved = here + rise / curvature.flat[rows]
        outside = (moved < low[rows]) | (moved > high[rows])
        k.flat[rows] = np.where(outside, 0.5 * (low[rows] + high[rows]), moved)
        lots = rows // lam.shape[1]
        part = slope_and_curvature(
            priors.take(lots),
            observations.take(lots),
            lam.flat[rows][:, None],
            k.flat[rows][:, None],
        )
        value.flat[rows], slope.flat[rows], curvature.flat[rows] = (x[:, 0] for x in part)
    return k, value, curvature


def ends_of_rows(
    priors: Priors, observations: Observations, scan: Scan
) -> tuple[FloatArray, FloatArray]:
    """K on either side of each coarse row's mode where the density has fallen by e^-DROP, (B, 15).

    The fall is convex in K, so a Newton step from any point on the right side of the mode lands at
    or beyond the place sought: the tail is never cut short. Of uneven lots K is gone through.
    """
    odd = np.flatnonzero(uneven(priors, observations))
    low, high = _newton_ends(priors, observations, scan)
    if odd.size:
        of_k = tabulate_k(priors.take(odd), observations.take(odd), scan.lam[odd])
        low[odd], high[odd] = of_k.ends
    return low, high


def _newton_ends(
    priors: Priors, observations: Observations, scan: Scan
) -> tuple[FloatArray, FloatArray]:
    reach = np.sqrt(2.0 * DROP / scan.curvature)
    most = 1.05 * np.sqrt(2.0 * DROP) * priors.ki_sd[:, None]
    ends = []
    for side in (-1.0, 1.0):
        there = scan.mode + side * reach
        value, slope, _ = slope_and_curvature(priors, observations, scan.lam, there)
        short = DROP - (scan.peak - value)
        pace = np.maximum(-side * slope, 1e-3)
        ends.append(scan.mode + side * np.clip(reach + short / pace, 0.4 * reach, most))
    return ends[0], ends[1]


_UNEVEN = 1.0
_K_PLACES = np.linspace(-7.0, 7.0, 71)


def uneven(priors: Priors, observations: Observations) -> BoolArray:
    """Lots (L,) whose evidence may bend upwards more than their prior of K bends down.

    K may then have several modes, as where a sowing came up badly: from poor seed, or for once.
    """
    bend = observations.tables.bend[observations.table].sum(axis=1)
    return np.asarray(bend * priors.ki_sd**2 > _UNEVEN)


@dataclass(frozen=True, slots=True)
class TabulatedK:
    """Log density (B, R, 71) over ``k`` (B, 71), even steps 7 standard deviations either way."""

    k: FloatArray
    log_density: FloatArray

    @property
    def best(self) -> tuple[FloatArray, FloatArray]:
        """K where each row's density peaks, and the log density there, (B, R) each."""
        at = self.log_density.argmax(axis=2)
        peak = np.take_along_axis(self.log_density, at[:, :, None], axis=2)[:, :, 0]
        return np.take_along_axis(self.k, at, axis=1), peak

    @property
    def mass(self) -> FloatArray:
        """Sum of each row's density over its peak's, (B, R), in steps of K."""
        peak = self.log_density.max(axis=2, keepdims=True)
        step = self.k[:, 1] - self.k[:, 0]
        return np.asarray(np.exp(self.log_density - peak).sum(axis=2) * step[:, None])

    @property
    def ends(self) -> tuple[FloatArray, FloatArray]:
        """The outermost K, (B, R), where the density is still above e^-DROP of its peak's."""
        heavy = self.log_density > self.log_density.max(axis=2, keepdims=True) - DROP
        first = np.maximum(heavy.argmax(axis=2) - 1, 0)
        last = self.k.shape[1] - 1 - np.maximum(heavy[:, :, ::-1].argmax(axis=2) - 1, 0)
        return np.take_along_axis(self.k, first, axis=1), np.take_along_axis(self.k, last, axis=1)


def tabulate_k(
    priors: Priors, observations: Observations, lam: FloatArray, every: int = 1
) -> TabulatedK:
    """The density of K in each row ``lam`` (B, R), wherever it may have weight.

    At one place in ``every``, which does where only sums are asked for.
    """
    k = priors.ki_mean[:, None] + priors.ki_sd[:, None] * _K_PLACES[::every]
    values = log_density(priors, observations, lam[:, :, None], k[:, None, :])
    return TabulatedK(k, values)


def between_rows(scan: Scan, lam: FloatArray, values: FloatArray) -> FloatArray:
    """Values known on the coarse rows, in straight lines at other lam of the span (B, R)."""
    count = scan.lam.shape[1]
    width = (scan.lam[:, -1] - scan.lam[:, 0])[:, None]
    place = np.clip((lam - scan.lam[:, :1]) / width * (count - 1), 0.0, count - 1)
    row = np.minimum(place.astype(np.intp), count - 2)
    low = np.take_along_axis(values, row, axis=1)
    rise = np.take_along_axis(values, row + 1, axis=1) - low
    return np.asarray(low + (place - row) * rise, dtype=np.float64)


def _first_guess(priors: Priors, observations: Observations, lam: FloatArray) -> FloatArray:
    """K weighing the prior against where each piece of evidence alone would put the lot."""
    precision = (1.0 / priors.ki_sd**2)[:, None]
    total = np.broadcast_to(precision, lam.shape)
    weighed = precision * priors.ki_mean[:, None]
    wear = np.exp(-lam)
    for j in range(observations.width):
        table = observations.table[:, j]
        worth = observations.tables.worth[table][:, None]
        total = total + worth
        guess = observations.tables.guess[table][:, None] + wear * observations.dose[:, j]
        weighed = weighed + worth * guess
    return np.asarray(weighed / total, dtype=np.float64)


def log_density(
    priors: Priors, observations: Observations, lam: FloatArray, k: FloatArray
) -> FloatArray:
    """Log posterior density up to a constant; ``lam`` (B, R, 1) and ``k`` (B, R, N)."""
    extra = (1,) * (k.ndim - 1)
    total = (
        -0.5 * ((k - priors.ki_mean.reshape(-1, *extra)) / priors.ki_sd.reshape(-1, *extra)) ** 2
    )
    away = lam - priors.lam_mean.reshape(-1, *extra)
    total = total - 0.5 * (away / priors.log_sigma_sd.reshape(-1, *extra)) ** 2
    wear = np.exp(-lam)
    for j in range(observations.width):
        dose = observations.dose[:, j].reshape(-1, *extra)
        table = observations.table[:, j].reshape(-1, *extra)
        total += observations.tables.at(table, k - wear * dose)
    return total


def slope_and_curvature(
    priors: Priors, observations: Observations, lam: FloatArray, k: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Log density with its slope and curvature in K; ``lam`` and ``k`` (B, R).

    Evidence that bends the other way counts as straight: the curvature is never under the prior's.
    """
    precision = (1.0 / priors.ki_sd**2)[:, None]
    away = k - priors.ki_mean[:, None]
    pace = (lam - priors.lam_mean[:, None]) / priors.log_sigma_sd[:, None]
    value = -0.5 * precision * away**2 - 0.5 * pace**2
    slope = -precision * away
    curvature = np.broadcast_to(precision, k.shape)
    wear = np.exp(-lam)
    for j in range(observations.width):
        v = k - wear * observations.dose[:, j]
        of_value, of_slope, of_curvature = observations.tables.with_slopes(
            observations.table[:, j][:, None], v
        )
        value, slope = value + of_value, slope + of_slope
        curvature = curvature + np.maximum(of_curvature, 0.0)
    return value, slope, curvature
