"""Answers about seed crops."""

from datetime import date
from enum import StrEnum

from pydantic import Field

from seedbank.common.answers import AnswerModel, VarietyBrief
from seedbank.lots.answers.lots import LotAnswer
from seedbank.lots.tables.lots import Isolation
from seedbank.saving.answers.sites import GearBrief, SiteBrief
from seedbank.science.crossing.crossing_risk import Purpose


class StepAnswer(AnswerModel):
    """What comes next of a seed crop."""

    text: str = Field(examples=["It flowers this year: rogue it before the first flower opens."])
    due: date | None = Field(description="null: no set day", examples=["2027-04-06"])
    pressing: bool = Field(description="late, or something only this year allows", examples=[True])


class Stage(StrEnum):
    """How far a seed crop has come."""

    PLANNED = "planned"
    SOWN = "sown"
    HARVESTED = "harvested"
    FAILED = "failed"


class SeedCropAnswer(AnswerModel):
    """A variety grown for seed, from seed parents to the new lot."""

    id: int = Field(examples=[1])
    variety: VarietyBrief
    lot: str | None = Field(description="code of the lot sown", examples=["4K7PM"])
    site: SiteBrief
    stage: Stage = Field(examples=["sown"])
    sow_on: date | None = Field(examples=["2026-06-20"])
    flower_year: int = Field(examples=[2027])
    purpose: Purpose = Field(examples=["keep"])
    isolation: Isolation = Field(examples=["cage"])
    gear: GearBrief | None
    parents_started: int | None = Field(examples=[40])
    parents_rogued: int | None = Field(examples=[3])
    parents_kept: int | None = Field(examples=[32])
    flower_from: date | None = Field(examples=["2027-06-12"])
    flower_to: date | None = Field(examples=["2027-07-18"])
    planned_on: date = Field(examples=["2026-02-10"])
    sown_on: date | None = Field(examples=["2026-06-20"])
    sowing_id: int | None = Field(description="the sowing that took its seed", examples=[1])
    harvested_on: date | None = Field(examples=[None])
    failed_on: date | None = Field(examples=[None])
    why_failed: str = Field(examples=[""])
    cleaning: str = Field(examples=[""])
    drying: str = Field(examples=[""])
    result_lot: str | None = Field(description="code of the lot harvested", examples=[None])
    notes: str = Field(examples=["north end"])
    warnings: list[str] = Field(examples=[[]])
    version: int = Field(examples=[1])


class HarvestAnswer(AnswerModel):
    """A seed crop harvested, and the lot that came of it."""

    seed_crop: SeedCropAnswer
    lot: LotAnswer
