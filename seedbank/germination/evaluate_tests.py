"""What a test says, put together from the science, the kind's facts and the lot."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from seedbank.common.answers import FindingAnswer, PercentAnswer, Source, finding_answers
from seedbank.facts.kinds import KindFacts
from seedbank.facts.methods import tolerance_table
from seedbank.facts.sources import sources_of
from seedbank.germination.answers import (
    AgreementAnswer,
    DormancyAnswer,
    EvaluationAnswer,
    InterimAnswer,
    MinimumAnswer,
    TimingAnswer,
)
from seedbank.germination.propose_test import TREATMENTS, dormancy_traits
from seedbank.germination.tables import Count, GerminationTest, ReplicateTotal
from seedbank.kinds.answers import source_of
from seedbank.lots.tables.lots import Lot
from seedbank.science.germination.dormancy import DormancyFinding, ObservedTest, judge_dormancy
from seedbank.science.germination.germination import (
    GerminationResult,
    SeedClass,
    SeedClasses,
    evaluate_interim,
    evaluate_test,
    seed_classes,
)
from seedbank.science.germination.proportion import proportion_interval
from seedbank.science.germination.timing import germination_timing
from seedbank.science.quantities import INTERVAL_LEVEL, Finding
from seedbank.science.viability.decline import DAYS_PER_YEAR

_DAYS_A_MONTH = DAYS_PER_YEAR / 12

METHOD_SOURCES = (
    Source(
        text="interval: Jeffreys (Brown, Cai & DasGupta 2001, Statistical Science 16:101-133)",
        confidence="computed",
    ),
    Source(
        text="replicates: exact test of homogeneity (Fisher 1950, Biometrics 6:17-24), "
        "beta-binomial where they disagree (Williams 1975, Biometrics 31:949-952)",
        confidence="computed",
    ),
)


def evaluate(
    test: GerminationTest,
    replicates: list[ReplicateTotal],
    counts: Iterable[Count],
    lot: Lot,
    facts: KindFacts,
) -> EvaluationAnswer:
    """What a finished test says; ``counts`` are those that stand."""
    classes = _classes(replicates)
    minimum = facts.minimum_germination_pct
    result = evaluate_test(
        classes,
        table=tolerance_table(),
        minimum=minimum.value / 100.0 if minimum else None,
        hard_counts=bool(facts.counts_hard_seed and facts.counts_hard_seed.value),
        level=INTERVAL_LEVEL,
    )
    agreement = result.germination.agreement
    return EvaluationAnswer(
        seeds=result.germination.seeds,
        germination=PercentAnswer.of(result.germination.fraction, result.germination.interval),
        viability=PercentAnswer.of(result.viability.fraction, result.viability.interval),
        **{
            one: _share(int(classes.of(one).sum()), result.germination.seeds)
            for one in SeedClass
            if one != SeedClass.NORMAL  # they are the germination
        },
        agreement=AgreementAnswer(
            agree=agreement.agrees,
            rule=agreement.rule,
            p_value=float(f"{agreement.p_value:.3g}"),
            range_points=round(agreement.range_pct, 1),
            tolerated_points=agreement.tolerated_range_pct,
            intraclass_correlation=round(result.germination.rho, 4),
        ),
        minimum=_minimum(result, facts),
        timing=_timing(test.started_on, counts),
        findings=_findings(test, classes, lot, facts),
        remarks=finding_answers([*result.cautions, *_too_early(test, classes)]),
    )


def evaluate_so_far(replicates: list[ReplicateTotal]) -> InterimAnswer:
    """What an open test can still come to."""
    result = evaluate_interim(_classes(replicates), level=INTERVAL_LEVEL)
    return InterimAnswer(
        unjudged=result.undecided,
        germination_low_pct=round(100 * result.germination_interval.low, 2),
        germination_high_pct=round(100 * result.germination_interval.high, 2),
        viability_low_pct=round(100 * result.viability_interval.low, 2),
        viability_high_pct=round(100 * result.viability_interval.high, 2),
        level_pct=100 * INTERVAL_LEVEL,
    )


def evaluation_sources(evaluation: EvaluationAnswer, facts: KindFacts) -> list[Source]:
    """Where the figures and rules behind an evaluation are from."""
    sources = list(METHOD_SOURCES)
    if evaluation.agreement.rule == "published tolerance":
        sources.append(Source(text=tolerance_table().source, confidence="read"))
    used = sources_of(facts.minimum_germination_pct, facts.counts_hard_seed)
    sources += [Source(text=one.text, confidence=one.confidence) for one in used]
    return sources + [finding.source for finding in evaluation.findings]


def _classes(replicates: list[ReplicateTotal]) -> SeedClasses:
    return seed_classes(
        [one.seeds_set for one in replicates],
        *([one.judged.seeds(judged) for one in replicates] for judged in SeedClass),
    )


def _too_early(test: GerminationTest, classes: SeedClasses) -> list[Finding]:
    """A test ended before its published last day may have missed slow seed."""
    ended, due = test.finished_on, test.final_count_due
    if (
        ended is None
        or due is None
        or ended >= due
        or int((classes.dead + classes.fresh).sum()) == 0
    ):
        return []
    return [Finding("test-ended-early", {"days": (due - ended).days, "final_count_due": due})]


def _share(count: int, seeds: int) -> PercentAnswer:
    return PercentAnswer.of(count / seeds, proportion_interval(count, seeds))


def _minimum(result: GerminationResult, facts: KindFacts) -> MinimumAnswer | None:
    compared, fact = result.minimum, facts.minimum_germination_pct
    if compared is None or fact is None:
        return None
    return MinimumAnswer(
        minimum_pct=fact.value,
        counted_pct=round(100 * compared.counted_fraction, 2),
        hard_counted=compared.hard_counted,
        reached=compared.reached,
        probability_at_least=round(compared.probability_at_least, 4),
        source=source_of(fact),
    )


def _timing(started_on: date, counts: Iterable[Count]) -> TimingAnswer | None:
    """Timing of the normal seedlings; a count on the very first day can't tell any."""
    by_day: dict[int, int] = defaultdict(int)
    for count in counts:
        by_day[(count.on_date - started_on).days] += count.normal
    days = sorted(by_day)
    if len(days) < 2 or days[0] < 1:
        return None
    timing = germination_timing(days, [by_day[day] for day in days])
    if timing is None:
        return None
    return TimingAnswer(
        mean_days=round(timing.mean_days, 2),
        sd_days=None if timing.sd_days is None else round(timing.sd_days, 2),
        half_days=round(timing.half_days, 2),
        half_between_days=timing.half_between_days,
        middle_half_days=round(timing.middle_half_days, 2),
    )


def _findings(
    test: GerminationTest, classes: SeedClasses, lot: Lot, facts: KindFacts
) -> list[DormancyAnswer]:
    months = None
    if lot.harvest_date is not None and not lot.harvest_estimated:
        months = (test.started_on - lot.harvest_date).days / _DAYS_A_MONTH
    treatment = TREATMENTS.get(test.pretreatment)
    observed = ObservedTest(
        **{one: int(classes.of(one).sum()) for one in SeedClass},
        temp_c=test.temp_c,
        in_light=test.in_light,
        months_since_harvest=months,
        treated=frozenset({treatment} if treatment else ()),
    )
    return [_finding(one, facts) for one in judge_dormancy(observed, dormancy_traits(facts))]


def _finding(finding: DormancyFinding, facts: KindFacts) -> DormancyAnswer:
    known = {fact.source: fact for fact in (facts.test_remedies, facts.heat_dormancy_c) if fact}
    fact = known.get(finding.source)
    source = source_of(fact) if fact else Source(text=finding.source, confidence="memory")
    remedy = FindingAnswer.of(finding.remedy)
    return DormancyAnswer.of(finding.found, remedy=remedy, source=source)
