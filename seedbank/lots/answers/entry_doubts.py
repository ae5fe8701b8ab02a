"""Answers about what an earlier program may have made up when lots came in."""

from datetime import date

from pydantic import Field

from seedbank.common.answers import AnswerModel, VarietyBrief


class EntryDoubtAnswer(AnswerModel):
    """A lot to ask about, once."""

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    amount: bool = Field(
        description="nothing was ever booked: it may be empty, or hold some that was not counted",
        examples=[True],
    )
    acquired_on: date | None = Field(
        description="the day it was entered, taken for the day it came; null: not in doubt",
        examples=["2026-11-29"],
    )
    notes: str = Field(description="of the lot, with its row of the list", examples=["Year: 2019"])


class EntryDoubtsSettled(AnswerModel):
    """What was settled, and how many lots are still asked about."""

    settled: int = Field(description="lots", examples=[12])
    left: int = Field(examples=[0])
