"""Learning the field shift from this gardener's own sowings, with partial pooling.

Effects of the garden, kind, method, protection and season (year and quarter) start at the
published prior and are conditioned on each finished sowing's normal factor
(``shift_observation``), all together and exactly (``solve_effects``). Factors are refreshed
against the rest of the sowings a few times (expectation propagation). From eight sowings on the
spreads are estimated too, by maximum marginal likelihood with a log-normal penalty around the
published values and bounds a factor 3 either way; the garden is one level, its spread stays.

Sources: A. Gelman & J. Hill, Data Analysis Using Regression and Multilevel/Hierarchical Models,
ch. 12 (2007), partial pooling; Y. Chung et al., Psychometrika 78:685-709 (2013), penalised
likelihood that keeps spreads off zero; T.P. Minka (2001), expectation propagation.

Outside checks: brute-force posterior on a dense grid, simulated gardens of known truth.

Normal random effects with known design and known noise, solved exactly.

    y = Z b + e,   b ~ N(mean, diag(variance)),   e ~ N(0, diag(noise))

The posterior of b solves the mixed-model equations by one Cholesky factorisation of the size of
the effects, so the cost is linear in observations. Source: C.R. Henderson, Biometrics
31:423-447 (1975).

Outside checks: dense normal conditioning, statsmodels MixedLM's predicted effects.

The effects that make a sowing's shift, and how widely each sort of them spreads.

Spreads are found by penalised maximum marginal likelihood (Y. Chung, S. Rabe-Hesketh, V. Dorie,
A. Gelman, J. Liu, Psychometrika 78:685-709, 2013), its slopes by Fisher's identity: those of the
complete log density, averaged over the posterior of the effects.

Outside check: no step along any spread does better (``test_field_shift_learning``).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy
from numpy.typing import NDArray

from seedbank.science.quantities import FloatArray
from seedbank.science.sowing.field_shift_prior import ShiftPrior, SowingConditions, Spreads
from seedbank.science.sowing.shift_observation import (
    ShiftTable,
    ShiftTables,
    SowingRecord,
    normal_factors,
    tabulate,
)


@dataclass(frozen=True, slots=True)
class EffectsPosterior:
    """Posterior mean (Q,) and covariance (Q, Q) of the effects, and log marginal density of y."""

    mean: FloatArray
    covariance: FloatArray
    log_marginal: float

    def variance_of(self, design: FloatArray) -> FloatArray:
        """Variance (N,) of each row's sum of effects, ``design`` (N, Q)."""
        return np.asarray(np.einsum("ij,ij->i", design @ self.covariance, design))


def solve_effects(
    design: FloatArray,
    observed: FloatArray,
    noise: FloatArray,
    prior_mean: FloatArray,
    prior_variance: FloatArray,
) -> EffectsPosterior:
    """Condition the effects on the observations.

    ``design`` (N, Q), ``observed`` and ``noise`` (variances) (N,), prior (Q,). With N = 0 the
    posterior is the prior. ``noise`` may be infinite for an observation that says nothing.
    """
    weight = 1.0 / noise
    used = weight > 0.0
    residual = np.where(used, observed - design @ prior_mean, 0.0)
    precision = np.diag(1.0 / prior_variance) + (design * weight[:, None]).T @ design
    factor = scipy.linalg.cho_factor(precision, lower=True)
    right = design.T @ (weight * residual)
    step = scipy.linalg.cho_solve(factor, right)
    covariance = scipy.linalg.cho_solve(factor, np.eye(prior_mean.size))
    log_det = (
        2.0 * np.log(np.diag(factor[0])).sum()
        + np.log(prior_variance).sum()
        + np.log(noise[used]).sum()
    )
    square = float(weight @ residual**2 - right @ step)
    log_marginal = -0.5 * (square + float(log_det) + int(used.sum()) * np.log(2.0 * np.pi))
    return EffectsPosterior(prior_mean + step, np.asarray(covariance), float(log_marginal))


LOG_SPREAD_SD = 0.5
_LOG_SPREAD_BOUND = float(np.log(3.0))
ESTIMATED = ("kind", "method", "protection", "season", "sowing")

Effect = tuple[str, str]
StrArray = NDArray[np.str_]


def effects_of(conditions: SowingConditions) -> tuple[Effect, ...]:
    """The effects that act on a sowing, as (sort, level)."""
    return (
        ("garden", ""),
        ("kind", conditions.kind),
        ("method", conditions.method),
        ("protection", conditions.protection),
        ("season", f"{conditions.season} {conditions.year}"),
    )


@dataclass(frozen=True, slots=True)
class ShiftProblem:
    """Design of the sowings: shift = base + design b + luck x N(0, spreads.sowing^2)."""

    prior: ShiftPrior
    effects: tuple[Effect, ...]
    design: FloatArray
    base: FloatArray
    luck: FloatArray
    prior_mean: FloatArray
    own_sd: FloatArray
    sorts: StrArray

    @classmethod
    def of(
        cls, prior: ShiftPrior, records: Sequence[SowingRecord], effects: tuple[Effect, ...]
    ) -> "ShiftProblem":
        place = {effect: i for i, effect in enumerate(effects)}
        design = np.zeros((len(records), len(effects)))
        for row, record in enumerate(records):
            acting = effects_of(record.conditions)
            scale = scale_of(acting, prior, record.conditions)
            design[row, [place[effect] for effect in acting]] = scale
        base = np.array([base_of(prior, record.conditions) for record in records])
        luck = np.array([prior.scales(record.conditions)[1] for record in records])
        mean, own_sd = _own_prior(effects, prior)
        sorts = np.array([sort for sort, _ in effects], dtype=np.str_)
        return cls(prior, effects, design, base, luck, mean, own_sd, sorts)

    def prior_variance(self, spreads: Spreads) -> FloatArray:
        """Prior variance (Q,) of the effects with these spreads."""
        return _variance(self.own_sd, self.sorts, spreads)

    def solve(
        self, spreads: Spreads, precision: FloatArray, weighted: FloatArray
    ) -> EffectsPosterior:
        variance = self.prior_variance(spreads)
        observed, noise = self._observed(spreads, precision, weighted)
        return solve_effects(self.design, observed, noise, self.prior_mean, variance)

    def _observed(
        self, spreads: Spreads, precision: FloatArray, weighted: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """What the factors say of the effects, (R,), and its variance, the sowing's luck in it."""
        told = precision > 0.0
        safe = np.where(told, precision, 1.0)
        noise = np.where(told, 1.0 / safe + (self.luck * spreads.sowing) ** 2, np.inf)
        return np.where(told, weighted / safe - self.base, 0.0), noise

    def cavities(
        self, spreads: Spreads, precision: FloatArray, weighted: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Mean and sd of every sowing's shift given the factors of the other sowings."""
        posterior = self.solve(spreads, precision, weighted)
        centre = self.base + self.design @ posterior.mean
        spread = posterior.variance_of(self.design)
        own = (self.luck * spreads.sowing) ** 2
        told = precision > 0.0
        safe = np.where(told, precision, 1.0)
        noise = np.where(told, 1.0 / safe + own, np.inf)
        left = 1.0 / (1.0 / spread - 1.0 / noise)
        mean = left * (centre / spread - np.where(told, weighted / safe, 0.0) / noise)
        return mean, np.sqrt(left + own)

    def estimate_spreads(self, precision: FloatArray, weighted: FloatArray) -> Spreads:
        """Penalised maximum marginal likelihood of the spreads, within bounds."""
        published = self.prior.spreads

        def loss(log_factor: FloatArray) -> tuple[float, FloatArray]:
            spreads = _scaled(published, log_factor)
            fit = self.solve(spreads, precision, weighted)
            penalty = 0.5 * float((log_factor**2).sum()) / LOG_SPREAD_SD**2
            slope = log_factor / LOG_SPREAD_SD**2 - self._slopes(spreads, precision, weighted, fit)
            return penalty - fit.log_marginal, slope

        bound = (-_LOG_SPREAD_BOUND, _LOG_SPREAD_BOUND)
        size = len(ESTIMATED)
        found = scipy.optimize.minimize(
            loss, np.zeros(size), jac=True, method="L-BFGS-B", bounds=[bound] * size
        )
        return _scaled(published, np.asarray(found.x, dtype=np.float64))

    def _slopes(
        self, spreads: Spreads, precision: FloatArray, weighted: FloatArray, fit: EffectsPosterior
    ) -> FloatArray:
        """Slope of the log marginal density over the log of each estimated spread."""
        square = np.diag(fit.covariance) + (fit.mean - self.prior_mean) ** 2
        by_effect = square / self.prior_variance(spreads) - 1.0
        slopes = [float(by_effect[self.sorts == sort].sum()) for sort in ESTIMATED[:-1]]
        observed, noise = self._observed(spreads, precision, weighted)
        unknown = fit.variance_of(self.design)
        missed = (observed - self.design @ fit.mean) ** 2 + unknown
        by_luck = (missed / noise - 1.0) / noise * (self.luck * spreads.sowing) ** 2
        return np.array([*slopes, float(by_luck.sum())])


def _scaled(spreads: Spreads, log_factor: FloatArray) -> Spreads:
    factors = np.exp(log_factor)
    return replace(
        spreads,
        **{
            name: getattr(spreads, name) * float(factor)
            for name, factor in zip(ESTIMATED, factors, strict=True)
        },
    )


def prior_of(
    effects: Sequence[Effect], prior: ShiftPrior, spreads: Spreads
) -> tuple[FloatArray, FloatArray]:
    """Prior mean and variance of each effect; kinds keep their own published sd, rescaled."""
    mean, own_sd = _own_prior(effects, prior)
    sorts = np.array([sort for sort, _ in effects], dtype=np.str_)
    return mean, _variance(own_sd, sorts, spreads)


def _own_prior(effects: Sequence[Effect], prior: ShiftPrior) -> tuple[FloatArray, FloatArray]:
    """Prior mean of each effect, and its sd over the spread of its sort."""
    mean, own_sd = np.zeros(len(effects)), np.ones(len(effects))
    for i, (sort, level) in enumerate(effects):
        if sort == "kind":
            offset = prior.kind_offset(level)
            mean[i], own_sd[i] = offset.mean, offset.sd / prior.spreads.kind
    return mean, own_sd


def _variance(own_sd: FloatArray, sorts: StrArray, spreads: Spreads) -> FloatArray:
    wide = np.array([getattr(spreads, sort) for sort in sorts.tolist()], dtype=np.float64)
    return np.asarray((own_sd * wide) ** 2)


def scale_of(
    effects: Sequence[Effect], prior: ShiftPrior, conditions: SowingConditions
) -> FloatArray:
    for_kind, for_rest = prior.scales(conditions)
    return np.array([for_kind if sort == "kind" else for_rest for sort, _ in effects])


def base_of(prior: ShiftPrior, conditions: SowingConditions) -> float:
    return prior.setting_shift(conditions) + (conditions.temperature_shift or 0.0)


_SWEEPS = 4
_SOWINGS_FOR_SPREADS = 8


@dataclass(frozen=True, slots=True)
class Contribution:
    """One part of a predicted shift, in probits.

    ``effect`` is ``setting`` or ``soil-temperature``, else one of ``effects_of`` at ``level``.
    ``sowings`` of this gardener's taught it; 0: it is as published.
    """

    effect: str
    level: str
    sowings: int
    shift: float


@dataclass(frozen=True, slots=True)
class ShiftEstimate:
    """Predicted shift of a new sowing, N(mean, sd^2) in probits, and where it comes from.

    ``own_share`` is the part of the prior variance of the lasting effects (all but the sowing's
    own luck) that this gardener's sowings have removed, 0..1; ``sowings`` how many were used.
    """

    mean: float
    sd: float
    own_share: float
    sowings: int
    contributions: tuple[Contribution, ...]


@dataclass(frozen=True, slots=True)
class FieldShiftModel:
    """The learned effects. Build with ``learn_shift``; ask with ``predict``."""

    prior: ShiftPrior
    spreads: Spreads
    effects: tuple[Effect, ...]
    posterior: EffectsPosterior
    seen: Mapping[Effect, int]
    sowings: int

    def predict(self, conditions: SowingConditions) -> ShiftEstimate:
        """The shift of a sowing under ``conditions``; unseen levels fall back on the prior."""
        wanted = effects_of(conditions)
        start, variance = prior_of(wanted, self.prior, self.spreads)
        scale = scale_of(wanted, self.prior, conditions)
        place = {effect: i for i, effect in enumerate(self.effects)}
        known = [i for i, effect in enumerate(wanted) if effect in place]
        rows = [place[wanted[i]] for i in known]
        mean, covariance = start.copy(), np.diag(variance)
        mean[known] = self.posterior.mean[rows]
        covariance[np.ix_(known, known)] = self.posterior.covariance[np.ix_(rows, rows)]
        lasting = float(scale @ covariance @ scale)
        luck = self.prior.scales(conditions)[1] * self.spreads.sowing
        base = base_of(self.prior, conditions)
        return ShiftEstimate(
            base + float(scale @ mean),
            float(np.sqrt(lasting + luck**2)),
            float(np.clip(1.0 - lasting / float(scale**2 @ variance), 0.0, 1.0)),
            self.sowings,
            _parts(self, conditions, scale * start, scale * mean),
        )


def learn_shift(
    prior: ShiftPrior,
    records: Sequence[SowingRecord],
    tables: Sequence[ShiftTable] | None = None,
) -> FieldShiftModel:
    """Condition the published prior on finished sowings. With none, it answers from the prior.

    Viability uncertainty is mixed over for each sowing by itself; what two sowings of one lot
    share is not. ``tables`` are the records' likelihoods where they are known already.
    """
    likelihood = ShiftTables.of([tabulate(r) for r in records] if tables is None else tables)
    effects = tuple(sorted({effect for r in records for effect in effects_of(r.conditions)}))
    problem = ShiftProblem.of(prior, records, effects)
    spreads = prior.spreads
    precision, weighted = np.zeros(len(records)), np.zeros(len(records))
    for _ in range(_SWEEPS if records else 1):
        cavity_mean, cavity_sd = problem.cavities(spreads, precision, weighted)
        factors = normal_factors(likelihood, cavity_mean, cavity_sd)
        precision, weighted = factors.precision, factors.weighted_mean
        if len(records) >= _SOWINGS_FOR_SPREADS:
            spreads = problem.estimate_spreads(precision, weighted)
    seen: dict[Effect, int] = {}
    for record in records:
        for effect in effects_of(record.conditions):
            seen[effect] = seen.get(effect, 0) + 1
    posterior = problem.solve(spreads, precision, weighted)
    return FieldShiftModel(prior, spreads, effects, posterior, seen, len(records))


def _parts(
    model: FieldShiftModel, conditions: SowingConditions, start: FloatArray, mean: FloatArray
) -> tuple[Contribution, ...]:
    """The parts of a prediction that add up to its mean."""
    parts = [Contribution("setting", "", 0, model.prior.setting_shift(conditions))]
    if conditions.temperature_shift is not None:
        parts.append(Contribution("soil-temperature", "", 0, conditions.temperature_shift))
    for (effect, level), before, after in zip(effects_of(conditions), start, mean, strict=True):
        if effect == "kind":
            parts.append(Contribution(effect, level, 0, float(before)))
        if sowings := model.seen.get((effect, level), 0):
            parts.append(Contribution(effect, level, sowings, float(after - before)))
    return tuple(parts)
