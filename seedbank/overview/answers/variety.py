"""Answers about one variety with everything that hangs on it."""

from pydantic import Field

from seedbank.common.answers import AnswerModel
from seedbank.kinds.answers.varieties import VarietyAnswer
from seedbank.plan.answers.saving_plan import KeptCropAnswer
from seedbank.saving.answers.crossing_groups import AlongsideAnswer
from seedbank.saving.answers.flowerings import PlanPinAnswer
from seedbank.saving.answers.lines import DriftAnswer
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.season.answers.season import CropOfSeason
from seedbank.verdicts.answers.verdicts import VerdictAnswer


class VarietyAtHandAnswer(AnswerModel):
    """A variety, its lots, its line, what is planned of it and what crosses with it."""

    variety: VarietyAnswer
    purpose: Purpose = Field(description="of its seed crops, by its rarity", examples=["keep"])
    held: int = Field(description="seeds counted over all its lots", examples=[420])
    lots_not_counted: int = Field(
        description="lots that hold some besides, not counted", examples=[0]
    )
    running_out: str = Field(description="empty: it isn't", examples=[""])
    lots: list[VerdictAnswer] = Field(description="the best hope first; empty ones last")
    drift: DriftAnswer | None = Field(description="of the best lot; null: no lot")
    planned: list[KeptCropAnswer]
    pins: list[PlanPinAnswer]
    crops: list[CropOfSeason] = Field(description="the latest first")
    alongside: AlongsideAnswer
