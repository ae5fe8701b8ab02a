"""Answers about sites, isolation gear and what a season's work allows."""

from pydantic import Field

from seedbank.common.answers import AnswerModel
from seedbank.saving.tables.isolation_gear import GearKind


class SiteBrief(AnswerModel):
    """A site, in short."""

    id: int = Field(examples=[1])
    name: str = Field(examples=["Long garden"])


class SiteDistanceAnswer(AnswerModel):
    """How far another site is."""

    site: SiteBrief
    metres: float = Field(examples=[640.0])


class SiteAnswer(SiteBrief):
    """A site, with the distances known from it."""

    seed_bed_m2: float | None = Field(description="bed for seed crops, m²", examples=[12.0])
    notes: str = Field(examples=["hedged all round"])
    distances: list[SiteDistanceAnswer]
    version: int = Field(examples=[1])


class DistancesAnswer(AnswerModel):
    """The sites whose distance from one site is known, by name."""

    items: list[SiteDistanceAnswer]


class GearBrief(AnswerModel):
    """Isolation gear, in short."""

    id: int = Field(examples=[1])
    name: str = Field(examples=["Gauze cages"])
    gear: GearKind = Field(examples=["cage"])


class GearAnswer(GearBrief):
    """Isolation gear: how much there is."""

    pieces: int = Field(description="how many, all alike", examples=[3])
    covers_m2: float | None = Field(description="m² under one of them", examples=[1.8])
    notes: str = Field(examples=["one is torn"])
    version: int = Field(examples=[1])


class LimitsAnswer(AnswerModel):
    """What a season's work allows."""

    seed_crops_a_year: int | None = Field(description="null: no limit", examples=[8])
    version: int = Field(examples=[1])
