"""Answers about places seed is kept in."""

from pydantic import Field

from seedbank.common.answers import AnswerModel


class PlaceAnswer(AnswerModel):
    """A place and what is known of its conditions."""

    id: int = Field(examples=[1])
    name: str = Field(examples=["Shed shelf"])
    temp_winter_c: float | None = Field(examples=[4.0])
    temp_summer_c: float | None = Field(examples=[24.0])
    rh_winter_pct: float | None = Field(examples=[80.0])
    rh_summer_pct: float | None = Field(examples=[60.0])
    seed_moisture_pct: float | None = Field(examples=[None])
    sealed: bool = Field(examples=[False])
    notes: str = Field(examples=["north wall"])
    version: int = Field(examples=[1])
