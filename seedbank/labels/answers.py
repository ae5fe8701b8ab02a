"""Answers about what a packet's label says."""

from datetime import date

from pydantic import Field

from seedbank.common.answers import AnswerModel, PercentAnswer
from seedbank.lots.answers import PlaceBrief


class LabelTestAnswer(AnswerModel):
    """The last finished test, as a label tells it: normal seedlings of seeds set."""

    finished_on: date = Field(examples=["2026-02-15"])
    seeds: int = Field(examples=[25])
    germination: PercentAnswer


class LabelLotAnswer(AnswerModel):
    """A lot whose packet may be labelled."""

    lot: str = Field(description="its code", examples=["4K7PM"])
    variety: str = Field(examples=["Purple Lantern"])
    kind: str = Field(description="its name", examples=["Carrot"])
    harvest_year: int | None = Field(examples=[2023])
    harvest_estimated: bool = Field(examples=[False])
    seeds: int | None = Field(description="what is left; null: some, not counted", examples=[120])
    place: PlaceBrief | None
    tested_on: date | None = Field(
        description="day its last test was finished", examples=["2026-02-15"]
    )


class LabelAnswer(LabelLotAnswer):
    """What the label of a lot's packet says."""

    test: LabelTestAnswer | None = Field(description="null: never tested")
    treated: bool = Field(description="carries a chemical treatment", examples=[False])
    poisonous: bool = Field(examples=[False])
    keeps: bool = Field(description="false: seed that can't be stored", examples=[True])
