"""Learning the field shift from this gardener's own sowings, with partial pooling.

Effects of the garden, kind, method, protection and season (year and quarter) start at the
published prior and are conditioned on each finished sowing's normal factor
(``shift_observation``), all together and exactly (``mixed_effects``). Factors are refreshed
against the rest of the sowings a few times (expectation propagation). From eight sowings on the
spreads are estimated too, by maximum marginal likelihood with a log-normal penalty around the
published values and bounds a factor 3 either way; the garden is one level, its spread stays.

Sources: A. Gelman & J. Hill, Data Analysis Using Regression and Multilevel/Hierarchical Models,
ch. 12 (2007), partial pooling; Y. Chung et al., Psychometrika 78:685-709 (2013), penalised
likelihood that keeps spreads off zero; T.P. Minka (2001), expectation propagation.

Outside checks: brute-force posterior on a dense grid, simulated gardens of known truth.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize

from seedbank.science.field_shift_prior import ShiftPrior, SowingConditions, Spreads
from seedbank.science.mixed_effects import EffectsPosterior, solve_effects
from seedbank.science.quantities import FloatArray
from seedbank.science.shift_observation import SowingRecord, normal_factor

_SWEEPS = 4
_SOWINGS_FOR_SPREADS = 8
_LOG_SPREAD_SD = 0.5
_LOG_SPREAD_BOUND = float(np.log(3.0))
_ESTIMATED = ("kind", "method", "protection", "season", "sowing")

Effect = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Contribution:
    """One part of a predicted shift: in words, and in probits."""

    words: str
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
        start, variance = _prior_of(wanted, self.prior, self.spreads)
        scale = _scale_of(wanted, self.prior, conditions)
        place = {effect: i for i, effect in enumerate(self.effects)}
        known = [i for i, effect in enumerate(wanted) if effect in place]
        rows = [place[wanted[i]] for i in known]
        mean, covariance = start.copy(), np.diag(variance)
        mean[known] = self.posterior.mean[rows]
        covariance[np.ix_(known, known)] = self.posterior.covariance[np.ix_(rows, rows)]
        lasting = float(scale @ covariance @ scale)
        luck = self.prior.scales(conditions)[1] * self.spreads.sowing
        base = _base(self.prior, conditions)
        return ShiftEstimate(
            base + float(scale @ mean),
            float(np.sqrt(lasting + luck**2)),
            float(np.clip(1.0 - lasting / float(scale**2 @ variance), 0.0, 1.0)),
            self.sowings,
            _in_words(self, conditions, scale * start, scale * mean),
        )


def effects_of(conditions: SowingConditions) -> tuple[Effect, ...]:
    """The effects that act on a sowing, as (sort, level)."""
    return (
        ("garden", ""),
        ("kind", conditions.kind),
        ("method", conditions.method),
        ("protection", conditions.protection),
        ("season", f"{conditions.season} {conditions.year}"),
    )


def learn_shift(prior: ShiftPrior, records: Sequence[SowingRecord]) -> FieldShiftModel:
    """Condition the published prior on finished sowings. With none, it answers from the prior.

    Viability uncertainty is mixed over for each sowing by itself; what two sowings of one lot
    share is not.
    """
    effects = tuple(sorted({effect for r in records for effect in effects_of(r.conditions)}))
    problem = _Problem.of(prior, records, effects)
    spreads = prior.spreads
    precision, weighted = np.zeros(len(records)), np.zeros(len(records))
    for _ in range(_SWEEPS if records else 1):
        cavity_mean, cavity_sd = problem.cavities(spreads, precision, weighted)
        for i, record in enumerate(records):
            factor = normal_factor(record, float(cavity_mean[i]), float(cavity_sd[i]))
            precision[i], weighted[i] = factor.precision, factor.weighted_mean
        if len(records) >= _SOWINGS_FOR_SPREADS:
            spreads = problem.estimate_spreads(precision, weighted)
    seen: dict[Effect, int] = {}
    for record in records:
        for effect in effects_of(record.conditions):
            seen[effect] = seen.get(effect, 0) + 1
    posterior = problem.solve(spreads, precision, weighted)
    return FieldShiftModel(prior, spreads, effects, posterior, seen, len(records))


def predict_each_without_itself(
    prior: ShiftPrior, records: Sequence[SowingRecord]
) -> tuple[ShiftEstimate, ...]:
    """Each sowing predicted from all the others: the honest test of "how well do I judge"."""
    return tuple(
        learn_shift(prior, [*records[:i], *records[i + 1 :]]).predict(record.conditions)
        for i, record in enumerate(records)
    )


@dataclass(frozen=True, slots=True)
class _Problem:
    """Design of the sowings: shift = base + design b + luck x N(0, spreads.sowing^2)."""

    prior: ShiftPrior
    effects: tuple[Effect, ...]
    design: FloatArray
    base: FloatArray
    luck: FloatArray

    @classmethod
    def of(
        cls, prior: ShiftPrior, records: Sequence[SowingRecord], effects: tuple[Effect, ...]
    ) -> "_Problem":
        place = {effect: i for i, effect in enumerate(effects)}
        design = np.zeros((len(records), len(effects)))
        for row, record in enumerate(records):
            acting = effects_of(record.conditions)
            scale = _scale_of(acting, prior, record.conditions)
            design[row, [place[effect] for effect in acting]] = scale
        base = np.array([_base(prior, record.conditions) for record in records])
        luck = np.array([prior.scales(record.conditions)[1] for record in records])
        return cls(prior, effects, design, base, luck)

    def solve(
        self, spreads: Spreads, precision: FloatArray, weighted: FloatArray
    ) -> EffectsPosterior:
        mean, variance = _prior_of(self.effects, self.prior, spreads)
        told = precision > 0.0
        safe = np.where(told, precision, 1.0)
        noise = np.where(told, 1.0 / safe + (self.luck * spreads.sowing) ** 2, np.inf)
        observed = np.where(told, weighted / safe - self.base, 0.0)
        return solve_effects(self.design, observed, noise, mean, variance)

    def cavities(
        self, spreads: Spreads, precision: FloatArray, weighted: FloatArray
    ) -> tuple[FloatArray, FloatArray]:
        """Mean and sd of every sowing's shift given the factors of the other sowings."""
        posterior = self.solve(spreads, precision, weighted)
        centre = self.base + self.design @ posterior.mean
        spread = np.einsum("ij,jk,ik->i", self.design, posterior.covariance, self.design)
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

        def loss(log_factor: FloatArray) -> float:
            fit = self.solve(_scaled(published, log_factor), precision, weighted)
            penalty = 0.5 * float((log_factor**2).sum()) / _LOG_SPREAD_SD**2
            return penalty - fit.log_marginal

        bound = (-_LOG_SPREAD_BOUND, _LOG_SPREAD_BOUND)
        size = len(_ESTIMATED)
        found = minimize(loss, np.zeros(size), method="L-BFGS-B", bounds=[bound] * size)
        return _scaled(published, np.asarray(found.x, dtype=np.float64))


def _scaled(spreads: Spreads, log_factor: FloatArray) -> Spreads:
    factors = np.exp(log_factor)
    return replace(
        spreads,
        **{
            name: getattr(spreads, name) * float(factor)
            for name, factor in zip(_ESTIMATED, factors, strict=True)
        },
    )


def _prior_of(
    effects: Sequence[Effect], prior: ShiftPrior, spreads: Spreads
) -> tuple[FloatArray, FloatArray]:
    """Prior mean and variance of each effect; kinds keep their own published sd, rescaled."""
    widened = spreads.kind / prior.spreads.kind
    mean, variance = np.zeros(len(effects)), np.zeros(len(effects))
    for i, (sort, level) in enumerate(effects):
        if sort == "kind":
            offset = prior.kind_offset(level)
            mean[i], variance[i] = offset.mean, (offset.sd * widened) ** 2
        else:
            variance[i] = float(getattr(spreads, sort)) ** 2
    return mean, variance


def _scale_of(
    effects: Sequence[Effect], prior: ShiftPrior, conditions: SowingConditions
) -> FloatArray:
    for_kind, for_rest = prior.scales(conditions)
    return np.array([for_kind if sort == "kind" else for_rest for sort, _ in effects])


def _base(prior: ShiftPrior, conditions: SowingConditions) -> float:
    return prior.setting_shift(conditions) + (conditions.temperature_shift or 0.0)


def _in_words(
    model: FieldShiftModel, conditions: SowingConditions, start: FloatArray, mean: FloatArray
) -> tuple[Contribution, ...]:
    """The parts of a prediction that add up to its mean."""
    setting = f"published loss for {conditions.protection}, {conditions.method}"
    parts = [Contribution(setting, model.prior.setting_shift(conditions))]
    if conditions.temperature_shift is not None:
        parts.append(Contribution("soil temperature", conditions.temperature_shift))
    offset = model.prior.kind_offset(conditions.kind)
    for (sort, level), before, after in zip(effects_of(conditions), start, mean, strict=True):
        if sort == "kind":
            parts.append(Contribution(f"{level}, published ({offset.source})", float(before)))
        count = model.seen.get((sort, level), 0)
        if count:
            name = "your garden" if sort == "garden" else level
            sowings = "1 sowing" if count == 1 else f"{count} sowings"
            parts.append(Contribution(f"{name}, from {sowings} of yours", float(after - before)))
    return tuple(parts)
