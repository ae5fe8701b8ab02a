"""What is believed of a lot before it is tested: viability at harvest, and how long its kind keeps.

**Viability at harvest.** Bought seed was above the legal minimum of its kind when sold, or nearly:
K (probit) has its 5 % point at the minimum and its median half way, in probits, to 99 %. Seed
saved, swapped or gathered has no such floor: the same median less 0.25 probit, 1.5 times the
spread. Both are our choice; the minimum itself is published.

**How long a kind keeps.** Published evidence is of three sorts that disagree: constants of the
viability equation, half-viability periods in an ambient store, and years in gardeners' lists. Each
is turned into log sigma at one ordinary store and fitted as kind + sort + residual, sorts summing
to zero and each with a residual of its own (restricted maximum likelihood: Patterson & Thompson
1971, Biometrika 58:545-554, memory); the spread of the prior comes from how far the sorts disagree.
Outside check of the fit: statsmodels MixedLM where the residuals are alike.

A coarse distribution from five quantiles, for screening many lots at once.
"""

from dataclasses import dataclass

import numpy as np
import scipy
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
_RESIDUAL_CENTRE, _RESIDUAL_LOG_SD = 0.41, 0.5
NO_EVIDENCE_SD = 0.60
"""Between kinds nothing is published of: herbs and flowers no list compares; our choice."""
LOT_LOG_SD = 0.30
"""Lots of one kind differ in sigma by about a third: our choice; the theory has them equal."""
SAVER_LOG_SD = 0.20
"""Of that, what seed of one seller, swapper or saver has in common: our choice."""
PELLETED_LIFE = 0.5
"""Pelleted or primed seed keeps about half as long as bare seed: common practice, no single
source; trials differ by kind and maker, so that doubt about it widens lam by this much."""
PELLETED_LOG_SD = 0.35
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

    ``sort_offset`` (S,) sums to zero; ``residual_sd`` (S,) is what is left of each sort once kind
    and sort are known; ``kinds_mean`` and ``kinds_sd`` describe kinds at large; ``common_sd`` is
    the doubt about which sort is right, shared by every kind.
    """

    sort_offset: FloatArray
    residual_sd: FloatArray
    kinds_mean: float
    kinds_sd: float
    common_sd: float
    kinds_compared: int


@dataclass(frozen=True, slots=True)
class KeepingRows:
    """Evidence rows: kind and sort by number, log sigma, and the sd a weak row's residual gains.

    All arrays (E,). ``least_residual`` (S,) holds a sort's residual from below.
    """

    kind: IntArray
    sort: IntArray
    log_sigma: FloatArray
    extra_sd: FloatArray
    least_residual: FloatArray


def fit_keeping(rows: KeepingRows) -> KeepingModel:
    """Fit log sigma = kind + sort + residual by restricted maximum likelihood, a residual a sort.

    Kinds are normal about their mean. Few kinds are seen by each sort, so the log of a residual
    has a normal penalty (centre log .41, sd .5; our choice). Raises ValueError when no kind has
    evidence of two sorts: offsets can't be told then.
    """
    sorts = rows.least_residual.size
    seen = np.bincount(rows.kind)
    if not np.any(seen >= 2):
        raise ValueError("no kind has evidence of two sorts: offsets can't be told")
    offsets = np.vstack([np.eye(sorts - 1), -np.ones(sorts - 1)])[rows.sort]
    design = np.column_stack([np.ones(rows.kind.size), offsets])
    table = np.column_stack([design, rows.log_sigma])
    of_kind = (np.arange(seen.size)[:, None] == rows.kind).astype(np.float64)

    def spreads(logs: FloatArray) -> tuple[float, FloatArray]:
        return float(np.exp(logs[0])), np.maximum(np.exp(logs[1:]), rows.least_residual)

    def solved(logs: FloatArray) -> tuple[float, FloatArray]:
        between, residual = spreads(logs)
        noise = residual[rows.sort] ** 2 + rows.extra_sd**2
        weighed = table / noise[:, None]
        shared = 1.0 + between**2 * (of_kind @ (1.0 / noise))
        sums = of_kind @ weighed
        cross = table.T @ weighed - between**2 * sums.T @ (sums / shared[:, None])
        effect = np.linalg.solve(cross[:-1, :-1], cross[:-1, -1])
        log_det = np.log(noise).sum() + np.log(shared).sum() + np.linalg.slogdet(cross[:-1, :-1])[1]
        penalty = np.sum((np.log(residual / _RESIDUAL_CENTRE) / _RESIDUAL_LOG_SD) ** 2)
        return float(log_det + cross[-1, -1] - cross[:-1, -1] @ effect + penalty), effect

    def loss(logs: FloatArray) -> float:
        return solved(logs)[0]

    start = np.full(sorts + 1, np.log(_RESIDUAL_CENTRE))
    best: FloatArray = scipy.optimize.minimize(
        loss, start, method="Powell", options={"xtol": 1e-9, "ftol": 1e-12}
    ).x
    between, residual = spreads(best)
    effect = solved(best)[1]
    offset = np.append(effect[1:], -np.sum(effect[1:]))
    return KeepingModel(
        sort_offset=offset,
        residual_sd=residual,
        kinds_mean=float(effect[0]),
        kinds_sd=between,
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
    no rows the answer is that for kinds at large, and wide (``NO_EVIDENCE_SD``).
    """
    own = sort == OWN_WORD
    spread = np.where(own, OWN_WORD_SD, model.residual_sd[np.where(own, 0, sort)])
    precision = 1.0 / (spread**2 + extra_sd**2)
    at_large = 1.0 / (model.kinds_sd if sort.size else NO_EVIDENCE_SD) ** 2
    total = float(precision.sum() + at_large)
    debiased = log_sigma - np.where(own, 0.0, model.sort_offset[np.where(own, 0, sort)])
    mean = float((precision @ debiased + at_large * model.kinds_mean) / total)
    variance = 1.0 / total + model.common_sd**2 + LOT_LOG_SD**2
    return KeepingEstimate(mean, float(np.sqrt(variance)), float(precision.sum() / total))


def lot_log_sd(kind_sd: FloatArray, store_known: BoolArray) -> FloatArray:
    """Spread of a lot's lam: its kind's and its store's, in quadrature."""
    store = np.where(store_known, KNOWN_STORE_LOG_SD, UNKNOWN_STORE_LOG_SD)
    return np.asarray(np.sqrt(kind_sd**2 + store**2), dtype=np.float64)


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
