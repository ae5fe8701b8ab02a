"""What a finished sowing says of its seed and of its seedbed.

Of ``trials`` units ``emerged`` came up, each with chance ready x Phi(v - shift), v the probit of
the lot's viability and shift what the seedbed cost (never below 0); where the sowing failed
outright, a tenth of that. So a count says something of x = v - shift, tabulated over one grid.
Mixed over what is believed of the seed it is evidence on the shift, mixed over what is believed of
the shift it is evidence on the seed; which of them is to blame, both sides' other evidence decides.

Counts vary in patches (``patches``), and by no less than official tests of one lot do. Units eaten,
frosted or dried out are not bad seed: they leave the count.

Outside checks: sums over dense grids with scipy's binomial and beta-binomial
(``tests/science/sowing/test_sowing_evidence.py``).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from scipy.special import logsumexp, ndtr

from seedbank.science.quantities import FloatArray, IntArray, ProbitNodes
from seedbank.science.shared_effects import PLACES, EffectEvidence
from seedbank.science.sowing.emergence import LEFT_BY_FAILURE
from seedbank.science.sowing.field_shift_prior import SowingConditions
from seedbank.science.sowing.patches import NO_PATCHES, Patches
from seedbank.science.viability.evidence import GRID, LOW, STEP, count_likelihood

LEAST_RHO = 0.0028
"""Correlation within official tests of one lot (computed from the tolerances of 7 CFR 201.63)."""
_SHIFTS = STEP * np.arange(226)  # 0 to 9 probits
_STRIDE = 2  # of shifts that evidence on the seed is mixed over
_LEAST = 1e-290
_NO_SHIFT = 1e-13  # of a shift's chance; rarer ones say nothing
_CHUNK = 64


@dataclass(frozen=True, slots=True)
class SowingRecord:
    """A finished sowing: what was sown, what came, what was lost to known causes.

    ``emerged`` units seen; ``eaten``, ``frosted`` and ``dried_out`` units known lost that are
    not among the emerged. ``ready`` is the share of viable seed not dormant. Raises ``ValueError``
    on impossible counts.
    """

    conditions: SowingConditions
    sown: int
    emerged: int
    eaten: int = 0
    frosted: int = 0
    dried_out: int = 0
    ready: float = 1.0
    patches: Patches = NO_PATCHES

    def __post_init__(self) -> None:
        if min(self.emerged, self.eaten, self.frosted, self.dried_out) < 0:
            raise ValueError(f"counts must not be negative, got {self!r}")
        if self.sown < 1 or self.emerged > self.sown:
            raise ValueError(f"{self.emerged!r} emerged of {self.sown!r} sown is not possible")

    @property
    def trials(self) -> int:
        """Units whose fate speaks of seed and seedbed: sown less those lost to known causes."""
        return max(self.sown - self.eaten - self.frosted - self.dried_out, self.emerged)

    @property
    def correlation(self) -> float:
        """That of a count which varies as patches of it and tests of one lot do."""
        if self.trials < 2:
            return 0.0
        factor = float(self.patches.inflation(np.asarray(float(self.trials))))
        return max((factor - 1.0) / (self.trials - 1.0), LEAST_RHO)


@dataclass(frozen=True, slots=True)
class SownCounts:
    """What R sowings' counts say of x = v - shift: log likelihoods (R, 501) over ``GRID``.

    ``risen`` where the sowing did not fail, ``failed`` where it did.
    """

    risen: FloatArray
    failed: FloatArray

    @classmethod
    def of(cls, records: Sequence[SowingRecord]) -> "SownCounts":
        counts = np.array(
            [(one.emerged, one.trials, one.correlation, one.ready) for one in records], dtype=float
        ).reshape(-1, 4)
        distinct, which = np.unique(counts, axis=0, return_inverse=True)
        emerged, trials, rho, ready = distinct.T
        risen = count_likelihood(emerged, trials, rho, share=ready)
        failed = count_likelihood(emerged, trials, rho, share=LEFT_BY_FAILURE * ready)
        return cls(risen[which.ravel()], failed[which.ravel()])

    def mixed(self, failure: FloatArray) -> FloatArray:
        """Log likelihood (R, 501) where a sowing fails with chance ``failure`` (R,)."""
        chance = failure[:, None]
        return np.logaddexp(np.log1p(-chance) + self.risen, np.log(chance) + self.failed)

    def of_bed(self, seed: FloatArray, mean: FloatArray, reach: FloatArray) -> "BedEvidence":
        """Evidence on each shift, where the seed's probit has the law ``seed`` (R, 501).

        At even steps of the shift from ``mean - reach`` to ``mean + reach``, (R,) each.
        """
        shift = mean[:, None] + reach[:, None] * PLACES
        risen, failed = np.empty_like(shift), np.empty_like(shift)
        for part in _chunks(mean.size):
            top = np.maximum(self.risen[part].max(axis=1), self.failed[part].max(axis=1))[:, None]
            for values, likelihood in ((risen, self.risen), (failed, self.failed)):
                by_shift = _over_seed(seed[part], np.exp(likelihood[part] - top))
                values[part] = _at(np.log(np.maximum(by_shift, _LEAST)), shift[part])
        return BedEvidence(reach, risen, failed)

    def of_seed(self, failure: FloatArray, mean: FloatArray, sd: FloatArray) -> FloatArray:
        """Log likelihood (R, 501) of the seed's probit, where the shift ~ N(mean, sd^2) or 0."""
        mixed, of_probit = self.mixed(failure), np.empty_like(self.risen)
        for part in _chunks(mean.size):
            weight = _shift_weights(mean[part, None], sd[part, None])
            of_probit[part] = _over_shift(mixed[part], weight)
        return of_probit


@dataclass(frozen=True, slots=True)
class BedEvidence:
    """What each sowing says of its shift, (R, 97) at even steps, whether it failed or not."""

    reach: FloatArray
    risen: FloatArray
    failed: FloatArray

    def mixed(self, failure: FloatArray) -> EffectEvidence:
        """The same where a sowing fails with chance ``failure`` (R,)."""
        chance = failure[:, None]
        both = np.logaddexp(np.log1p(-chance) + self.risen, np.log(chance) + self.failed)
        return EffectEvidence(self.reach, both)

    def failing(self, failure: FloatArray, centre: FloatArray, sd: FloatArray) -> FloatArray:
        """Chance (R,) that each failed, its shift else N(``centre``, ``sd``^2) beside the mean."""
        away = (self.reach[:, None] * PLACES - centre[:, None]) / sd[:, None]
        chance = np.stack([logsumexp(each - 0.5 * away**2, axis=1) for each in self._both])
        odds = np.log1p(-failure) - np.log(failure) + chance[0] - chance[1]
        return np.asarray(1.0 / (1.0 + np.exp(odds)))

    @property
    def _both(self) -> tuple[FloatArray, FloatArray]:
        return self.risen, self.failed


def seed_law(nodes: ProbitNodes) -> FloatArray:
    """A lot's law of the probit, as weights (R, 501) on ``GRID`` that keep its mean."""
    place = np.clip((nodes.probit - LOW) / STEP, 0.0, GRID.size - 1.001)
    cell = place.astype(np.int64)
    past = place - cell
    law = np.zeros((place.shape[0], GRID.size))
    row = np.broadcast_to(np.arange(place.shape[0])[:, None], place.shape)
    np.add.at(law, (row, cell), (1.0 - past) * nodes.weight)
    np.add.at(law, (row, cell + 1), past * nodes.weight)
    return law


def _chunks(size: int) -> Iterator[IntArray]:
    for start in range(0, size, _CHUNK):
        yield np.arange(start, min(start + _CHUNK, size))


def _over_seed(law: FloatArray, likelihood: FloatArray) -> FloatArray:
    """Likelihood of each of ``_SHIFTS``, (R, 226): at x below the grid it is as at its end."""
    first = np.repeat(likelihood[:, :1], _SHIFTS.size - 1, axis=1)
    windows = sliding_window_view(np.hstack([first, likelihood]), GRID.size, axis=1)
    return np.asarray(np.einsum("rkg,rg->rk", windows, law)[:, ::-1])


def _over_shift(values: FloatArray, weight: FloatArray) -> FloatArray:
    """Log likelihoods (R, 501) mixed over every other of ``_SHIFTS`` with ``weight`` (R, 113).

    Below the grid they go straight on. What is too unlikely for a float is its likeliest part.
    """
    used = np.flatnonzero(weight.max(axis=0) > _NO_SHIFT)
    back = np.arange(_SHIFTS.size - 1, 0, -1)
    below = values[:, :1] - back * (values[:, 1:2] - values[:, :1])
    longer = np.hstack([below, values])
    top = longer.max(axis=1, keepdims=True)
    windows = sliding_window_view(np.exp(longer - top), GRID.size, axis=1)
    first = _SHIFTS.size - 1 - _STRIDE * used
    mixed = np.einsum("rqg,rq->rg", windows[:, first], weight[:, used])
    least = mixed < _LEAST
    with np.errstate(divide="ignore"):
        found, log_weight = np.log(mixed) + top, np.log(weight)
    row, cell = np.nonzero(least)
    if row.size:
        parts = longer[row[:, None], cell[:, None] + first] + log_weight[row][:, used]
        found[row, cell] = parts.max(axis=1)
    return np.asarray(found, dtype=np.float64)


def _shift_weights(mean: FloatArray, sd: FloatArray) -> FloatArray:
    """Chance (R, 113) of every other of ``_SHIFTS``; what lies below 0 counts as 0."""
    weight = np.exp(-0.5 * ((_SHIFTS[::_STRIDE] - mean) / sd) ** 2)
    weight[:, 0] *= 0.5
    below = ndtr(-mean / sd)
    total = weight.sum(axis=1, keepdims=True)
    weight *= np.divide(1.0 - below, total, out=np.zeros_like(total), where=total > 0.0)
    weight[:, :1] += below
    return np.asarray(weight)


def _at(values: FloatArray, shift: FloatArray) -> FloatArray:
    """``values`` (R, 226) at any shifts (R, S), by cubics; below 0 as at 0."""
    place = np.clip(shift, 0.0, _SHIFTS[-1]) / STEP
    cell = np.clip(place.astype(np.int64), 1, _SHIFTS.size - 3)
    t = place - cell
    before, here, after, later = (
        np.take_along_axis(values, cell + offset, axis=1) for offset in (-1, 0, 1, 2)
    )
    return np.asarray(
        -t * (t - 1.0) * (t - 2.0) / 6.0 * before
        + (t + 1.0) * (t - 1.0) * (t - 2.0) / 2.0 * here
        - (t + 1.0) * t * (t - 2.0) / 2.0 * after
        + (t + 1.0) * t * (t - 1.0) / 6.0 * later
    )
