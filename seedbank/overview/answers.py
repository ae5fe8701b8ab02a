"""Answers about lots looked for, one variety with all that hangs on it, and the last changes."""

from datetime import date, datetime

from pydantic import Field

from seedbank.climate.answers import KindSeasonAnswer
from seedbank.common.answers import AnswerModel, FindingAnswer, VarietyBrief, ViabilityPoint
from seedbank.kinds.answers import VarietyAnswer
from seedbank.kinds.tables import OtherKeepers
from seedbank.lots.answers import LotAnswer, MovementAnswer, PlaceBrief
from seedbank.overview.tables import BatchWork
from seedbank.plan.answers import LastPlanCropAnswer, PlanPinAnswer
from seedbank.saving.answers import AlongsideAnswer, DriftAnswer
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.verdicts.verdict import Verdict
from seedbank.season.answers import CropOfSeason
from seedbank.verdicts.answers import SeedToKeepAnswer, VerdictAnswer


class ChangeAnswer(AnswerModel):
    """A change of stock in a list over all lots.

    ``why_not`` says why it can't be undone; where it is null, it can. Undoing the movement of a
    test or a sowing takes back the whole of it, as it stood at ``version``; ``also`` says so.
    """

    movement: MovementAnswer
    variety: VarietyBrief
    kind_name: str = Field(examples=["Carrot"])
    test: int | None = Field(description="number of the test it was for", examples=[None])
    sowing: int | None = Field(description="number of the sowing it was for", examples=[4])
    version: int | None = Field(description="of that test or sowing", examples=[1])
    also: FindingAnswer | None
    why_not: FindingAnswer | None


class FoundLot(AnswerModel):
    """A lot in a list, with how alive it is today and what to do with it."""

    lot: LotAnswer
    kind_name: str = Field(examples=["Carrot"])
    viability: ViabilityPoint | None
    verdict: Verdict | None = Field(description="null: none left", examples=["sow-as-usual"])
    begun: bool = Field(
        description="on a towel, or a seed crop of the variety is under way", examples=[False]
    )


class BatchAnswer(AnswerModel):
    """One piece of work on many lots, done to all of them."""

    id: int = Field(examples=[1])
    version: int = Field(examples=[1])
    work: BatchWork = Field(examples=["move"])
    on_date: date = Field(examples=["2026-10-10"])
    done_at: datetime = Field(examples=["2026-10-10T09:30:00Z"])
    undone_at: datetime | None = Field(description="null: it stands", examples=[None])
    note: str = Field(examples=["swap at the hall"])
    lots: list[str] = Field(description="their codes", examples=[["4K7PM"]])
    done: FindingAnswer = Field(description="what was done, in a sentence")


class StateCount(AnswerModel):
    """How many packets are in a state."""

    state: Verdict = Field(examples=["sow-as-usual"])
    lots: int = Field(examples=[9])


class ShelfLot(AnswerModel):
    """A packet on the shelf: what it is, how alive it is today, and what to do with it."""

    lot: LotAnswer
    kind_name: str = Field(examples=["Carrot"])
    other_keepers: OtherKeepers = Field(examples=["few"])
    viability: ViabilityPoint
    state: Verdict | None = Field(examples=["sow-as-usual"])
    begun: bool = Field(
        description="on a towel, or a seed crop of the variety is under way", examples=[False]
    )


class TinAnswer(AnswerModel):
    """A place with packets in it, by their states."""

    place: PlaceBrief | None = Field(description="null: no place is known")
    lots: int = Field(description="packets in it", examples=[22])
    states: list[StateCount]


class ShelfAnswer(AnswerModel):
    """A page of the shelf, the packets counted by state, and by place."""

    items: list[ShelfLot]
    total: int = Field(description="packets that answer to what was asked", examples=[22])
    page: int = Field(examples=[1])
    pages: int = Field(examples=[1])
    near: bool = Field(
        description="nothing has the words asked for: these come near them", examples=[False]
    )
    states: list[StateCount] = Field(description="of all states, whichever was asked for")
    begun: int = Field(description="of them with something begun", examples=[1])
    places: list[TinAnswer] = Field(description="all of the shelf, whatever was asked for")


class NearLot(AnswerModel):
    """A lot whose code is nearly what was typed."""

    code: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    kind_name: str = Field(examples=["Carrot"])
    slip: FindingAnswer


class VarietyAtHandAnswer(AnswerModel):
    """A variety, its lots, its line, what is planned of it and what crosses with it."""

    variety: VarietyAnswer
    purpose: Purpose = Field(description="of its seed crops, by its rarity", examples=["keep"])
    held: int = Field(description="seeds counted over all its lots", examples=[420])
    lots_not_counted: int = Field(
        description="lots that hold some besides, not counted", examples=[0]
    )
    running_out: FindingAnswer | None = Field(description="why its seed runs out; null: it doesn't")
    to_keep: SeedToKeepAnswer = Field(description="how much of it, and what is spare")
    lots: list[VerdictAnswer] = Field(description="the best hope first; empty ones last")
    drift: DriftAnswer | None = Field(description="of the best lot; null: no lot")
    planned: list[LastPlanCropAnswer]
    pins: list[PlanPinAnswer]
    crops: list[CropOfSeason] = Field(description="the latest first")
    alongside: AlongsideAnswer
    season: KindSeasonAnswer = Field(description="its year in this garden")
