"""Answers about the season as a whole."""

from pydantic import Field

from seedbank.common.answers import AnswerModel
from seedbank.plan.answers.plan_now import PlanStandingAnswer
from seedbank.plan.answers.saving_plan import StopFloweringAnswer
from seedbank.saving.answers.seed_crops import SeedCropAnswer, StepAnswer
from seedbank.science.verdicts.verdict import Verdict
from seedbank.verdicts.answers.verdicts import SeedToSaveAnswer


class CropOfSeason(AnswerModel):
    """A seed crop and what comes next of it; null: it is over."""

    crop: SeedCropAnswer
    next: StepAnswer | None


class SeasonAnswer(AnswerModel):
    """The season at a glance."""

    year: int = Field(examples=[2027])
    verdicts: dict[Verdict, int] = Field(description="lots by verdict")
    save: SeedToSaveAnswer
    crops: list[CropOfSeason]
    must_not_flower: list[StopFloweringAnswer]
    plan: PlanStandingAnswer | None = Field(description="null: none was made yet")
