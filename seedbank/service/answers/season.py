"""Answers about the season as a whole."""

from pydantic import Field

from seedbank.science.verdict import Verdict
from seedbank.service.answers.base import AnswerModel
from seedbank.service.answers.saving_plan import StopFloweringAnswer
from seedbank.service.answers.seed_crops import SeedCropAnswer
from seedbank.service.answers.to_do import PlanStandingAnswer, StepAnswer
from seedbank.service.answers.verdicts import SeedToSaveAnswer


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
