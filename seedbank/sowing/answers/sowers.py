"""Answers about what is to be sown, before anything is asked of it."""

from pydantic import Field

from seedbank.common.answers import AnswerModel, VarietyBrief
from seedbank.sowing.tables.sowings import Protection, SowingMethod


class UsualSowingAnswer(AnswerModel):
    """How seed of a variety is usually sown, and how much of it is wanted."""

    variety: VarietyBrief
    lot: str = Field(description="code; empty for a variety as a whole", examples=["4K7PM"])
    plants_wanted: int = Field(description="each year; 0: not said", examples=[40])
    method: SowingMethod = Field(examples=["row"])
    protection: Protection = Field(examples=["open"])
    spacing_cm: float | None = Field(description="in the row, as published", examples=[5.0])
    has_reserve: bool = Field(description="kept back, as of a rare variety", examples=[False])
