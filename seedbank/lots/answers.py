"""Answers about lots, their movements, the places they were kept, and what is doubted of them."""

from datetime import date, datetime

from pydantic import Field

from seedbank.common.answers import (
    AmountAnswer,
    AnswerModel,
    CautionAnswer,
    FindingAnswer,
    Source,
    VarietyBrief,
)
from seedbank.lots.tables.ledger import MovementReason
from seedbank.lots.tables.lots import LotFields
from seedbank.lots.tables.places import PlaceFields

_TSW_SOURCE = {"text": "7 CFR 201.46 table 1 (seeds per gram)", "confidence": "read"}


class PlaceBrief(AnswerModel):
    """Where a lot is kept."""

    id: int = Field(examples=[1])
    name: str = Field(examples=["Shed shelf"])


class SeedWeightAnswer(AnswerModel):
    """Thousand-seed weight that converts this lot between grams and seeds."""

    grams: float = Field(description="g a thousand seeds", examples=[1.25])
    grams_se: float = Field(description="standard error, g", examples=[0.2])
    measured: bool = Field(description="on this lot, rather than its kind's", examples=[False])
    source: Source = Field(examples=[_TSW_SOURCE])


class MixturePartAnswer(AnswerModel):
    """One part of a mixture."""

    lot: str | None = Field(description="code of the lot it is seed of", examples=["4K7PM"])
    name: str = Field(description="what it is, where no lot says it", examples=[""])
    share: float | None = Field(description="of the seeds, 0..1; null: not known", examples=[0.4])


class LotAnswer(LotFields, AnswerModel):
    """A lot: what it is, how much is left, where it is."""

    code: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    planting_stock: bool = Field(
        description="tubers, cloves or the like, counted in pieces: no seed", examples=[False]
    )
    amount: AmountAnswer = Field(description="what is left")
    thousand_seed_weight: SeedWeightAnswer | None
    parents: list[str] = Field(description="codes of parent lots", examples=[[]])
    mixture: list[MixturePartAnswer] = Field(
        default=[], description="what it is a mixture of; empty: it is none", examples=[[]]
    )
    place: PlaceBrief | None
    label: str = Field(
        description="its name in the folder it was brought in with; empty: none", examples=[""]
    )
    cautions: list[CautionAnswer]
    sources: list[Source]
    version: int = Field(examples=[1])


class MovementAnswer(AnswerModel):
    """One change of a lot's amount."""

    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    serial: int = Field(description="counts the lot's movements from 1", examples=[2])
    on_date: date = Field(examples=["2026-03-14"])
    reason: MovementReason = Field(examples=["given"])
    seeds: int | None = Field(
        description="signed change in seeds; null: some came in, not counted, or grams of it "
        "went out. Of the first "
        "stock-take after that: what came in, less what the ledger knew of",
        examples=[-30],
    )
    seeds_se: float = Field(description="standard error of it", examples=[0.0])
    grams: float | None = Field(description="as weighed, g", examples=[None])
    balance_seeds: int | None = Field(
        description="left after it; null: some, not counted", examples=[220]
    )
    first_count: bool = Field(
        description="a stock-take of seed nobody had counted before", examples=[False]
    )
    undoes: int | None = Field(description="serial of the movement it undoes", examples=[None])
    note: str = Field(examples=["spring swap"])
    recorded_at: datetime = Field(examples=["2026-03-14T17:20:00Z"])
    warnings: list[FindingAnswer] = Field(examples=[[]])
    sources: list[Source] = Field(examples=[[]])


class TakingForeseen(AnswerModel):
    """What some seed taken out of a lot comes to and leaves; grams null where nothing is known."""

    seeds: int | None = Field(
        description="taken; null: grams of seed whose weight nobody knows", examples=[30]
    )
    grams: float | None = Field(examples=[0.1])
    left_seeds: int | None = Field(description="null: some, not counted", examples=[220])
    left_grams: float | None = Field(examples=[0.7])
    warnings: list[FindingAnswer] = Field(examples=[[]])


class PhotoAnswer(AnswerModel):
    """The photograph of a lot's packet."""

    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    width_px: int = Field(examples=[1200])
    height_px: int = Field(examples=[1600])
    added_at: datetime = Field(examples=["2026-03-14T17:20:00Z"])
    picture: str = Field(description="a JPEG file in Base64", examples=["/9j/4AAQSkZJRgABAQ=="])
    version: int = Field(description="of the lot", examples=[1])


class StayAnswer(AnswerModel):
    """A lot's time in one place."""

    lot: str = Field(description="code of the lot", examples=["4K7PM"])
    place: PlaceBrief
    from_date: date = Field(examples=["2025-11-02"])
    until: date | None = Field(
        description="day it was moved on; null: still there", examples=[None]
    )
    sealed_anew: bool = Field(
        description="the place was sealed anew, or its seed dried again, on the first day",
        examples=[False],
    )


class StaysAnswer(AnswerModel):
    """A lot's whole history of places, earliest first."""

    items: list[StayAnswer]


class PlaceAnswer(PlaceFields, AnswerModel):
    """A place and what is known of its conditions."""

    id: int = Field(examples=[1])
    version: int = Field(examples=[1])


class EntryDoubtAnswer(AnswerModel):
    """A lot to ask about, once."""

    lot: str = Field(examples=["4K7PM"])
    variety: VarietyBrief
    amount: bool = Field(
        description="nothing was ever booked: it may be empty, or hold some that was not counted",
        examples=[True],
    )
    acquired_on: date | None = Field(
        description="the day it was entered, taken for the day it came; null: not in doubt",
        examples=["2026-11-29"],
    )
    notes: str = Field(description="of the lot, with its row of the list", examples=["Year: 2019"])


class EntryDoubtsSettled(AnswerModel):
    """What was settled, and how many lots are still asked about."""

    settled: int = Field(description="lots", examples=[12])
    left: int = Field(examples=[0])
