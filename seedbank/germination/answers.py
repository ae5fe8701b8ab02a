"""Answers about germination tests: how to set one, what was counted, what it says."""

from datetime import date, datetime
from enum import StrEnum
from typing import Self

from pydantic import Field

from seedbank.common.answers import (
    AnswerModel,
    CautionAnswer,
    FindingAnswer,
    PercentAnswer,
    Source,
    VarietyBrief,
    ViabilityPoint,
)
from seedbank.germination.tables import DueFields, ReplicateTotal, SeedCounts


class RegimeAnswer(AnswerModel):
    """A temperature held, or two in turn: about 16 hours at the low one, 8 at the high."""

    low_c: float = Field(examples=[20.0])
    high_c: float = Field(examples=[30.0])


class DirectionAnswer(FindingAnswer):
    """One special direction."""

    only_if_dormant: bool = Field(
        description="for fresh seed that lies firm and will not sprout", examples=[False]
    )


class TestMethodAnswer(AnswerModel):
    """The published test of a kind."""

    __test__ = False  # not a pytest class

    substrata: list[FindingAnswer]
    temperatures: list[RegimeAnswer] = Field(description="the first is the regular one")
    first_count_days: int | None = Field(description="null: only a final count", examples=[7])
    final_count_days: int = Field(examples=[14])
    directions: list[DirectionAnswer]
    hard_seed_expected: bool = Field(examples=[False])
    sources: list[Source]


class TestProposalAnswer(FindingAnswer):
    """A test as it is best set."""

    __test__ = False  # not a pytest class

    seeds: int = Field(description="seeds proposed, 0: none", examples=[20])
    replicates: list[int] = Field(examples=[[10, 10]])
    smallest_useful: int | None = Field(
        description="fewest seeds that are worth their loss; null: none is", examples=[10]
    )


_GENEBANK_SOURCE = {"text": "FAO Genebank Standards 2014, 4.3.4 and 4.4.1", "confidence": "memory"}


class TestSizeAnswer(AnswerModel):
    """One size of test weighed; losses in units of a variety nobody else keeps."""

    __test__ = False

    seeds: int = Field(examples=[20])
    value: float = Field(description="loss it is expected to save", examples=[0.021])
    cost: float | None = Field(description="null: more seed than can be spared", examples=[0.004])
    probability_changes: float = Field(examples=[0.31])
    probability_right: float = Field(examples=[0.93])


class TestStageAnswer(AnswerModel):
    """Where to stop early: after so many seeds, act if this few or this many have come up."""

    __test__ = False

    tested: int = Field(examples=[10])
    save_seed_if_at_most: int | None = Field(examples=[5])
    keep_if_at_least: int | None = Field(examples=[10])
    probability_ends_here: float = Field(examples=[0.42])


class TestAdviceAnswer(AnswerModel):
    """How many seeds to test, 0 meaning: don't spend seed on it; and how to stop early."""

    __test__ = False

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    seeds: int = Field(examples=[20])
    seeds_spare: int | None = Field(
        description="above the variety's reserve; null: some, not counted", examples=[104]
    )
    decision: FindingAnswer = Field(description="what the test helps to decide")
    viability_needed_pct: float | None = Field(examples=[61.5])
    viability: ViabilityPoint
    reasons: list[FindingAnswer]
    sizes: list[TestSizeAnswer]
    stages: list[TestStageAnswer] = Field(description="in groups, stopping once sure enough")
    mean_seeds_with_stages: float | None = Field(examples=[13.7])
    probability_right_with_stages: float | None = Field(examples=[0.92])
    cautions: list[CautionAnswer]
    sources: list[Source] = Field(examples=[[_GENEBANK_SOURCE]])


class CountIs(StrEnum):
    """Which count of a germination test is due."""

    FIRST = "first"
    FINAL = "final"
    ANY = "any"
    FINISH = "finish"


class CountDueAnswer(FindingAnswer):
    """The next count of an open test."""

    test: int = Field(description="its number", examples=[130])
    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    count: CountIs = Field(
        description="any: the kind has no set days; finish: all is judged", examples=["first"]
    )
    due: date | None = Field(description="null: no set day", examples=["2027-02-13"])
    days_late: int = Field(description="below 0: still to come", examples=[7])
    seeds: int = Field(examples=[50])
    unjudged: int = Field(examples=[50])


_METHOD = {"text": "7 CFR 201.58 table 2 (2015 annual edition)", "confidence": "read"}


class ReplicateAnswer(SeedCounts, AnswerModel):
    """One replicate and what its standing counts judged together, in seeds."""

    number: int = Field(examples=[1])
    seeds_set: int = Field(examples=[25])
    unjudged: int = Field(description="not judged by any count yet", examples=[0])

    @classmethod
    def of(cls, one: ReplicateTotal) -> Self:
        """Of a replicate as it stands."""
        return cls(
            number=one.number,
            seeds_set=one.seeds_set,
            unjudged=one.unjudged,
            **one.judged.by_class(),
        )


class ReplicateCountAnswer(SeedCounts, AnswerModel):
    """Seeds of one replicate judged on one day; a corrected one is kept, not current."""

    on_date: date = Field(examples=["2026-02-15"])
    replicate: int = Field(examples=[1])
    revision: int = Field(examples=[1])
    current: bool = Field(description="the version that stands", examples=[True])
    why_corrected: str = Field(examples=[""])
    recorded_at: datetime = Field(examples=["2026-02-15T08:00:00Z"])


class AgreementAnswer(AnswerModel):
    """Whether the replicates agree, by which rule, and how far apart they are."""

    agree: bool = Field(examples=[True])
    rule: str = Field(examples=["exact distribution"])
    p_value: float = Field(
        description="chance of replicates at least this uneven, were they alike", examples=[0.51]
    )
    range_points: float = Field(description="highest less lowest, % points", examples=[8.0])
    tolerated_points: float | None = Field(examples=[32.0])
    intraclass_correlation: float = Field(description="0 where they agree", examples=[0.0])


class MinimumAnswer(AnswerModel):
    """The legal minimum for the kind against what was counted."""

    minimum_pct: float = Field(examples=[65.0])
    counted_pct: float = Field(
        description="germination, with hard seed where the rule counts it", examples=[76.0]
    )
    hard_counted: bool = Field(examples=[False])
    reached: bool = Field(description="the count reaches it", examples=[True])
    probability_at_least: float = Field(
        description="chance that the lot reaches it, 0..1", examples=[0.93]
    )
    source: Source = Field(examples=[{"text": "2002/55/EC Annex II", "confidence": "read"}])


class TimingAnswer(AnswerModel):
    """How fast the seedlings came, in days from the start."""

    mean_days: float = Field(examples=[8.4])
    sd_days: float | None = Field(examples=[1.9])
    half_days: float = Field(description="when half of them had come", examples=[8.1])
    half_between_days: tuple[float, float] = Field(
        description="the counts that lies between", examples=[[7.0, 9.0]]
    )
    middle_half_days: float = Field(description="time the middle half took", examples=[2.2])


class DormancyAnswer(FindingAnswer):
    """Something the test says about dormancy or death, and the remedy."""

    remedy: FindingAnswer
    source: Source = Field(examples=[_METHOD])


class EvaluationAnswer(AnswerModel):
    """What a finished test says. Percentages are of the seeds set, each with its interval."""

    seeds: int = Field(examples=[25])
    germination: PercentAnswer = Field(description="normal seedlings")
    viability: PercentAnswer = Field(description="normal, fresh and hard")
    abnormal: PercentAnswer
    hard: PercentAnswer
    fresh: PercentAnswer
    dead: PercentAnswer
    agreement: AgreementAnswer = Field(description="of the replicates")
    minimum: MinimumAnswer | None
    timing: TimingAnswer | None = Field(description="null where all were counted on one day")
    findings: list[DormancyAnswer] = Field(description="dormancy told from death")
    remarks: list[FindingAnswer]


class InterimAnswer(AnswerModel):
    """What an open test can still come to: from none of the rest making it to all of it."""

    unjudged: int = Field(description="seeds no count has judged", examples=[6])
    germination_low_pct: float = Field(description="lower end of the interval", examples=[48.0])
    germination_high_pct: float = Field(description="upper end of the interval", examples=[92.0])
    viability_low_pct: float = Field(examples=[48.0])
    viability_high_pct: float = Field(examples=[94.0])
    level_pct: float = Field(description="probability each range holds it", examples=[90.0])


class TestSummary(DueFields, AnswerModel):
    """A germination test in a list."""

    __test__ = False  # not a pytest class

    id: int = Field(examples=[1])
    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    variety: VarietyBrief
    started_on: date = Field(examples=["2026-02-01"])
    finished_on: date | None = Field(description="null while open", examples=["2026-02-15"])
    replicates: list[ReplicateAnswer]
    version: int = Field(examples=[1])


class TestAnswer(TestSummary):
    """A germination test, its counts, and what they say."""

    __test__ = False  # not a pytest class

    counts: list[ReplicateCountAnswer] = Field(description="corrected ones included")
    evaluation: EvaluationAnswer | None = Field(description="once finished")
    interim: InterimAnswer | None = Field(description="while open")
    cautions: list[CautionAnswer]
    sources: list[Source] = Field(description="of due days, minimum, methods and cautions")
