"""Answers to looking for lots."""

from pydantic import Field

from seedbank.common.answers import AnswerModel, VarietyBrief, ViabilityPoint
from seedbank.lots.answers.lots import LotAnswer
from seedbank.science.verdicts.verdict import Verdict


class FoundLot(AnswerModel):
    """A lot in a list, with how alive it is today and what to do with it."""

    lot: LotAnswer
    kind_name: str = Field(examples=["Carrot"])
    viability: ViabilityPoint | None
    verdict: Verdict | None = Field(description="null: none left", examples=["keep"])


class NearLot(AnswerModel):
    """A lot whose code is nearly what was typed."""

    code: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    kind_name: str = Field(examples=["Carrot"])
    slip: str = Field(examples=["the third character is wrong"])
