"""Answers about the saving plan, how it stands today, and what to buy, swap for or give away."""

from datetime import date, datetime
from enum import StrEnum

from pydantic import Field

from seedbank.common.answers import (
    AnswerModel,
    CautionAnswer,
    FindingAnswer,
    PercentAnswer,
    Source,
    VarietyBrief,
)
from seedbank.kinds.tables import OtherKeepers
from seedbank.lots.tables.lots import Isolation, Purity
from seedbank.plan.tables import PlanPinFields
from seedbank.saving.answers import SiteBrief
from seedbank.science.crossing.crossing_stands import StandIs
from seedbank.science.plan.plan import PlanStatus
from seedbank.science.plan.plan_relief import ReliefKind
from seedbank.verdicts.answers import SeedToKeepAnswer

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


class PlanPinAnswer(PlanPinFields, AnswerModel):
    """A seed crop the plan must have, or must not."""

    id: int = Field(examples=[1])
    variety: VarietyBrief
    site: SiteBrief | None = Field(description="null: any site")
    version: int = Field(examples=[1])


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
    seeds_to_sow: int | None = Field(description="null: sown, or not counted", examples=[96])
    seeds_to_hold: int | None = Field(description="null: sown, or not counted", examples=[154])
    plants_to_raise: int = Field(
        description="so that the usual losses leave the seed parents", examples=[78]
    )
    probability_now: float = Field(
        description="of raising the seed parents, as its lot's verdict has it", examples=[0.88]
    )
    probability_next_season: float = Field(examples=[0.59])
    purity: Purity = Field(description="of the lot sown", examples=["isolated"])
    purity_note: str = Field(examples=["Isolated by a cage."])
    chance_of_loss: float = Field(description=f"{_LOSS}, kept to", examples=[0.08])
    chance_of_loss_if_skipped: float = Field(
        description=f"{_LOSS}, this year left out and the next crop a year later", examples=[0.21]
    )
    chance_of_loss_without: float = Field(
        description=f"{_LOSS}, no seed crop ever grown", examples=[0.64]
    )
    reasons: list[FindingAnswer] = Field(examples=[[_REASON]])


class StandingCropAnswer(AnswerModel):
    """A seed crop sown in an earlier year that flowers this year."""

    variety: VarietyBrief
    site: str = Field(examples=["Long garden"])
    isolation: Isolation = Field(examples=["distance"])


class StopFloweringAnswer(FindingAnswer):
    """Something to keep from flowering, since it would cross with this year's seed crops."""

    name: str = Field(examples=["Rainrib (chard) left to run to seed at Long garden"])
    what: StandIs = Field(examples=["left-to-run"])
    before: date | None = Field(
        description="null: before the seed crop opens, or no day would end it; the text says which",
        examples=["2027-06-09"],
    )
    endangers: list[VarietyBrief]


class PlanYearAnswer(AnswerModel):
    """What a later year holds, as things stand today."""

    year: int = Field(examples=[2028])
    sow: list[PlannedCropAnswer] = Field(examples=[[_CROP]])


class ReliefAnswer(FindingAnswer):
    """Something that would help where not everything fits.

    ``saves`` is the chance of loss, weighted by rarity and summed over the rest of the collection,
    that it would take away.
    """

    kind: ReliefKind = Field(examples=["gear"])
    saves: float = Field(examples=[0.31])
    helps: list[VarietyBrief] = Field(description="varieties it would make safer, most first")


class ExposedAnswer(FindingAnswer):
    """A variety the plan leaves at risk: its chance of loss, weighted by rarity, is over a tenth,
    or its seed crop comes later than it is due.

    ``relief`` is the cheapest thing that would help it, null if nothing here would.
    """

    variety: VarietyBrief
    other_keepers: OtherKeepers = Field(examples=["none"])
    chance_of_loss: float = Field(examples=[0.38])
    chance_of_loss_without: float = Field(description="no seed crop ever grown", examples=[0.64])
    relief: FindingAnswer | None
    chance_of_loss_with_relief: float | None = Field(examples=[0.09])


class PinAnswer(FindingAnswer):
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


class LeftOutAnswer(AnswerModel):
    """A variety no plan is made for."""

    variety: VarietyBrief
    why: FindingAnswer


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
    remarks: list[FindingAnswer]
    sources: list[Source] = Field(examples=[[_SOURCE]])


class LastPlanCropAnswer(AnswerModel):
    """A seed crop of a plan as it was kept."""

    variety: VarietyBrief
    sow_in: int = Field(examples=[2027])
    flowers_in: int = Field(examples=[2028])
    site: str = Field(examples=["Long garden"])
    isolation: Isolation = Field(examples=["cage"])


class LastPlanAnswer(AnswerModel):
    """A plan as it was kept: the next one changes as little of it as it must."""

    id: int = Field(examples=[1])
    made_at: datetime = Field(examples=["2027-02-20T12:00:00Z"])
    first_year: int = Field(examples=[2027])
    horizon_years: int = Field(examples=[6])
    crops: list[LastPlanCropAnswer] = Field(description="in order of sowing")


class PlanStandingAnswer(AnswerModel):
    """The plan kept last, and what was recorded after it was made."""

    id: int = Field(examples=[1])
    made_at: datetime = Field(examples=["2027-02-20T12:00:00Z"])
    first_year: int = Field(examples=[2027])
    stock_changed: bool = Field(
        description="something the plan rests on was recorded after it was made", examples=[False]
    )


class PlannedNow(AnswerModel):
    """A crop the kept plan sows this year."""

    crop: LastPlanCropAnswer
    seed_crop: int | None = Field(description="its number, once begun", examples=[58])
    pin: PlanPinAnswer | None = Field(description="the gardener's word on it")
    told: CropNowAnswer | None = Field(description="why, where that is still known")


class PlanNowAnswer(AnswerModel):
    """The plan kept last. ``told`` is what it said when it was made, null once forgotten."""

    plan: LastPlanAnswer
    standing: PlanStandingAnswer
    this_year: list[PlannedNow]
    told: SavingPlanAnswer | None


_SUPPLY_SOURCE = {"text": "what is spare: our choice", "confidence": "computed"}
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


class OrderAnswer(FindingAnswer):
    """Seed to get of one variety: not enough for the rows of this season and the next."""

    variety: VarietyBrief
    other_keepers: OtherKeepers = Field(examples=["many"])
    plants_wanted: int = Field(examples=[40])
    assumed: bool = Field(
        description="nobody has said how many plants are wanted: those of a 3 m row",
        examples=[False],
    )
    get_by: GetBy = Field(examples=["buy"])
    enough_this_season: float = Field(
        description="share of a usual sowing that what is held gives, 1 at most", examples=[0.4]
    )
    enough_next_season: float = Field(description="after this season's sowing", examples=[0.0])
    seeds: int = Field(description="to order in all; of planting stock pieces", examples=[610])
    grams: float | None = Field(
        description="by the kind's usual seed weight; null: not known", examples=[0.9]
    )
    packets: int = Field(description="0: planting stock", examples=[2])
    packet_seeds: int = Field(description="that a usual packet is taken to hold", examples=[500])
    for_this_season: int = Field(examples=[150])
    for_next_season: int = Field(
        description="0: enough, saved here, or it doesn't lie over", examples=[225]
    )
    to_sow_again: int = Field(description="the margin: gaps sown again", examples=[225])
    to_test: int = Field(examples=[10])
    before: date | None = Field(
        description="day its sowing begins here; null: now, or not known", examples=["2027-04-02"]
    )


class OrdersAnswer(AnswerModel):
    """What to order, by kind and name."""

    on: date = Field(examples=["2027-02-20"])
    items: list[OrderAnswer]
    sources: list[Source] = Field(examples=[[_SUPPLY_SOURCE]])


class SuppliesAnswer(AnswerModel):
    """What to sow this year, what to order, and what may be given away."""

    on: date = Field(examples=["2027-02-20"])
    sow: list[ToSowAnswer]
    orders: list[OrderAnswer]
    spare: list[SeedToKeepAnswer] = Field(description="with something to give, the rarest first")
    remarks: list[FindingAnswer]
    cautions: list[CautionAnswer]
    sources: list[Source] = Field(examples=[[_SUPPLY_SOURCE]])
