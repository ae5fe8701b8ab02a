"""Answers about which varieties can be saved true beside which."""

from pydantic import Field

from seedbank.common.answers import AnswerModel, Source, VarietyBrief

_KINDS = ["beet", "chard"]


class CrossingGroupAnswer(AnswerModel):
    """Varieties that cross freely: of them one a year comes true in the open at one site."""

    group: str = Field(examples=["beta-vulgaris"])
    kinds: list[str] = Field(description="slugs of their kinds", examples=[_KINDS])
    varieties: list[VarietyBrief]
    isolation_home_m: float | None = Field(description="null: no figure", examples=[500.0])
    isolation_strict_m: float | None = Field(examples=[1000.0])


class PartlyCrossingAnswer(AnswerModel):
    """A variety of another species whose pollen can take."""

    variety: VarietyBrief
    how: str = Field(description="how readily", examples=["rarely"])


class AlongsideAnswer(AnswerModel):
    """What of the collection crosses with a variety; everything else can be saved beside it."""

    variety: VarietyBrief
    crosses: list[VarietyBrief] = Field(description="of its own crossing group")
    partly: list[PartlyCrossingAnswer]
    others: int = Field(description="varieties with seed that don't cross with it", examples=[47])
    isolation_home_m: float | None = Field(examples=[500.0])
    isolation_strict_m: float | None = Field(examples=[1000.0])
    sources: list[Source]
