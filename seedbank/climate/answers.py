"""Answers about a climate, and about a kind's year in it."""

from datetime import date

from pydantic import Field

from seedbank.climate.tables import ClimateFields, Known
from seedbank.common.answers import AnswerModel, CautionAnswer, FindingAnswer, Source
from seedbank.science.season.sowing_windows import Method, Why
from seedbank.science.season.window_state import State


class ClimateAnswer(ClimateFields, AnswerModel):
    """A climate, of a site or the garden."""

    site_id: int | None = Field(description="null: the garden's", examples=[None])
    own: bool = Field(
        description="false: nothing was told here, and the garden's holds", examples=[True]
    )
    known: Known = Field(description="how much is known", examples=["months"])
    remarks: list[FindingAnswer]
    version: int = Field(examples=[1])


class SpanAnswer(AnswerModel):
    """Days of the year, both included; the first over the last spans New Year."""

    from_day: int = Field(examples=[102])
    to_day: int = Field(examples=[154])


class SowingTimeAnswer(FindingAnswer):
    """When to sow in one way, how that stands on the day asked about, and how long until up."""

    method: Method = Field(examples=["open"])
    windows: list[SpanAnswer]
    why_none: Why | None = Field(description="null: there are windows", examples=[None])
    quick_varieties_only: bool = Field(examples=[False])
    state: State = Field(examples=["open"])
    until: date | None = Field(description="last day, while open", examples=["2027-06-03"])
    opens_on: date | None = Field(description="next first day", examples=[None])
    standing: FindingAnswer
    up: FindingAnswer
    days_to_half: float | None = Field(
        description="days until half has come up; null: it would not", examples=[16.0]
    )
    days_to_most: float | None = Field(
        description="days until nine in ten of them have", examples=[22.4]
    )
    chance: float | None = Field(
        description="chance of one good seed to come up in soil so warm; null: not known",
        examples=[0.85],
    )


class HowToAnswer(AnswerModel):
    """Something published on ripe seed, cleaning, drying or keeping."""

    text: str = Field(examples=["pods black and dry; shell; 3 weeks"])
    source: Source


class KindSeasonAnswer(AnswerModel):
    """A kind's year in a garden: sowing, flowering, ripe seed, and what to do with it."""

    kind: str = Field(description="slug", examples=["carrot"])
    site_id: int | None = Field(examples=[None])
    known: Known = Field(examples=["months"])
    on: date = Field(description="day of sowing asked about", examples=["2027-04-20"])
    sow: list[SowingTimeAnswer] = Field(description="empty: no climate is known")
    sow_in_weeks: FindingAnswer | None = Field(
        description="weeks from the last frost, as the packaged calendar has it; null: not told"
    )
    flowers: SpanAnswer | None = Field(description="null: not known, or not in this climate")
    ripe: SpanAnswer | None = Field(description="null: not known, or not in this climate")
    findings: list[FindingAnswer] = Field(description="all of it in words")
    harvest: list[HowToAnswer] = Field(description="signs of ripe seed, cleaning and drying")
    drying: list[HowToAnswer] = Field(description="how dry, in what air, and how kept")
    cautions: list[CautionAnswer]
    sources: list[Source]
