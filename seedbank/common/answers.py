"""What answers share: amounts with their unit and error, intervals, and where a figure is from."""

from pydantic import BaseModel, ConfigDict, Field

from seedbank.science.quantities import Interval


class AnswerModel(BaseModel):
    """Output of a use case."""

    model_config = ConfigDict(frozen=True, from_attributes=True)


class Source(AnswerModel):
    """Where a figure or rule is from, and how far to trust it."""

    text: str = Field(examples=["7 CFR 201.58 table 2 (2015 annual edition)"])
    confidence: str = Field(
        description="read: taken from the source itself; memory: recalled, not re-read; "
        "computed: worked out or chosen here; own: stated by you",
        examples=["read"],
    )


class AmountAnswer(AnswerModel):
    """An amount of seed. ``grams`` is converted unless it was weighed."""

    seeds: int | None = Field(
        description="seeds, as they are sown; null: some, not counted", examples=[120]
    )
    seeds_se: float = Field(description="standard error of that number", examples=[8.0])
    grams: float | None = Field(default=None, description="weight, g", examples=[0.4])
    text: str = Field(
        description="in words: a number, none left, or some, not counted", examples=["120 seeds"]
    )


class PercentAnswer(AnswerModel):
    """A percentage with the interval that holds it at ``level_pct``."""

    pct: float = Field(description="the estimate, %", examples=[76.0])
    low_pct: float = Field(examples=[60.4])
    high_pct: float = Field(examples=[87.5])
    level_pct: float = Field(description="probability the interval is meant to hold", examples=[90])

    @classmethod
    def of(cls, fraction: float, interval: Interval) -> "PercentAnswer":
        """From a fraction 0..1 and its interval."""
        return cls(
            pct=round(100 * fraction, 2),
            low_pct=round(100 * interval.low, 2),
            high_pct=round(100 * interval.high, 2),
            level_pct=round(100 * interval.level, 2),
        )


def distinct(sources: list[Source]) -> list[Source]:
    """The sources without repeats, in order."""
    return list(dict.fromkeys(sources))
