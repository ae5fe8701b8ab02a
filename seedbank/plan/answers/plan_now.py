"""Answers about the plan as it stands: what was kept, what of it is begun, what is pinned."""

from datetime import datetime

from pydantic import Field

from seedbank.common.answers import AnswerModel
from seedbank.plan.answers.saving_plan import (
    CropNowAnswer,
    KeptCropAnswer,
    KeptPlanAnswer,
    SavingPlanAnswer,
)
from seedbank.saving.answers.flowerings import PlanPinAnswer


class PlanStandingAnswer(AnswerModel):
    """The plan kept last, and what was recorded after it was made."""

    id: int = Field(examples=[1])
    made_at: datetime = Field(examples=["2027-02-20T12:00:00Z"])
    first_year: int = Field(examples=[2027])
    stock_changed: bool = Field(
        description="something the plan rests on was recorded after it was made", examples=[False]
    )


class PlannedNow(AnswerModel):
    """A crop the kept plan sows this year."""

    crop: KeptCropAnswer
    seed_crop: int | None = Field(description="its number, once begun", examples=[58])
    pin: PlanPinAnswer | None = Field(description="the gardener's word on it")
    told: CropNowAnswer | None = Field(description="why, where that is still known")


class PlanNowAnswer(AnswerModel):
    """The plan kept last. ``told`` is what it said when it was made, null once forgotten."""

    plan: KeptPlanAnswer
    standing: PlanStandingAnswer
    this_year: list[PlannedNow]
    told: SavingPlanAnswer | None
