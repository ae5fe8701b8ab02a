"""Answers about how forecasts of sowings did."""

from datetime import date

from pydantic import Field

from seedbank.common.answers import AnswerModel, FindingAnswer, PercentAnswer, Source
from seedbank.viability.answers import ForecastsOfASortAnswer, ForetoldTestsAnswer

_HELD = {"pct": 88.0, "low_pct": 79.0, "high_pct": 94.0, "level_pct": 90.0}


class ForetoldAnswer(AnswerModel):
    """One sowing: what was to be expected from the years before it, and what came."""

    sowing: int = Field(description="its number", examples=[1])
    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    kind: str = Field(examples=["carrot"])
    sown_on: date = Field(examples=["2026-04-02"])
    seeds: int = Field(description="sown, less those lost to known causes", examples=[111])
    expected: float = Field(description="seeds foretold to come up", examples=[66.0])
    low: float = Field(description="90 % interval", examples=[38.0])
    high: float = Field(examples=[88.0])
    low_50: float = Field(description="50 % interval", examples=[54.0])
    high_50: float = Field(examples=[79.0])
    emerged: int = Field(examples=[71])
    plants_wanted: int | None = Field(description="null: not said", examples=[40])
    seeds_advised: int | None = Field(
        description="for the plants wanted, at the rate of least cost; null without any",
        examples=[82],
    )


class CalibrationBinAnswer(AnswerModel):
    """Sowings foretold to come up alike: did they, on the mean? Every sowing counts alike."""

    from_pct: float = Field(description="foretold to come up, % of seeds, from", examples=[40.0])
    to_pct: float = Field(examples=[60.0])
    sowings: int = Field(examples=[17])
    foretold_pct: float = Field(description="mean foretold", examples=[51.2])
    emerged_pct: float = Field(description="mean that came up", examples=[48.9])
    emerged_low_pct: float | None = Field(
        description="90 % interval of what such forecasts bring; null for one sowing",
        examples=[42.0],
    )
    emerged_high_pct: float | None = Field(examples=[55.8])


class SavedAnswer(AnswerModel):
    """Seed sown against seed advised, over sowings with plants wanted."""

    sowings: int = Field(examples=[60])
    plants_wanted: int = Field(examples=[2400])
    seeds_sown: int = Field(examples=[7300])
    seeds_advised: int = Field(
        description="for the plants wanted, at the rate of least cost", examples=[5100]
    )
    oversown: int = Field(description="sowings thicker than advised", examples=[41])
    seeds_saved: int = Field(description="over those sowings", examples=[2600])
    undersown: int = Field(description="sowings thinner than advised", examples=[17])
    seeds_short: int = Field(description="over those sowings", examples=[400])
    good_as_sown: PercentAnswer = Field(
        description="sowings that gave a good crop, 80 % of a full one", examples=[_HELD]
    )
    good_as_advised: PercentAnswer = Field(
        description="sowings that would have, at the share that really came up", examples=[_HELD]
    )
    promised_pct: float = Field(
        description="mean chance of a good crop from the amounts advised, gaps not sown again",
        examples=[74.2],
    )


class ForecastRecordAnswer(AnswerModel):
    """How well emergence and viability were foretold.

    Each sowing is foretold from earlier years' sowings, each test from what was believed before it.
    """

    forecasts: int = Field(description="of sowings and of tests", examples=[262])
    all_inside_90: PercentAnswer | None = Field(
        description="of all forecasts inside their 90 % interval; null before any", examples=[_HELD]
    )
    by_sort: list[ForecastsOfASortAnswer] = Field(
        description="tests foretold on the day, tests foretold afterwards, sowings: where any are"
    )
    viability: ForetoldTestsAnswer
    sowings: int = Field(examples=[60])
    inside_50: PercentAnswer | None = Field(
        description="sowings inside their 50 % interval; null before any", examples=[_HELD]
    )
    inside_90: PercentAnswer | None = Field(
        description="sowings inside their 90 % interval; null before any", examples=[_HELD]
    )
    mean_error_points: float | None = Field(
        description="came up less foretold, % of seeds; below 0: too hopeful", examples=[-1.5]
    )
    mean_error_low_points: float | None = Field(description="90 % interval", examples=[-4.0])
    mean_error_high_points: float | None = Field(examples=[1.0])
    saved: SavedAnswer | None = Field(description="null before any sowing with plants wanted")
    bins: list[CalibrationBinAnswer] = Field(
        description="foretold against actual, by what was foretold; bins without sowings left out"
    )
    items: list[ForetoldAnswer]
    reasons: list[FindingAnswer]
    sources: list[Source]
