"""Answers about what to save this year and in the years after."""

from datetime import date, datetime

from pydantic import Field

from seedbank.common.answers import AnswerModel, ReasonAnswer, Source, VarietyBrief
from seedbank.kinds.tables.varieties import OtherKeepers
from seedbank.lots.tables.lots import Isolation, Purity
from seedbank.science.crossing.crossing_stands import StandIs
from seedbank.science.plan.plan import PlanStatus
from seedbank.science.plan.plan_relief import ReliefKind

_CROP = {
    "variety": {"id": 1, "name": "Purple Lantern", "kind": "carrot"},
    "other_keepers": "none",
    "sow_in": 2027,
    "flowers_in": 2028,
    "site": "Long garden",
    "isolation": "cage",
    "seed_parents": 60,
}
_REASON = {
    "code": "if-skipped",
    "text": "Skipped a year, the chance of losing it by 2034 rises from 8 % to 21 %.",
    "numbers": {"loss": 0.08, "loss_skipped": 0.21, "loss_never": 0.64},
}
_SOURCE = {"text": "share of seed crops that fail: common practice", "confidence": "memory"}
_LOSS = "chance (0..1) of losing it by the end of the plan"


class PlannedCropAnswer(AnswerModel):
    """A seed crop of the plan."""

    variety: VarietyBrief
    other_keepers: OtherKeepers = Field(examples=["none"])
    sow_in: int = Field(description="year", examples=[2027])
    flowers_in: int = Field(description="year", examples=[2028])
    site: str = Field(examples=["Long garden"])
    isolation: Isolation = Field(examples=["cage"])
    seed_parents: int = Field(description="plants wanted to save seed from", examples=[60])


class CropNowAnswer(PlannedCropAnswer):
    """A seed crop to sow this year. Chances run 0..1."""

    on_record: bool = Field(description="begun already under /seed-crops", examples=[False])
    pinned: bool = Field(examples=[False])
    required_m: float = Field(description="isolation distance its purpose asks", examples=[1000])
    sow_lot: str | None = Field(description="null: it is sown", examples=["4K7PM"])
    seeds_held: int | None = Field(description="null: some, not counted", examples=[250])
    seeds_to_sow: int | None = Field(description="null: all there are", examples=[96])
    plants_to_raise: int = Field(examples=[78])
    chance_of_parents: float = Field(
        description="that those seeds leave the seed parents, after usual losses", examples=[0.9]
    )
    purity: Purity = Field(description="of the lot sown", examples=["isolated"])
    purity_note: str = Field(examples=["Isolated by a cage."])
    chance_of_loss: float = Field(description=f"{_LOSS}, kept to", examples=[0.08])
    chance_of_loss_if_skipped: float = Field(
        description=f"{_LOSS}, this year left out and the next crop a year later", examples=[0.21]
    )
    chance_of_loss_without: float = Field(
        description=f"{_LOSS}, no seed crop ever grown", examples=[0.64]
    )
    reasons: list[ReasonAnswer] = Field(examples=[[_REASON]])


class StandingCropAnswer(AnswerModel):
    """A seed crop sown in an earlier year that flowers this year."""

    variety: VarietyBrief
    site: str = Field(examples=["Long garden"])
    isolation: Isolation = Field(examples=["distance"])


class StopFloweringAnswer(AnswerModel):
    """Something to keep from flowering, since it would cross with this year's seed crops."""

    name: str = Field(examples=["Rainrib (chard) left to run to seed at Long garden"])
    what: StandIs = Field(examples=["left-to-run"])
    before: date | None = Field(
        description="null: before the seed crop opens, or no day would end it; the text says which",
        examples=["2027-06-09"],
    )
    text: str = Field(examples=["Cut or pull Rainrib (chard) before 9 Jun."])
    endangers: list[VarietyBrief]


class PlanYearAnswer(AnswerModel):
    """What a later year holds, as things stand today."""

    year: int = Field(examples=[2028])
    sow: list[PlannedCropAnswer] = Field(examples=[[_CROP]])


class ReliefAnswer(AnswerModel):
    """Something that would help where not everything fits.

    ``saves`` is the chance of loss, weighted by rarity and summed over the rest of the collection,
    that it would take away.
    """

    kind: ReliefKind = Field(examples=["gear"])
    text: str = Field(examples=["One more cage."])
    saves: float = Field(examples=[0.31])
    helps: list[VarietyBrief] = Field(description="varieties it would make safer, most first")


class ExposedAnswer(AnswerModel):
    """A variety the plan leaves at risk: its chance of loss, weighted by rarity, is over a tenth.

    ``relief`` is the cheapest thing that would help it, null if nothing here would.
    """

    variety: VarietyBrief
    other_keepers: OtherKeepers = Field(examples=["none"])
    chance_of_loss: float = Field(examples=[0.38])
    chance_of_loss_without: float = Field(description="no seed crop ever grown", examples=[0.64])
    text: str = Field(examples=["The plan grows no seed crop of it."])
    relief: str | None = Field(examples=["One more cage: 38 % becomes 9 %."])
    chance_of_loss_with_relief: float | None = Field(examples=[0.09])


class PinAnswer(AnswerModel):
    """A pinned choice, whether the plan keeps it, and what that costs.

    ``cost``: chance of loss, weighted by rarity and summed, that it adds; 0 where it is too little
    to tell, null if it isn't kept or there was no time to see.
    """

    id: int = Field(examples=[1])
    variety: VarietyBrief
    year: int = Field(description="in which it flowers", examples=[2028])
    wanted: bool = Field(examples=[True])
    kept: bool = Field(examples=[True])
    cost: float | None = Field(examples=[0.04])
    text: str = Field(examples=["Kept; it costs 0.04 more weighted chance of loss."])


class LeftOutAnswer(AnswerModel):
    """A variety no plan is made for."""

    variety: VarietyBrief
    why: str = Field(examples=["F1 hybrids don't come true from saved seed: buy it again."])


class SavingPlanAnswer(AnswerModel):
    """What to save this year, and then; the rarest first."""

    id: int | None = Field(description="null: worked out, not kept", examples=[1])
    on: date = Field(examples=["2027-02-20"])
    horizon_years: int = Field(examples=[6])
    judged_in: int = Field(description="year by which losses are reckoned", examples=[2034])
    status: PlanStatus = Field(examples=["proven"])
    gap_pct: float = Field(description="no plan is better by more than this, %", examples=[0.08])
    loss: float = Field(
        description="chances of loss, weighted by rarity and summed", examples=[1.42]
    )
    loss_without: float = Field(description="the same, no seed crop grown", examples=[6.8])
    changes: int = Field(description="crops changed against the plan kept last", examples=[0])
    this_year: list[CropNowAnswer]
    sow_for_next_year: list[VarietyBrief] = Field(
        description="those of this year's that flower next year"
    )
    standing: list[StandingCropAnswer]
    stop_flowering: list[StopFloweringAnswer]
    later: list[PlanYearAnswer]
    exposed: list[ExposedAnswer]
    reliefs: list[ReliefAnswer] = Field(description="the most helpful first")
    pins: list[PinAnswer]
    left_out: list[LeftOutAnswer]
    remarks: list[str] = Field(examples=[["No limit to the seed crops of a season is set."]])
    sources: list[Source] = Field(examples=[[_SOURCE]])


class KeptCropAnswer(AnswerModel):
    """A seed crop of a plan as it was kept."""

    variety: VarietyBrief
    sow_in: int = Field(examples=[2027])
    flowers_in: int = Field(examples=[2028])
    site: str = Field(examples=["Long garden"])
    isolation: Isolation = Field(examples=["cage"])


class KeptPlanAnswer(AnswerModel):
    """A plan as it was kept: the next one changes as little of it as it must."""

    id: int = Field(examples=[1])
    made_at: datetime = Field(examples=["2027-02-20T12:00:00Z"])
    first_year: int = Field(examples=[2027])
    horizon_years: int = Field(examples=[6])
    crops: list[KeptCropAnswer] = Field(description="in order of sowing")
