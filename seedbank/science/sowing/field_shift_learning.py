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
from dataclasses import dataclass

import numpy as np

from seedbank.science.quantities import FloatArray
from seedbank.science.sowing.field_shift_effects import (
    Effect,
    ShiftProblem,
    base_of,
    effects_of,
    prior_of,
    scale_of,
)
from seedbank.science.sowing.field_shift_prior import ShiftPrior, SowingConditions, Spreads
from seedbank.science.sowing.mixed_effects import EffectsPosterior
from seedbank.science.sowing.shift_observation import (
    ShiftTable,
    ShiftTables,
    SowingRecord,
    normal_factors,
    tabulate,
)

_SWEEPS = 4
_SOWINGS_FOR_SPREADS = 8


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
            _in_words(self, conditions, scale * start, scale * mean),
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


def predict_each_without_itself(
    prior: ShiftPrior, records: Sequence[SowingRecord]
) -> tuple[ShiftEstimate, ...]:
    """Each sowing predicted from all the others: the honest test of "how well do I judge"."""
    tables = [tabulate(record) for record in records]
    return tuple(
        learn_shift(
            prior, [*records[:i], *records[i + 1 :]], [*tables[:i], *tables[i + 1 :]]
        ).predict(record.conditions)
        for i, record in enumerate(records)
    )


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
