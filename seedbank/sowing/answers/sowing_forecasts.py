"""Answers about what is to be expected of a sowing already made."""

from datetime import date

from pydantic import Field

from seedbank.common.answers import AnswerModel


class SowingForecastAnswer(AnswerModel):
    """Seeds to come up, told without what this very sowing showed."""

    seeds: int = Field(description="sown, less those lost in the soil", examples=[111])
    expected: float = Field(examples=[66.0])
    low: float = Field(description="90 % interval", examples=[38.0])
    high: float = Field(examples=[88.0])
    first_on: date | None = Field(
        description="day the first are expected; null: the soil's warmth isn't known",
        examples=["2027-04-25"],
    )
    basis: str = Field(examples=["the tests of the lot and your sowings of earlier years"])
