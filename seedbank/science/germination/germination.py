"""What a germination test says: germination, viability, agreement of replicates, legal minimum.

Each seed unit set ends in one class (7 CFR 201.53-57a; ISTA Rules chapter 5, from memory): normal
or abnormal seedling, hard (took up no water), fresh (took up water, sound, did not sprout), dead.
Germination is normal alone; viability is normal + fresh + hard.

Outside checks: the Jeffreys interval for agreeing replicates; ``scipy.stats.beta`` for the legal
minimum; the parts in ``proportion``, ``replicates`` and ``overdispersion`` carry their own.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from seedbank.science.germination.overdispersion import (
    ProportionPosterior,
    moment_correlation,
    posterior_of_uneven_replicates,
    proportion_posterior,
)
from seedbank.science.germination.proportion import lower_bound, upper_bound
from seedbank.science.germination.replicates import Agreement, ToleranceTable, judge_agreement
from seedbank.science.quantities import INTERVAL_LEVEL, Finding, IntArray, Interval

MINIMUM_SOURCE = "7 CFR 201.31"
_SMALL_TEST_WIDTH = 0.30


class SeedClass(StrEnum):
    """What a seed of a germination test is judged to be."""

    NORMAL = "normal"
    ABNORMAL = "abnormal"
    HARD = "hard"
    FRESH = "fresh"
    DEAD = "dead"


SPROUTED = (SeedClass.NORMAL, SeedClass.ABNORMAL)
VIABLE = (SeedClass.NORMAL, SeedClass.HARD, SeedClass.FRESH)


@dataclass(frozen=True, slots=True)
class SeedClasses:
    """Final or running totals of one test, each of shape (R,), one entry a replicate, in units."""

    seeds_set: IntArray
    normal: IntArray
    abnormal: IntArray
    hard: IntArray
    fresh: IntArray
    dead: IntArray

    def of(self, *classes: SeedClass) -> IntArray:
        """Those of these classes together."""
        named = {
            SeedClass.NORMAL: self.normal,
            SeedClass.ABNORMAL: self.abnormal,
            SeedClass.HARD: self.hard,
            SeedClass.FRESH: self.fresh,
            SeedClass.DEAD: self.dead,
        }
        together: IntArray = np.sum([named[one] for one in classes], axis=0)
        return together

    @property
    def viable(self) -> IntArray:
        return self.of(*VIABLE)

    @property
    def undecided(self) -> IntArray:
        return self.seeds_set - self.of(*SeedClass)


def seed_classes(
    seeds_set: ArrayLike,
    normal: ArrayLike,
    abnormal: ArrayLike,
    hard: ArrayLike,
    fresh: ArrayLike,
    dead: ArrayLike,
) -> SeedClasses:
    """Check and gather the totals of one test's replicates (each shape (R,)).

    Raises ``ValueError`` for shapes that differ, no replicate, an empty replicate, part seeds,
    negative counts or more seeds judged than set. Checked by refusal tests.
    """
    given = [np.asarray(a) for a in (seeds_set, normal, abnormal, hard, fresh, dead)]
    if any(a.shape != given[0].shape or a.ndim != 1 for a in given) or given[0].size == 0:
        raise ValueError(f"each class needs one count a replicate, got {[a.shape for a in given]}")
    if any(np.any(a < 0) or np.any(a != np.rint(a)) for a in given):
        raise ValueError("counts are whole seeds, none negative")
    classes = SeedClasses(*(a.astype(np.int64) for a in given))
    if np.any(classes.seeds_set < 1):
        raise ValueError("a replicate needs at least one seed")
    if np.any(classes.undecided < 0):
        raise ValueError(
            f"more seeds judged than set in replicate {int(np.argmin(classes.undecided)) + 1}"
        )
    return classes


@dataclass(frozen=True, slots=True)
class Estimate:
    """A share of the lot's seeds (0..1): counted, its interval, and whether replicates agree.

    ``rho`` is the intra-class correlation by moments, 0 where replicates agree; when they do not,
    ``interval`` is the wider beta-binomial one. ``fraction`` is the plain count over seeds; where
    replicates of very unequal size disagree it may lie outside, and a caution says so.
    """

    count: int
    seeds: int
    fraction: float
    interval: Interval
    agreement: Agreement
    rho: float


@dataclass(frozen=True, slots=True)
class MinimumComparison:
    """A legal minimum (0..1) against the test; hard seed counted or not, as the rule says."""

    minimum: float
    counted_fraction: float
    hard_counted: bool
    reached: bool
    probability_at_least: float
    source: str


@dataclass(frozen=True, slots=True)
class GerminationResult:
    """A finished test. Fractions 0..1 of the seeds set; ``cautions`` tell where it is weak."""

    germination: Estimate
    viability: Estimate
    abnormal_fraction: float
    hard_fraction: float
    fresh_fraction: float
    dead_fraction: float
    minimum: MinimumComparison | None
    cautions: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class InterimResult:
    """A test still running: what it can yet come to."""

    undecided: int
    germination_interval: Interval
    viability_interval: Interval


def evaluate_test(
    classes: SeedClasses,
    *,
    table: ToleranceTable | None = None,
    minimum: float | None = None,
    hard_counts: bool = False,
    level: float = INTERVAL_LEVEL,
) -> GerminationResult:
    """Evaluate a finished test.

    ``minimum`` is the kind's legal minimum germination (0..1); with ``hard_counts`` hard seed is
    added to germination for that comparison only (7 CFR 201.31, kinds marked hard). ``table``
    judges replicates of 100. Raises ``ValueError`` while seeds are undecided. Checked against the
    Jeffreys interval and beta quantiles where replicates agree.
    """
    undecided = int(classes.undecided.sum())
    if undecided:
        raise ValueError(f"{undecided} seeds are not judged yet: the test is not finished")
    seeds = classes.seeds_set
    germination, germination_posterior = _estimate(classes.normal, seeds, table, level)
    viability, _ = _estimate(classes.viable, seeds, table, level)
    compared = None
    if minimum is not None:
        compared = _compare(classes, minimum, hard_counts, table, germination_posterior)
    total = float(seeds.sum())
    return GerminationResult(
        germination=germination,
        viability=viability,
        abnormal_fraction=float(classes.abnormal.sum() / total),
        hard_fraction=float(classes.hard.sum() / total),
        fresh_fraction=float(classes.fresh.sum() / total),
        dead_fraction=float(classes.dead.sum() / total),
        minimum=compared,
        cautions=_cautions(germination, viability),
    )


def evaluate_interim(classes: SeedClasses, *, level: float = INTERVAL_LEVEL) -> InterimResult:
    """What an unfinished test can yet come to, every undecided seed failing or every one making it.

    Each interval runs from the Jeffreys lower bound of the worst case to the upper bound of the
    best, so it holds both. Replicates are not compared before the end. Checked against Jeffreys.
    """
    undecided = int(classes.undecided.sum())
    seeds = int(classes.seeds_set.sum())

    def reach(count: int) -> Interval:
        sure = (1.0 + level) / 2.0
        low = float(lower_bound(count, seeds, sure))
        high = float(upper_bound(count + undecided, seeds, sure))
        return Interval(low, high, level)

    normal, viable = (int(count.sum()) for count in (classes.normal, classes.viable))
    return InterimResult(undecided, reach(normal), reach(viable))


def _posterior(
    counts: IntArray, seeds: IntArray, table: ToleranceTable | None
) -> tuple[Agreement, ProportionPosterior]:
    agreement = judge_agreement(counts, seeds, table)
    if agreement.agrees:
        return agreement, proportion_posterior([counts.sum()], [seeds.sum()])
    return agreement, posterior_of_uneven_replicates(counts, seeds)


def _estimate(
    counts: IntArray, seeds: IntArray, table: ToleranceTable | None, level: float
) -> tuple[Estimate, ProportionPosterior]:
    agreement, posterior = _posterior(counts, seeds, table)
    total = int(seeds.sum())
    count = int(counts.sum())
    rho = 0.0 if agreement.agrees else float(moment_correlation(counts, seeds))
    interval = posterior.interval(level)
    return Estimate(count, total, count / total, interval, agreement, rho), posterior


def _compare(
    classes: SeedClasses,
    minimum: float,
    hard_counts: bool,
    table: ToleranceTable | None,
    germination_posterior: ProportionPosterior,
) -> MinimumComparison:
    if not 0.0 <= minimum <= 1.0:
        raise ValueError(f"a legal minimum is a fraction 0..1, got {minimum!r}")
    counts, posterior = classes.normal, germination_posterior
    hard_counted = hard_counts and bool(classes.hard.sum())
    if hard_counted:
        counts = classes.normal + classes.hard
        _, posterior = _posterior(counts, classes.seeds_set, table)
    fraction = float(counts.sum() / classes.seeds_set.sum())
    return MinimumComparison(
        minimum=minimum,
        counted_fraction=fraction,
        hard_counted=hard_counted,
        reached=fraction >= minimum,
        probability_at_least=posterior.probability_at_least(minimum),
        source=MINIMUM_SOURCE,
    )


def _cautions(germination: Estimate, viability: Estimate) -> tuple[Finding, ...]:
    found = []
    agrees, interval = germination.agreement.agrees, germination.interval
    if not agrees:
        found.append(
            Finding("replicates-disagree", {"range_points": germination.agreement.range_pct})
        )
    if agrees and not viability.agreement.agrees:
        found.append(Finding("replicates-disagree-on-viability"))
    if not interval.low <= germination.fraction <= interval.high:
        found.append(Finding("replicates-uneven"))
    width = interval.high - interval.low
    if agrees and width > _SMALL_TEST_WIDTH:
        found.append(
            Finding("test-small", {"seeds": germination.seeds, "width_points": 100 * width})
        )
    return tuple(found)
