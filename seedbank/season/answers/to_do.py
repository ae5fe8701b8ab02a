"""Answers about what needs doing now."""

from datetime import date
from enum import StrEnum

from pydantic import Field

from seedbank.common.answers import AnswerModel
from seedbank.plan.answers.plan_now import PlanStandingAnswer


class Do(StrEnum):
    """What is to be done, the most pressing first; the words are our choice."""

    COUNT = "count"
    RESCUE = "rescue"
    SAVE = "save"
    TEST = "test"
    SEED_CROP = "seed-crop"
    STOP_FLOWERING = "stop-flowering"
    RUNNING_OUT = "running-out"
    REPLACE = "replace"
    CHECK_ENTRY = "check-entry"


class ToDoItem(AnswerModel):
    """One thing to do, why, and what it is about: the first of test, crop, lot, variety named."""

    name: str = Field(examples=["Purple Lantern"])
    kind: str = Field(description="slug; empty: none", examples=["carrot"])
    why: str = Field(examples=["Its first count was due 7 days ago."])
    due: date | None = Field(default=None, examples=["2027-02-13"])
    late: bool = Field(default=False, examples=[True])
    test: int | None = Field(default=None, examples=[130])
    seed_crop: int | None = Field(default=None, examples=[58])
    lot: str | None = Field(default=None, examples=["4K7PM"])
    variety_id: int | None = Field(default=None, examples=[1])


class ToDoGroup(AnswerModel):
    """Things to do of one sort, the most pressing first; ``total`` counts those not listed too."""

    do: Do = Field(examples=["count"])
    total: int = Field(examples=[4])
    items: list[ToDoItem]


class ToDoAnswer(AnswerModel):
    """What needs doing now: groups with something in them, the most pressing first."""

    on: date = Field(examples=["2027-02-20"])
    groups: list[ToDoGroup]
    plan: PlanStandingAnswer | None = Field(description="null: none was made yet")
