"""Answers about how alive a lot is, was and will be."""

from datetime import date
from typing import Annotated

from pydantic import Field

from seedbank.common.answers import (
    AnswerModel,
    CautionAnswer,
    FindingAnswer,
    PercentAnswer,
    SeedViabilityPoint,
    Source,
    VarietyBrief,
    ViabilityPoint,
)
from seedbank.lots.tables.lots import Purity
from seedbank.viability.tables.forecasts import ForecastFields

_SOURCE = {"text": "Ellis & Roberts 1980, Annals of Botany 45:13-30", "confidence": "memory"}


RecalledShare = Annotated[
    float,
    Field(
        description="of the evidence on how long its kind keeps, the share (0..1, by weight) that "
        "was recalled, not read in its source",
        examples=[0.14],
    ),
]


class ThresholdAnswer(FindingAnswer):
    """A viability asked about: how likely it is reached, and when the lot falls through it.

    A date left out lies beyond a thousand years at the lot's present store; one in the past says
    that it has probably happened.
    """

    name: str = Field(examples=["legal minimum"])
    threshold_pct: float = Field(examples=[65.0])
    probability_at_least: float = Field(examples=[0.83])
    crossed_by_5_in_100: date | None = Field(
        description="day by which it has fallen through with probability 5 %",
        examples=["2026-08-01"],
    )
    crossed_by_median: date | None = Field(examples=["2029-05-11"])
    crossed_by_95_in_100: date | None = Field(examples=["2036-01-30"])


class TestSeen(AnswerModel):
    """A finished test as evidence: viable (normal, hard, fresh) of seeds judged."""

    __test__ = False

    started_on: date = Field(examples=["2025-02-02"])
    viable_seeds: int = Field(examples=[41])
    judged_seeds: int = Field(examples=[50])
    viability: PercentAnswer
    worth_seeds: float = Field(
        description="seeds an ideal test of the same worth would have used", examples=[33.6]
    )
    went_wrong: bool = Field(
        description="by what the gardener says: it counts as the least that was alive",
        examples=[False],
    )


class ContradictionAnswer(FindingAnswer):
    """Two tests of a lot that can't well both hold, and how alive it is in either case.

    All else goes by both holding, the lower reading.
    """

    chance: float = Field(
        description="two-sided, of the later count by what the earlier says", examples=[0.0012]
    )
    failed_started_on: date = Field(
        description="day of the test that may have failed", examples=["2027-02-03"]
    )
    failed_chance: float = Field(
        description="chance that it did, 0..1, by all else that is known", examples=[0.84]
    )
    if_both_hold: SeedViabilityPoint
    if_one_failed: SeedViabilityPoint
    more_seeds: int = Field(description="to test again, to tell which", examples=[10])


class RetestAnswer(FindingAnswer):
    """When to test next, by the genebank rule: a third of the time to 85 % of initial.

    The day is counted from the last test, or the harvest of a lot never tested, and may have gone
    by.
    """

    due_on: date | None = Field(
        description="null where no test is called for", examples=["2028-06-01"]
    )
    source: Source = Field(
        examples=[{"text": "FAO Genebank Standards 2014, 4.3.3", "confidence": "memory"}]
    )


class MixturePartAlive(AnswerModel):
    """One part of a mixture, and how alive the lot it is seed of is held to be."""

    lot: str | None = Field(description="code of that lot", examples=["4K7PM"])
    name: str = Field(description="what it is, where no lot says it", examples=[""])
    share: float | None = Field(description="of the seeds, 0..1; null: not known", examples=[0.4])
    viability: ViabilityPoint | None = Field(description="null: not known")


class MixtureAlive(AnswerModel):
    """How alive the parts of a mixture are, and all of it at least and at most."""

    parts: list[MixturePartAlive]
    low_90_pct: float = Field(
        description="alive of all its seeds if every part is at its low end, and what isn't known "
        "dead",
        examples=[31.5],
    )
    high_90_pct: float = Field(
        description="if every part is at its high end, and what isn't known alive", examples=[84.0]
    )
    known_share: float = Field(
        description="of the seeds, 0..1, that stand for lots whose life is reckoned", examples=[1.0]
    )


class ViabilityAnswer(AnswerModel):
    """How alive a lot is on a day, with its band over the years and what it rests on."""

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    purity: Purity = Field(description="whether it can have crossed", examples=["isolated"])
    purity_note: str = Field(examples=["Isolated by a cage."])
    now: ViabilityPoint
    at_harvest: ViabilityPoint
    mixture: MixtureAlive | None = Field(description="null: it is none")
    curve: list[SeedViabilityPoint] = Field(
        description="every half year, past and to come; empty for planting stock"
    )
    thresholds: list[ThresholdAnswer]
    tests: list[TestSeen]
    contradiction: ContradictionAnswer | None = Field(description="null: its tests agree")
    retest: RetestAnswer
    age_years: float = Field(description="as believed", examples=[5.4])
    dose: float = Field(
        description="probits a typical lot of the kind would have lost in this lot's storage",
        examples=[0.84],
    )
    recalled_share: RecalledShare
    reasons: list[FindingAnswer]
    warnings: list[FindingAnswer]
    to_narrow: list[FindingAnswer] = Field(description="what to record to know better")
    cautions: list[CautionAnswer]
    sources: list[Source] = Field(examples=[[_SOURCE]])


_HELD = {"pct": 90.0, "low_pct": 79.0, "high_pct": 96.0, "level_pct": 90.0}


class ForetoldTestAnswer(ForecastFields, AnswerModel):
    """One finished test: what was believed of its lot beforehand, and what came of it."""

    test: int = Field(description="its number", examples=[12])
    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    kind: str = Field(examples=["carrot"])
    started_on: date = Field(examples=["2026-02-05"])
    finished_on: date = Field(examples=["2026-02-19"])
    viable: int = Field(description="by the counts that stand", examples=[41])
    afterwards: bool = Field(
        description="worked out now from the tests of earlier years; false: kept on the day",
        examples=[False],
    )


class ForecastsOfASortAnswer(FindingAnswer):
    """Forecasts of one sort together: ``tests-kept``, ``tests-afterwards`` or ``sowings``."""

    forecasts: int = Field(examples=[42])
    inside_50: PercentAnswer | None = Field(
        description="inside their 50 % interval; null before any", examples=[_HELD]
    )
    inside_90: PercentAnswer | None = Field(
        description="inside their 90 % interval; null before any", examples=[_HELD]
    )
    log_score: float | None = Field(
        description="mean log of the chance given to what came; null where none is kept",
        examples=[-2.78],
    )
    alone_log_score: float | None = Field(
        description="the same without what other lots' tests taught", examples=[-2.95]
    )


class ForetoldTestsAnswer(AnswerModel):
    """How well viability was foretold: every test against what was believed before it."""

    tests: int = Field(examples=[131])
    inside_90: PercentAnswer | None = Field(
        description="tests inside their 90 % interval; null before any", examples=[_HELD]
    )
    log_score: float | None = Field(description="mean over the tests", examples=[-2.78])
    alone_log_score: float | None = Field(
        description="the same without what other lots' tests taught", examples=[-2.95]
    )
    last: FindingAnswer | None = Field(
        description="the last twenty tests in a sentence; null before any"
    )
    items: list[ForetoldTestAnswer]
    reasons: list[FindingAnswer]
