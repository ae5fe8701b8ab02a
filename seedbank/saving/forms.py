"""Forms for sites, isolation gear, flowerings and windows, and seed crops."""

from typing import Self

from pydantic import Field, model_validator

from seedbank.common.errors import Misfit
from seedbank.common.forms import (
    Celsius,
    ChangeForm,
    Day,
    Filter,
    Flag,
    Form,
    LotCode,
    Name,
    Notes,
    Reason,
    Remark,
    RowId,
    SomeSeeds,
    confirmed,
)
from seedbank.emergence.tables import Protection, SowingMethod
from seedbank.lots.forms import Amount
from seedbank.lots.tables.lots import Isolation, Weight, WeightError
from seedbank.saving.tables import (
    Distance,
    FloweringFields,
    GearFields,
    GrownCropFields,
    LimitsFields,
    Season,
    SeedCropFields,
    SiteAsked,
    SiteFields,
    WindowFields,
)
from seedbank.science.crossing.crossing_risk import Purpose


class AtSite(Filter):
    """Where something is asked about; left out: the garden."""

    site: SiteAsked = None


class SiteCreate(SiteFields, Form):
    """Ground plants flower on: a garden, an allotment, a borrowed corner."""


class SiteChange(SiteFields, ChangeForm):
    """What to change of a site; unnamed fields stay, null makes a value unknown again."""


class DistanceStated(Form):
    """How far another site is, as pollen goes."""

    metres: Distance = Field(description="Metres.", examples=[640.0])


_SITE = "Number of the site it stands on, or is measured from."


class FloweringCreate(FloweringFields, Form):
    """Plants that flower in a year, wanted or not."""

    site_id: RowId = Field(description=_SITE, examples=[1])
    kind: Name | None = Field(
        default=None,
        description="Its kind, by slug or by any name; taken from the variety where that is given.",
        examples=["chard"],
    )
    variety_id: RowId | None = Field(
        default=None, description="Number of its variety, if it is one of yours.", examples=[1]
    )

    @model_validator(mode="after")
    def _names_something(self) -> Self:
        if self.kind is None and self.variety_id is None:
            raise Misfit("kind-or-variety")
        return self


class FloweringChange(FloweringFields, ChangeForm):
    """What to change of it; unnamed fields stay, null makes a value unknown again."""

    site_id: RowId = Field(description=_SITE, examples=[1])


class WindowStated(WindowFields, Form):
    """When a kind flowers with you, which goes before the packaged window.

    Days of the year, 1 January being 1; from_day over to_day spans New Year.
    """

    source: Reason = Field(
        description="Where the days come from.", examples=["my notebook, four summers"]
    )


class GearCreate(GearFields, Form):
    """Equipment that keeps pollen out."""


class GearChange(GearFields, ChangeForm):
    """What to change of the gear; unnamed fields stay, null makes a value unknown again."""


class LimitsChange(LimitsFields, ChangeForm):
    """What a season's work allows; unnamed fields stay."""


_CROP_SITE = "Number of the site it flowers on."
_CROP_YEAR = "Year it flowers; worked out from the sowing and the kind's life cycle if left out."
_PURPOSE = "Home use, keeping the variety, or keeping a rare one."
_ISOLATION = "What keeps it from crossing."
_CROP_GEAR = "Number of the isolation gear used."
_KEPT = "Plants seed is taken from."
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


class SeedCropCreate(SeedCropFields, Form):
    """A variety to be grown for seed."""

    variety_id: RowId | None = Field(
        default=None,
        description="Number of the variety; the lot's if left out.",
        examples=[1],
    )
    lot: LotCode | None = Field(
        default=None, description="Code of the lot to sow, if chosen.", examples=["4K7PM"]
    )
    site_id: RowId = Field(description=_CROP_SITE, examples=[1])
    flower_year: Season | None = Field(default=None, description=_CROP_YEAR, examples=[2027])
    gear_id: RowId | None = Field(default=None, description=_CROP_GEAR, examples=[1])
    sow: SeedCropSow | None = Field(default=None, description="If it is sown already.")

    @model_validator(mode="after")
    def _names_something(self) -> Self:
        if self.variety_id is None and self.lot is None:
            raise Misfit("variety-or-lot")
        return self


class PlannedCropStart(Form):
    """A seed crop of the plan kept last, to be begun as it is planned."""

    variety_id: RowId = Field(description="Number of the variety.", examples=[1])
    flower_year: Season = Field(description="Year the plan has it flower.", examples=[2027])


class SeedCropSought(Form):
    """A seed crop only thought of: what may cross with it?"""

    site_id: RowId = Field(description=_CROP_SITE, examples=[1])
    year: Season = Field(description="Year it flowers.", examples=[2027])
    purpose: Purpose = Field(default=Purpose.KEEP, description=_PURPOSE, examples=["keep"])
    isolation: Isolation = Field(
        default=Isolation.UNKNOWN, description=_ISOLATION, examples=["cage"]
    )


class SeedCropChange(GrownCropFields, ChangeForm):
    """What to change of a seed crop; unnamed fields stay, null makes a value unknown again."""

    lot: LotCode | None = Field(description="Code of the lot it is grown from.", examples=["4K7PM"])
    site_id: RowId = Field(description=_CROP_SITE, examples=[1])
    flower_year: Season = Field(description=_CROP_YEAR, examples=[2027])
    gear_id: RowId | None = Field(description=_CROP_GEAR, examples=[1])


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
            raise Misfit("weight-error-without-weight")
        return self


class SeedCropFail(Form):
    """A seed crop that gave no seed."""

    failed_on: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2027-02-20"]
    )
    why: Reason = Field(description="What happened.", examples=["voles took the roots"])


class SeedCropRecord(GrownCropFields, Form):
    """A seed crop that stands or is over, told whole as it is on record elsewhere."""

    variety_id: RowId
    site_id: RowId
    flower_year: Season
    planned_on: Day
    lot_id: RowId | None = None
    gear_id: RowId | None = None
    sown_on: Day | None = None
    sowing_id: RowId | None = None
    harvested_on: Day | None = None
    result_lot_id: RowId | None = None
    failed_on: Day | None = None
    why_failed: Reason | None = None
