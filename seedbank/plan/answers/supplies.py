"""Answers about what to sow, what to buy or swap for, and what may be given away."""

from datetime import date
from enum import StrEnum

from pydantic import Field

from seedbank.common.answers import AnswerModel, CautionAnswer, PercentAnswer, Source, VarietyBrief
from seedbank.kinds.tables.varieties import OtherKeepers
from seedbank.lots.tables.lots import Purity

_SOURCE = {"text": "what is spare: our choice", "confidence": "computed"}
_CHANCE = {"pct": 90.4, "low_pct": 41.0, "high_pct": 100.0, "level_pct": 90.0}


class GetBy(StrEnum):
    """How seed that is lacking is got."""

    BUY = "buy"
    SWAP = "swap"


class LotSeedsAnswer(AnswerModel):
    """So many seeds of a lot."""

    lot: str = Field(examples=["4K7PM"])
    seeds: int = Field(examples=[120])


class ToSowAnswer(AnswerModel):
    """What to sow of a variety for the plants wanted this year."""

    variety: VarietyBrief
    plants_wanted: int = Field(examples=[40])
    seeds: int = Field(examples=[120])
    enough: bool = Field(description="gives the plants with 90 % certainty", examples=[True])
    chance_of_enough: PercentAnswer = Field(examples=[_CHANCE])
    lots: list[LotSeedsAnswer]


class ShortfallAnswer(AnswerModel):
    """Seed that is lacking."""

    variety: VarietyBrief
    other_keepers: OtherKeepers = Field(examples=["many"])
    plants_wanted: int = Field(examples=[36])
    get_by: GetBy = Field(examples=["buy"])
    text: str = Field(examples=["No lot of this variety holds seed. Buy it: an F1 hybrid."])


class SpareLotAnswer(LotSeedsAnswer):
    """Seeds of a lot that may go, and what to say with them."""

    alive_pct: float = Field(description="median viability today, %", examples=[91.0])
    treated: bool = Field(description="dressed seed: say so, never to eat", examples=[False])
    purity: Purity = Field(examples=["isolated"])
    purity_note: str = Field(examples=["Isolated by a cage."])


class SpareAnswer(AnswerModel):
    """Seed that may be given away: what is left after sowing, the reserve and the plan."""

    variety: VarietyBrief
    other_keepers: OtherKeepers = Field(examples=["few"])
    seeds: int = Field(examples=[300])
    held: int = Field(examples=[700])
    to_sow: int = Field(description="this year, for plants wanted", examples=[120])
    reserve: int = Field(examples=[200])
    kept_for_plan: int = Field(description="for its next seed crop and another try", examples=[80])
    lots: list[SpareLotAnswer]


class SuppliesAnswer(AnswerModel):
    """What to sow this year, what seed is lacking, and what may be given away."""

    on: date = Field(examples=["2027-02-20"])
    sow: list[ToSowAnswer]
    shortfall: list[ShortfallAnswer]
    spare: list[SpareAnswer] = Field(description="the rarest first")
    remarks: list[str] = Field(examples=[["Sowings are reckoned as made today."]])
    cautions: list[CautionAnswer]
    sources: list[Source] = Field(examples=[[_SOURCE]])
