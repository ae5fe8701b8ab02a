"""Answers about sowings: what was sown, what came up, what was lost."""

from datetime import date, datetime

from pydantic import Field

from seedbank.common.answers import AnswerModel, CautionAnswer, PercentAnswer, Source, VarietyBrief
from seedbank.sowing.tables.sowings import LossCause, Protection, SowingMethod


class EmergenceAnswer(AnswerModel):
    """Seeds come up by a day, a running total."""

    on_date: date = Field(examples=["2026-04-16"])
    units_emerged: int = Field(examples=[71])
    correction: bool = Field(description="totals before it were too high", examples=[False])
    recorded_at: datetime = Field(examples=["2026-04-16T18:00:00Z"])


class LossAnswer(AnswerModel):
    """Seeds or seedlings lost to one cause."""

    on_date: date = Field(examples=["2026-04-20"])
    cause: LossCause = Field(examples=["eaten"])
    units_lost: int = Field(examples=[9])
    after_emergence: bool = Field(description="lost as seedlings", examples=[True])
    recorded_at: datetime = Field(examples=["2026-04-20T18:00:00Z"])


class SowingSummary(AnswerModel):
    """A sowing in a list."""

    id: int = Field(examples=[1])
    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    variety: VarietyBrief
    sown_on: date = Field(examples=["2026-04-02"])
    method: SowingMethod = Field(examples=["row"])
    protection: Protection = Field(examples=["fleece"])
    seeds_sown: int = Field(examples=[120])
    row_m: float | None = Field(description="metres of row", examples=[3.5])
    area_m2: float | None = Field(description="m²", examples=[None])
    stations: int | None = Field(description="stations or cells", examples=[None])
    soil_temp_c: float | None = Field(description="°C", examples=[11.0])
    plants_wanted: int | None = Field(examples=[40])
    finished_on: date | None = Field(description="null while more may come", examples=[None])
    units_emerged: int | None = Field(description="last total; null before any", examples=[71])
    notes: str = Field(examples=["east bed"])
    version: int = Field(examples=[1])


class SowingAnswer(SowingSummary):
    """A sowing with its counts and losses."""

    emergence: list[EmergenceAnswer]
    losses: list[LossAnswer]
    emerged: PercentAnswer | None = Field(
        description="of the seeds sown, less those lost in the soil, as if each "
        "came up or not by itself; null before any count"
    )
    warnings: list[str] = Field(examples=[[]])
    cautions: list[CautionAnswer]
    sources: list[Source]
