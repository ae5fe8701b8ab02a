"""Answers about germination tests: what was counted, and what it says."""

from datetime import date, datetime

from pydantic import Field

from seedbank.common.answers import AnswerModel, PercentAnswer, Source
from seedbank.germination.tables.germination_tests import Pretreatment, Substratum
from seedbank.lots.answers.lots import CautionAnswer, VarietyBrief

_METHOD = {"text": "7 CFR 201.58 table 2 (2015 annual edition)", "confidence": "read"}


class ReplicateAnswer(AnswerModel):
    """One replicate and what its standing counts judged together, in seeds."""

    number: int = Field(examples=[1])
    seeds_set: int = Field(examples=[25])
    normal: int = Field(examples=[19])
    abnormal: int = Field(examples=[1])
    hard: int = Field(examples=[0])
    fresh: int = Field(examples=[2])
    dead: int = Field(examples=[3])
    unjudged: int = Field(description="not judged by any count yet", examples=[0])


class ReplicateCountAnswer(AnswerModel):
    """Seeds of one replicate judged on one day; a corrected one is kept, not current."""

    on_date: date = Field(examples=["2026-02-15"])
    replicate: int = Field(examples=[1])
    normal: int = Field(examples=[19])
    abnormal: int = Field(examples=[1])
    hard: int = Field(examples=[0])
    fresh: int = Field(examples=[2])
    dead: int = Field(examples=[3])
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


class FindingAnswer(AnswerModel):
    """Something the test says about dormancy or death, and the remedy."""

    code: str = Field(examples=["fresh-seed"])
    text: str = Field(examples=["2 of 25 seeds took up water, are sound and did not sprout."])
    remedy: str = Field(examples=["Give light at least 8 hours a day, seed on the surface."])
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
    findings: list[FindingAnswer] = Field(description="dormancy told from death")
    remarks: list[str] = Field(examples=[["25 seeds leave germination uncertain by 28 points."]])


class InterimAnswer(AnswerModel):
    """What an open test can still come to: from none of the rest making it to all of it."""

    unjudged: int = Field(description="seeds no count has judged", examples=[6])
    germination_low_pct: float = Field(description="lower end of the interval", examples=[48.0])
    germination_high_pct: float = Field(description="upper end of the interval", examples=[92.0])
    viability_low_pct: float = Field(examples=[48.0])
    viability_high_pct: float = Field(examples=[94.0])
    level_pct: float = Field(description="probability each range holds it", examples=[90.0])


class TestSummary(AnswerModel):
    """A germination test in a list."""

    __test__ = False  # not a pytest class

    id: int = Field(examples=[1])
    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    variety: VarietyBrief
    substratum: Substratum = Field(examples=["paper-towel"])
    pretreatment: Pretreatment = Field(examples=["none"])
    temp_c: float | None = Field(description="°C", examples=[21.0])
    in_light: bool | None = Field(examples=[False])
    started_on: date = Field(examples=["2026-02-01"])
    first_count_due: date | None = Field(examples=["2026-02-07"])
    final_count_due: date | None = Field(examples=["2026-02-15"])
    finished_on: date | None = Field(description="null while open", examples=["2026-02-15"])
    replicates: list[ReplicateAnswer]
    notes: str = Field(examples=["airing cupboard"])
    version: int = Field(examples=[1])


class TestAnswer(TestSummary):
    """A germination test, its counts, and what they say."""

    __test__ = False  # not a pytest class

    counts: list[ReplicateCountAnswer] = Field(description="corrected ones included")
    evaluation: EvaluationAnswer | None = Field(description="once finished")
    interim: InterimAnswer | None = Field(description="while open")
    cautions: list[CautionAnswer]
    sources: list[Source] = Field(description="of due days, minimum, methods and cautions")
