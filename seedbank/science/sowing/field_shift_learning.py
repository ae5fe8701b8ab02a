"""Learning what a seedbed costs from this gardener's own sowings, with partial pooling.

A sowing's shift beside its published mean is what its garden (ground and compost apart), its kind
and its season (year and quarter) share, and its own luck (``shared_effects``). How widely luck
spreads is learned too: on a grid, by how well each sowing is foretold from all the others, with a
log-normal prior about the published spread. So is how often a sowing fails outright: a beta worth
25 sowings, to which each adds the chance that it was one.

Sources: A. Gelman & J. Hill, Data Analysis Using Regression and Multilevel/Hierarchical Models,
ch. 12 (2007), partial pooling; T.P. Minka (2001), expectation propagation; leaving one out,
M. Stone, J. R. Stat. Soc. B 36:111-147 (1974), from memory.

Outside checks: brute-force posterior on a dense grid, simulated gardens of known truth.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import logsumexp

from seedbank.science.quantities import FloatArray
from seedbank.science.shared_effects import (
    PLACES,
    REACH_SD,
    EffectEvidence,
    LearnedEffects,
    SharedEffects,
    learn_effects,
)
from seedbank.science.sowing.emergence import ShiftLaw
from seedbank.science.sowing.field_shift_prior import (
    FAILURE,
    FAILURE_WORTH,
    GARDEN_SD,
    SEASON_SD,
    SOWING_SD,
    ShiftPrior,
    SowingConditions,
    share_of,
)
from seedbank.science.sowing.sowing_evidence import BedEvidence, SowingRecord, SownCounts

_TURNS = 3  # of effects, failures and luck, each refreshed given the others
_LUCK_FACTORS = np.exp(np.linspace(-1.0, 1.0, 13) * np.log(3.0))
_LUCK_LOG_SD = 0.5

Effect = tuple[str, str]
"""The sort of a shared effect, and whose: ``garden`` in soil or compost, a kind's, a season's."""


def effects_of(conditions: SowingConditions) -> tuple[Effect, ...]:
    """The effects that act on a sowing."""
    return (
        ("garden", conditions.medium),
        ("kind", conditions.kind),
        ("season", f"{conditions.season} {conditions.year}"),
    )


def _sd_of(effect: Effect, prior: ShiftPrior) -> float:
    sort, level = effect
    if sort == "garden":
        return GARDEN_SD[level]
    return prior.kind_offset(level).sd if sort == "kind" else SEASON_SD


def _shares(conditions: SowingConditions) -> FloatArray:
    """How much of each of ``effects_of`` acts; a garden's spread in compost is its own."""
    return np.array([1.0, share_of("kind", conditions), share_of("season", conditions)])


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
    """Predicted shift of a new sowing, and where it comes from.

    ``own_share`` is the part of the prior variance of the shared effects that this gardener's
    sowings have removed, 0..1; ``sowings`` how many were used.
    """

    law: ShiftLaw
    own_share: float
    sowings: int
    contributions: tuple[Contribution, ...]


@dataclass(frozen=True, slots=True)
class FieldShiftModel:
    """What R sowings have taught. Build with ``learn_shift``; ask with ``predict``.

    ``names`` are the Q effects', ``published`` (R,) the sowings' shifts before any was seen,
    ``luck`` the factor on the published spread of a sowing's own luck, ``failing`` (R,) the chance
    that each failed outright, ``exposure`` how it lay.
    """

    prior: ShiftPrior
    names: tuple[Effect, ...]
    effects: SharedEffects
    learned: LearnedEffects
    luck: float
    failing: FloatArray
    exposure: tuple[str, ...]
    published: FloatArray
    counts: SownCounts
    taught: Mapping[Effect, int]

    @property
    def sowings(self) -> int:
        return self.published.size

    def predict(self, conditions: SowingConditions) -> ShiftEstimate:
        """The shift of a sowing under ``conditions``; unseen levels fall back on the prior."""
        wanted, share = effects_of(conditions), _shares(conditions)
        place = {effect: i for i, effect in enumerate(self.names)}
        known = [i for i, effect in enumerate(wanted) if effect in place]
        rows = [place[wanted[i]] for i in known]
        variance = np.array([_sd_of(effect, self.prior) ** 2 for effect in wanted])
        mean, covariance = np.zeros(len(wanted)), np.diag(variance)
        mean[known] = self.learned.mean[rows]
        covariance[np.ix_(known, known)] = self.learned.covariance[np.ix_(rows, rows)]
        shared = float(share @ covariance @ share)
        luck = self.luck * SOWING_SD * share_of("sowing", conditions)
        law = ShiftLaw(
            self.prior.published_shift(conditions) + float(share @ mean),
            float(np.sqrt(shared + luck**2 + conditions.warmth_sd**2)),
            self._failure(conditions.exposure),
            luck,
        )
        own = float(np.clip(1.0 - shared / float(share**2 @ variance), 0.0, 1.0))
        return ShiftEstimate(law, own, self.sowings, self._parts(conditions, share * mean))

    def of_seed(self) -> FloatArray:
        """What each sowing says of its seed's probit, (R, 501), given all the *others*' shifts."""
        mean, sd = self.learned.without_own(self.effects)
        failure = _failure_without_own(self.exposure, self.failing)
        return self.counts.of_seed(failure, self.published + mean, sd)

    def _failure(self, exposure: str) -> float:
        alike = np.array([one == exposure for one in self.exposure], dtype=np.bool_)
        total = FAILURE_WORTH * FAILURE[exposure] + float(self.failing[alike].sum())
        return total / (FAILURE_WORTH + float(alike.sum()))

    def _parts(self, conditions: SowingConditions, learned: FloatArray) -> tuple[Contribution, ...]:
        """The parts of a prediction that add up to its mean."""
        parts = [Contribution("setting", "", 0, self.prior.setting_shift(conditions))]
        if conditions.temperature_shift is not None:
            parts.append(Contribution("soil-temperature", "", 0, conditions.temperature_shift))
        for (effect, level), shift in zip(effects_of(conditions), learned.tolist(), strict=True):
            if effect == "kind":
                offset = self.prior.kind_offset(level).mean * share_of("kind", conditions)
                parts.append(Contribution(effect, level, 0, offset))
            if sowings := self.taught.get((effect, level), 0):
                parts.append(Contribution(effect, level, sowings, shift))
        return tuple(parts)


def learn_shift(
    prior: ShiftPrior,
    records: Sequence[SowingRecord],
    seed: FloatArray,
    counts: SownCounts | None = None,
) -> FieldShiftModel:
    """Condition the published prior on R finished sowings. With none, it answers from the prior.

    ``seed`` (R, 501) is the law of each lot's probit on its sowing day, without what the sowing
    itself says of it (``seed_law``). ``counts`` are the records' where they are known already.
    """
    conditions = [record.conditions for record in records]
    acting = [effects_of(one) for one in conditions]
    names = tuple(sorted({effect for each in acting for effect in each}))
    place = {effect: i for i, effect in enumerate(names)}
    luck_sd = SOWING_SD * np.array([share_of("sowing", one) for one in conditions])
    warmth_sd = np.array([one.warmth_sd for one in conditions])
    effects = SharedEffects(
        np.array([[place[effect] for effect in each] for each in acting])
        .reshape(-1, 3)
        .astype(int),
        np.array([_shares(one) for one in conditions]).reshape(-1, 3),
        np.array([_sd_of(effect, prior) ** 2 for effect in names]),
        np.hypot(luck_sd, warmth_sd),
    )
    published = np.array([prior.published_shift(one) for one in conditions])
    exposure = tuple(one.exposure for one in conditions)
    counts = SownCounts.of(records) if counts is None else counts
    bed = counts.of_bed(seed, published, REACH_SD * np.sqrt(effects.prior_variance))
    learned, luck, failing = _learned(effects, bed, exposure, (luck_sd, warmth_sd))
    taught: dict[Effect, int] = {}
    for effect in (effect for each in acting for effect in each):
        taught[effect] = taught.get(effect, 0) + 1
    effects = replace(effects, own_sd=np.hypot(luck * luck_sd, warmth_sd))
    return FieldShiftModel(
        prior, names, effects, learned, luck, failing, exposure, published, counts, taught
    )


def _learned(
    effects: SharedEffects,
    bed: BedEvidence,
    exposure: Sequence[str],
    own: tuple[FloatArray, FloatArray],
) -> tuple[LearnedEffects, float, FloatArray]:
    """Effects, the factor on the spread of luck and the chance that each sowing failed.

    ``own`` are the sd of each one's luck and of what its soil's temperature costs.
    """
    failing = np.array([FAILURE[one] for one in exposure])
    luck = 1.0
    learned = learn_effects(effects, bed.mixed(failing))
    for _ in range(_TURNS if failing.size else 0):
        failure = _failure_without_own(exposure, failing)
        evidence = bed.mixed(failure)
        centre, variance = learned.cavity(effects)
        luck = _luck(evidence, centre, variance, own)
        effects = replace(effects, own_sd=np.hypot(luck * own[0], own[1]))
        learned = learn_effects(effects, evidence, learned.factors.outdated())
        failing = bed.failing(failure, *learned.without_own(effects))
    return learned, luck, failing


def _failure_without_own(exposure: Sequence[str], failing: FloatArray) -> FloatArray:
    """Chance (R,) of failing that the *other* sowings leave each with."""
    chance = np.empty(failing.size)
    for sort, prior in FAILURE.items():
        alike = np.array([one == sort for one in exposure], dtype=np.bool_)
        others = failing[alike].sum() - failing[alike]
        worth = FAILURE_WORTH + max(int(alike.sum()) - 1, 0)
        chance[alike] = (FAILURE_WORTH * prior + others) / worth
    return chance


def _luck(
    evidence: EffectEvidence,
    centre: FloatArray,
    variance: FloatArray,
    own: tuple[FloatArray, FloatArray],
) -> float:
    """Factor on the spread of luck, the first of ``own``, from how well each was foretold."""
    total = -0.5 * (np.log(_LUCK_FACTORS) / _LUCK_LOG_SD) ** 2
    places = evidence.reach[:, None] * PLACES - centre[:, None]
    for at, factor in enumerate(_LUCK_FACTORS.tolist()):
        spread = variance + (factor * own[0]) ** 2 + own[1] ** 2
        density = evidence.log_likelihood - 0.5 * places**2 / spread[:, None]
        total[at] += float(np.sum(logsumexp(density, axis=1) - 0.5 * np.log(spread)))
    weight = np.exp(total - total.max())
    return float(np.exp(weight @ np.log(_LUCK_FACTORS) / weight.sum()))
