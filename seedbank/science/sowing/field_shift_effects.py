"""The effects that make a sowing's shift, and how widely each sort of them spreads.

Spreads are found by penalised maximum marginal likelihood (Y. Chung, S. Rabe-Hesketh, V. Dorie,
A. Gelman, J. Liu, Psychometrika 78:685-709, 2013), its slopes by Fisher's identity: those of the
complete log density, averaged over the posterior of the effects.

Outside check: no step along any spread does better (``test_field_shift_learning``).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from seedbank.science.quantities import FloatArray
from seedbank.science.sowing.field_shift_prior import ShiftPrior, SowingConditions, Spreads
from seedbank.science.sowing.mixed_effects import EffectsPosterior, solve_effects
from seedbank.science.sowing.shift_observation import SowingRecord

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
        found = minimize(loss, np.zeros(size), jac=True, method="L-BFGS-B", bounds=[bound] * size)
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
