"""Answers about what flowers and when, and about pinned choices."""

from datetime import date

from pydantic import Field

from seedbank.common.answers import AnswerModel, Source, VarietyBrief
from seedbank.lots.tables.lots import Isolation
from seedbank.saving.answers.sites import SiteBrief
from seedbank.science.crossing.crossing_stands import StandIs

_WINDOW_SOURCE = {"text": "my notebook, four summers", "confidence": "own"}


class WindowAnswer(AnswerModel):
    """When a kind flowers, in days of the year; from_day over to_day spans New Year."""

    kind: str = Field(description="slug of the kind", examples=["chard"])
    site: SiteBrief | None = Field(description="null: everywhere", examples=[None])
    from_day: int = Field(examples=[160])
    to_day: int = Field(examples=[205])
    text: str = Field(examples=["9 Jun to 24 Jul"])
    stated_by_you: bool = Field(examples=[True])
    note: str = Field(description="what to know before using it", examples=[""])
    source: Source = Field(examples=[_WINDOW_SOURCE])
    version: int = Field(description="of the kind", examples=[1])


class FloweringAnswer(AnswerModel):
    """Plants that flower in a year, wanted or not."""

    id: int = Field(examples=[1])
    year: int = Field(examples=[2027])
    site: SiteBrief
    kind: str = Field(description="slug of the kind", examples=["chard"])
    variety: VarietyBrief | None
    what: StandIs = Field(examples=["left-to-run"])
    distance_m: float | None = Field(description="from the site; null: not known", examples=[0.0])
    from_date: date | None = Field(examples=["2027-06-10"])
    to_date: date | None = Field(examples=["2027-07-20"])
    stopped_on: date | None = Field(examples=[None])
    notes: str = Field(examples=["two plants"])
    version: int = Field(examples=[1])


class PlanPinAnswer(AnswerModel):
    """A seed crop the plan must have, or must not."""

    id: int = Field(examples=[1])
    variety: VarietyBrief
    year: int = Field(examples=[2027])
    site: SiteBrief | None = Field(description="null: any site")
    wanted: bool = Field(examples=[True])
    isolation: Isolation | None = Field(description="null: any way", examples=["cage"])
    notes: str = Field(examples=["promised to a friend"])
    version: int = Field(examples=[1])
