"""Answers about what needs doing now."""

from datetime import date, datetime
from enum import StrEnum

from pydantic import Field

from seedbank.common.answers import AnswerModel
from seedbank.lots.answers.lots import VarietyBrief


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


class CountIs(StrEnum):
    """Which count of a germination test is due."""

    FIRST = "first"
    FINAL = "final"
    ANY = "any"
    FINISH = "finish"


class CountDueAnswer(AnswerModel):
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
    text: str = Field(examples=["Its first count was due 7 days ago."])


class StepAnswer(AnswerModel):
    """What comes next of a seed crop."""

    text: str = Field(examples=["It flowers this year: rogue it before the first flower opens."])
    due: date | None = Field(description="null: no set day", examples=["2027-04-06"])
    pressing: bool = Field(description="late, or something only this year allows", examples=[True])


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


class PlanStandingAnswer(AnswerModel):
    """The plan kept last, and what was recorded after it was made."""

    id: int = Field(examples=[1])
    made_at: datetime = Field(examples=["2027-02-20T12:00:00Z"])
    first_year: int = Field(examples=[2027])
    stock_changed: bool = Field(
        description="something the plan rests on was recorded after it was made", examples=[False]
    )


class ToDoAnswer(AnswerModel):
    """What needs doing now: groups with something in them, the most pressing first."""

    on: date = Field(examples=["2027-02-20"])
    groups: list[ToDoGroup]
    plan: PlanStandingAnswer | None = Field(description="null: none was made yet")
