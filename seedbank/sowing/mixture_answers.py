"""Answers about sowing a mixture."""

from datetime import date

from pydantic import Field

from seedbank.common.answers import (
    AnswerModel,
    CautionAnswer,
    FindingAnswer,
    PercentAnswer,
    VarietyBrief,
)
from seedbank.emergence.tables import Protection, SowingMethod
from seedbank.sowing.answers import CountAnswer, PlanBAnswer


class MixtureSownPart(AnswerModel):
    """One part of a mixture as it is sown."""

    lot: str | None = Field(description="code of the lot it is seed of", examples=["4K7PM"])
    name: str = Field(description="what it is, where no lot says it", examples=[""])
    share: float | None = Field(description="of the seeds, 0..1; null: not known", examples=[0.4])
    seeds: int | None = Field(
        description="of the seeds advised; null: not known, taken to give no plant", examples=[36]
    )
    viability: PercentAnswer | None = Field(description="on the day of sowing; null: not known")


class MixtureSowingAnswer(AnswerModel):
    """How much of a mixture to sow for the plants wanted, of all its parts together."""

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    sow_on: date = Field(examples=["2027-04-10"])
    method: SowingMethod = Field(examples=["row"])
    protection: Protection = Field(examples=["open"])
    plants_wanted: int = Field(examples=[40])
    out_of_season: FindingAnswer | None = Field(
        description="too early or too late there on that day, and what else; null: in time, or "
        "the garden's monthly temperatures aren't known",
        examples=[None],
    )
    confidence_pct: float | None = Field(description="null: not asked for", examples=[90.0])
    seeds: int = Field(description="to sow, of the mixture", examples=[90])
    enough: bool = Field(
        description="a good crop in the end is likely; asked for a confidence: they give the "
        "plants wanted so surely",
        examples=[True],
    )
    good_first_pct: float | None = Field(
        description="chance of a good crop from this sowing; null: a confidence was asked for",
        examples=[71.0],
    )
    good_end_pct: float | None = Field(
        description="the same with the gaps sown again", examples=[88.0]
    )
    chance_of_enough: float = Field(description="0..1, of every plant wanted", examples=[0.91])
    how_sure: FindingAnswer = Field(description="the chance of a good crop, or of enough")
    plan_b: PlanBAnswer | None = Field(
        description="null: nothing to gain, no seed or too late; or a confidence was asked for"
    )
    plants: CountAnswer
    row_m: float | None = Field(description="row they take, m; null: not in a row", examples=[2.0])
    parts: list[MixtureSownPart]
    soil: FindingAnswer
    reasons: list[FindingAnswer]
    cautions: list[CautionAnswer]
