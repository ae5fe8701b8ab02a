"""What is believed of a lot before it is tested: viability at harvest, and how long its kind keeps.

**Viability at harvest.** Bought seed was above the legal minimum of its kind when sold, or nearly:
K (probit) has its 5 % point at the minimum and its median half way, in probits, to 99 %. Seed
saved, swapped or gathered has no such floor: the same median less 0.25 probit, 1.5 times the
spread. Both are our choice; the minimum itself is published.

**How long a kind keeps.** Published evidence is of three sorts that disagree: constants of the
viability equation, half-viability periods in an ambient store, and years in gardeners' lists. Each
is turned into log sigma at one ordinary store and fitted as kind + sort + residual, sorts summing
to zero; the spread of the prior comes from how far the sorts disagree. Outside check of the fit:
statsmodels weighted least squares.

A coarse distribution from five quantiles, for screening many lots at once.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from seedbank.science.quantities import BAND_QUANTILES, BoolArray, FloatArray, IntArray, ProbitNodes
from seedbank.science.testing.test_plan import equal_weight_nodes

BEST_SEED = 0.99
OVER_MINIMUM = 0.95
"""Share of sold lots reckoned to be over the legal minimum at harvest: our choice."""
NO_FLOOR_SHIFT = 0.25
NO_FLOOR_SPREAD = 1.5
UNKNOWN_MINIMUM = 0.50
"""'Any other vegetable or herb', Ohio Admin. Code 901:5-27-04: for kinds with no minimum."""
OWN_WORD = -1
OWN_WORD_SD = 0.15
"""The gardener's own half-viability outweighs every list, but not their own tests: our choice."""
LOT_LOG_SD = 0.30
"""Lots of one kind differ in sigma by about a third: our choice; the theory has them equal."""
KNOWN_STORE_LOG_SD = 0.30
UNKNOWN_STORE_LOG_SD = 0.60
"""Half a point, or a point, of seed moisture at C_W near 4.8 and 8 %: our choice, computed."""


def initial_viability(legal_minimum: FloatArray, sold: BoolArray) -> tuple[FloatArray, FloatArray]:
    """Mean and sd of K (probit of viability at harvest) from the legal minimum (0..1, nan if none).

    ``sold``: whether the lot came from a seller bound by that minimum.
    """
    floor = ndtri(np.where(np.isnan(legal_minimum), UNKNOWN_MINIMUM, legal_minimum))
    mean = 0.5 * (floor + ndtri(BEST_SEED))
    sd = (mean - floor) / ndtri(OVER_MINIMUM)
    return (
        np.where(sold, mean, mean - NO_FLOOR_SHIFT),
        np.where(sold, sd, sd * NO_FLOOR_SPREAD),
    )


@dataclass(frozen=True, slots=True)
class KeepingModel:
    """Fit of kind + sort of evidence: what turns evidence about one kind into a prior.

    ``sort_offset`` (S,) sums to zero; ``residual_sd`` is what is left once kind and sort are known;
    ``kinds_mean`` and ``kinds_sd`` describe kinds at large, for one with no evidence;
    ``common_sd`` is the doubt about which sort is right, shared by every kind.
    """

    sort_offset: FloatArray
    residual_sd: float
    kinds_mean: float
    kinds_sd: float
    common_sd: float
    kinds_compared: int


def fit_keeping(kind: IntArray, sort: IntArray, log_sigma: FloatArray, sorts: int) -> KeepingModel:
    """Fit log sigma = kind + sort + residual to evidence rows, one a (kind, sort).

    Only kinds seen by two or more sorts bear on the offsets. Raises ValueError when none is.
    """
    kinds = int(kind.max(initial=-1)) + 1
    seen = np.bincount(kind, minlength=kinds)
    shared = seen[kind] >= 2
    if not np.any(shared):
        raise ValueError("no kind has evidence of two sorts: offsets can't be told")
    columns = kinds + sorts - 1
    design = np.zeros((kind.size, columns))
    design[np.arange(kind.size), kind] = 1.0
    last = sort == sorts - 1
    design[~last, kinds + sort[~last]] = 1.0
    design[last, kinds:] = -1.0
    effect, *_ = np.linalg.lstsq(design, log_sigma, rcond=None)
    residual = log_sigma - design @ effect
    free = int(np.count_nonzero(shared)) - int(np.count_nonzero(seen >= 2)) - (sorts - 1)
    residual_sd = float(np.sqrt(np.sum(residual[shared] ** 2) / max(free, 1)))
    offset = np.append(effect[kinds:], -np.sum(effect[kinds:]))
    level = effect[:kinds][seen > 0]
    noise = residual_sd**2 / seen[seen > 0]
    return KeepingModel(
        sort_offset=offset,
        residual_sd=residual_sd,
        kinds_mean=float(level.mean()),
        kinds_sd=float(np.sqrt(max(level.var(ddof=1) - noise.mean(), 0.05**2))),
        common_sd=float(np.sqrt(np.mean(offset**2) / sorts)),
        kinds_compared=int(np.count_nonzero(seen >= 2)),
    )


@dataclass(frozen=True, slots=True)
class KeepingEstimate:
    """log sigma (days) of a kind at the ordinary store, with the spread a lot of it should have.

    ``own_share`` is how much of the mean rests on evidence about the kind itself (0..1), the rest
    on kinds at large.
    """

    log_sigma: float
    log_sigma_sd: float
    own_share: float


def estimate_keeping(
    model: KeepingModel, sort: IntArray, log_sigma: FloatArray, extra_sd: FloatArray
) -> KeepingEstimate:
    """Combine the evidence on one kind with kinds at large, weighing each by its precision.

    ``extra_sd`` (E,) is added to the residual spread of borrowed or doubtful rows; ``sort`` may be
    ``OWN_WORD``, the gardener's own, which is taken as said and weighed with ``OWN_WORD_SD``. With
    no rows the answer is that for kinds at large.
    """
    own = sort == OWN_WORD
    spread = np.where(own, OWN_WORD_SD, model.residual_sd)
    precision = 1.0 / (spread**2 + extra_sd**2)
    at_large = 1.0 / model.kinds_sd**2
    total = float(precision.sum() + at_large)
    debiased = log_sigma - np.where(own, 0.0, model.sort_offset[np.where(own, 0, sort)])
    mean = float((precision @ debiased + at_large * model.kinds_mean) / total)
    variance = 1.0 / total + model.common_sd**2 + LOT_LOG_SD**2
    return KeepingEstimate(mean, float(np.sqrt(variance)), float(precision.sum() / total))


def lot_log_sd(kind_sd: FloatArray, store_known: BoolArray, age_log_sd: FloatArray) -> FloatArray:
    """Spread of a lot's lam: its kind's, its store's, and doubt about its age, in quadrature.

    An uncertain age scales the dose as a whole, which is what lam does. Common practice for small
    relative errors; an approximation where tests of different ages are on record.
    """
    store = np.where(store_known, KNOWN_STORE_LOG_SD, UNKNOWN_STORE_LOG_SD)
    return np.asarray(np.sqrt(kind_sd**2 + store**2 + age_log_sd**2), dtype=np.float64)


_NODES = 16


def nodes_from_quantiles(probits: FloatArray) -> ProbitNodes:
    """16 nodes of equal weight from probit quantiles (L, 5) at ``BAND_QUANTILES``.

    Between the quantiles, and beyond them with the last slope, the probit follows the normal score
    in straight lines: exact for a normal distribution. Our choice for screening; outside check:
    moments of a normal and of a posterior's own nodes.
    """
    known = ndtri(np.array(BAND_QUANTILES))
    level = ndtri((np.arange(_NODES) + 0.5) / _NODES)
    piece = np.clip(np.searchsorted(known, level) - 1, 0, known.size - 2)
    share = (level - known[piece]) / (known[piece + 1] - known[piece])
    nodes = probits[:, piece] + share * (probits[:, piece + 1] - probits[:, piece])
    return equal_weight_nodes(nodes)
