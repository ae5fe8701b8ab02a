"""Answers about days to come: what is to be done when, and why."""

from datetime import date, datetime
from enum import StrEnum

from pydantic import Field

from seedbank.common.answers import AnswerModel, VarietyBrief


class Coming(StrEnum):
    """What falls on a day."""

    FIRST_COUNT = "first-count"
    FINAL_COUNT = "final-count"
    RETEST = "retest"
    SOW = "sow"
    ISOLATE = "isolate"
    STOP_FLOWERING = "stop-flowering"
    HARVEST = "harvest"


class ComingDate(AnswerModel):
    """One thing to do on a day.

    ``name`` is stable: the same thing keeps it when its day moves. ``changed_at`` is when the
    record behind it was made, ``revision`` how often it was edited since.
    """

    name: str = Field(examples=["final-count-130"])
    on: date = Field(examples=["2027-03-01"])
    coming: Coming = Field(examples=["final-count"])
    title: str = Field(examples=["Final count: Purple Lantern (carrot), 4K7PM"])
    reason: str = Field(examples=["Test 130 was set on 15 Feb 2027; 50 seeds aren't judged yet."])
    variety: VarietyBrief | None = Field(description="null: of several")
    lot: str | None = Field(description="code of the lot", examples=["4K7PM"])
    test: int | None = Field(default=None, description="its number", examples=[130])
    seed_crop: int | None = Field(default=None, description="its number", examples=[1])
    changed_at: datetime = Field(examples=["2027-02-15T12:00:00Z"])
    revision: int = Field(examples=[0])


class ComingDatesAnswer(AnswerModel):
    """What is to be done, by day; what is late stands with the day it was due."""

    on: date = Field(examples=["2027-02-20"])
    items: list[ComingDate]
    remarks: list[str] = Field(examples=[["Days of harvest are when flowering usually ends."]])
