"""Answers about varieties."""

from pydantic import Field

from seedbank.common.answers import AnswerModel
from seedbank.kinds.tables.varieties import Breeding, OtherKeepers


class VarietyAnswer(AnswerModel):
    """A variety as kept."""

    id: int = Field(examples=[1])
    kind: str = Field(description="slug of its kind", examples=["carrot"])
    name: str = Field(examples=["Purple Lantern"])
    breeding: Breeding = Field(examples=["open-pollinated"])
    other_keepers: OtherKeepers = Field(examples=["few"])
    plants_wanted: int = Field(description="plants a year", examples=[60])
    reserve_seeds: int = Field(description="seeds", examples=[200])
    notes: str = Field(examples=["late, sweet"])
    version: int = Field(examples=[1])
