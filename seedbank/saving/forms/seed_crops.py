"""Forms for seed crops: begun, looked after, harvested or lost."""

from typing import Self

from pydantic import Field, model_validator

from seedbank.common.forms import (
    Celsius,
    Day,
    Flag,
    Form,
    LotCode,
    Notes,
    Reason,
    Remark,
    RowId,
    Seeds,
    SomeSeeds,
    confirmed,
    left_alone,
)
from seedbank.lots.forms.lots import Weight, WeightError
from seedbank.lots.forms.movements import Amount
from seedbank.lots.tables.lots import Isolation
from seedbank.saving.forms.flowerings import Season
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.sowing.tables.sowings import Protection, SowingMethod

_SITE = "Number of the site it flowers on."
_SOW_ON = "Day it is to be sown."
_YEAR = "Year it flowers; worked out from the sowing and the kind's life cycle if left out."
_PURPOSE = "Home use, keeping the variety, or keeping a rare one."
_ISOLATION = "What keeps it from crossing."
_GEAR = "Number of the isolation gear used."
_STARTED = "Plants raised as seed parents."
_ROGUED = "Plants pulled out for being untrue, weak or sick."
_KEPT = "Plants seed is taken from."
_FROM = "First open flower seen."
_TO = "Last open flower seen."
_CLEANING = "How it was cleaned."
_DRYING = "How it was dried."


class SeedCropSow(Form):
    """Sowing a seed crop. Where seeds are given they leave the lot, and a sowing is recorded."""

    lot: LotCode | None = Field(
        default=None, description="Code of the lot, if not said before.", examples=["4K7PM"]
    )
    sown_on: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-06-20"]
    )
    seeds_sown: SomeSeeds | None = Field(default=None, description="Seeds sown.", examples=[60])
    method: SowingMethod = Field(
        default=SowingMethod.MODULE, description="How it was sown.", examples=["module"]
    )
    protection: Protection = Field(
        default=Protection.OPEN, description="What it is kept under.", examples=["cold-frame"]
    )
    soil_temp_c: Celsius | None = Field(
        default=None, description="Soil temperature at sowing depth, °C.", examples=[14.0]
    )
    notes: Notes = Field(default="", description="Anything else.", examples=["two trays"])
    confirmed: Flag = confirmed()


class SeedCropCreate(Form):
    """A variety to be grown for seed."""

    variety_id: RowId | None = Field(
        default=None,
        description="Number of the variety; the lot's if left out.",
        examples=[1],
    )
    lot: LotCode | None = Field(
        default=None, description="Code of the lot to sow, if chosen.", examples=["4K7PM"]
    )
    site_id: RowId = Field(description=_SITE, examples=[1])
    sow_on: Day | None = Field(default=None, description=_SOW_ON, examples=["2026-06-20"])
    flower_year: Season | None = Field(default=None, description=_YEAR, examples=[2027])
    purpose: Purpose = Field(description=_PURPOSE, examples=["keep"])
    isolation: Isolation = Field(
        default=Isolation.UNKNOWN, description=_ISOLATION, examples=["cage"]
    )
    gear_id: RowId | None = Field(default=None, description=_GEAR, examples=[1])
    parents_started: Seeds | None = Field(default=None, description=_STARTED, examples=[40])
    sow: SeedCropSow | None = Field(default=None, description="If it is sown already.")
    notes: Notes = Field(default="", description="Anything else.", examples=["north end"])

    @model_validator(mode="after")
    def _names_something(self) -> Self:
        if self.variety_id is None and self.lot is None:
            raise ValueError("name a variety_id, or the lot to sow")
        return self


class PlannedCropStart(Form):
    """A seed crop of the plan kept last, to be begun as it is planned."""

    variety_id: RowId = Field(description="Number of the variety.", examples=[1])
    flower_year: Season = Field(description="Year the plan has it flower.", examples=[2027])


class SeedCropSought(Form):
    """A seed crop only thought of: what may cross with it?"""

    site_id: RowId = Field(description=_SITE, examples=[1])
    year: Season = Field(description="Year it flowers.", examples=[2027])
    purpose: Purpose = Field(default=Purpose.KEEP, description=_PURPOSE, examples=["keep"])
    isolation: Isolation = Field(
        default=Isolation.UNKNOWN, description=_ISOLATION, examples=["cage"]
    )


class SeedCropChange(Form):
    """What to change of a seed crop; unnamed fields stay, null makes a value unknown again."""

    lot: LotCode | None = left_alone("Code of the lot it is grown from.", "4K7PM")
    site_id: RowId = left_alone(_SITE, 1)
    sow_on: Day | None = left_alone(_SOW_ON, "2026-06-24")
    flower_year: Season = left_alone(_YEAR, 2027)
    purpose: Purpose = left_alone(_PURPOSE, "rare")
    isolation: Isolation = left_alone(_ISOLATION, "cage")
    gear_id: RowId | None = left_alone(_GEAR, 1)
    parents_started: Seeds | None = left_alone(_STARTED, 40)
    parents_rogued: Seeds | None = left_alone(_ROGUED, 3)
    parents_kept: Seeds | None = left_alone(_KEPT, 32)
    flower_from: Day | None = left_alone(_FROM, "2027-06-12")
    flower_to: Day | None = left_alone(_TO, "2027-07-18")
    cleaning: Remark = left_alone(_CLEANING, "rubbed and winnowed")
    drying: Remark = left_alone(_DRYING, "a week on trays, then silica gel")
    notes: Notes = left_alone("Anything else.", "staked on 2 June")


class SeedCropHarvest(Form):
    """Seed taken from a seed crop; it becomes a lot."""

    amount: Amount = Field(description="How much, cleaned.", examples=[{"grams": 42.0}])
    harvested_on: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2027-02-20"]
    )
    parents_kept: SomeSeeds | None = Field(
        default=None, description=_KEPT + " As recorded before, if left out.", examples=[32]
    )
    thousand_seed_weight_g: Weight | None = Field(
        default=None, description="Thousand-seed weight as measured, g.", examples=[2.9]
    )
    thousand_seed_weight_se_g: WeightError | None = Field(
        default=None, description="Standard error of that measurement, g.", examples=[0.1]
    )
    place_id: RowId | None = Field(
        default=None, description="Number of the place it is put in.", examples=[1]
    )
    cleaning: Remark = Field(default="", description=_CLEANING, examples=["winnowed"])
    drying: Remark = Field(default="", description=_DRYING, examples=["a week on trays"])
    notes: Notes = Field(default="", description="Anything else of the lot.", examples=["plump"])
    confirmed: Flag = confirmed()

    @model_validator(mode="after")
    def _error_has_a_weight(self) -> Self:
        if self.thousand_seed_weight_se_g is not None and self.thousand_seed_weight_g is None:
            raise ValueError("thousand_seed_weight_se_g needs thousand_seed_weight_g")
        return self


class SeedCropFail(Form):
    """A seed crop that gave no seed."""

    failed_on: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2027-02-20"]
    )
    why: Reason = Field(description="What happened.", examples=["voles took the roots"])
