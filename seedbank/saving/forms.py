"""Forms for sites, isolation gear, flowerings and windows, and seed crops."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from seedbank.common.errors import Misfit
from seedbank.common.forms import (
    WHOLE,
    Celsius,
    Day,
    Flag,
    Form,
    LotCode,
    Name,
    Notes,
    Real,
    Reason,
    Remark,
    RowId,
    Seeds,
    SomeSeeds,
    confirmed,
    left_alone,
)
from seedbank.kinds.tables import Slug
from seedbank.lots.forms import Amount
from seedbank.lots.tables.lots import Isolation, Weight, WeightError
from seedbank.saving.tables import GearKind
from seedbank.science.crossing.crossing_risk import Purpose
from seedbank.science.crossing.crossing_stands import StandIs
from seedbank.sowing.tables import Protection, SowingMethod

SquareMetres = Annotated[Real, Field(ge=0, le=1_000_000)]
Distance = Annotated[Real, Field(ge=0, le=100_000)]

_BED = "Bed that may be given to seed crops there, m²; unknown if left out."


class SiteCreate(Form):
    """Ground plants flower on: a garden, an allotment, a borrowed corner."""

    name: Name = Field(description="Its name.", examples=["Long garden"])
    seed_bed_m2: SquareMetres | None = Field(default=None, description=_BED, examples=[12.0])
    notes: Notes = Field(default="", description="Anything else.", examples=["hedged all round"])


class SiteChange(Form):
    """What to change of a site; unnamed fields stay, null makes a value unknown again."""

    name: Name = left_alone("Its name.", "Long garden")
    seed_bed_m2: SquareMetres | None = left_alone(_BED, 9.0)
    notes: Notes = left_alone("Anything else.", "hedge cut down in 2026")


class DistanceStated(Form):
    """How far another site is, as pollen goes."""

    metres: Distance = Field(description="Metres.", examples=[640.0])


Season = Annotated[int, Field(strict=True, ge=1900, le=2199), WHOLE]
DayOfYear = Annotated[int, Field(strict=True, ge=1, le=366), WHOLE]

_YEAR = "Year it flowers."
_SITE = "Number of the site it stands on, or is measured from."
_KIND = "Slug of its kind; taken from the variety where that is given."
_VARIETY = "Number of its variety, if it is one of yours."
_WHAT = "A seed crop, left to run to seed, self-sown, a neighbour's, or wild."
_DISTANCE = "Metres from the site to a neighbour's or wild plants; unknown if left out."
_FROM = "First open flower; the kind's usual day if left out."
_TO = "Last open flower; the kind's usual day if left out."
_STOPPED = "Day it was cut down or pulled; before the first flower it can cross with nothing."


class FloweringCreate(Form):
    """Plants that flower in a year, wanted or not."""

    year: Season = Field(description=_YEAR, examples=[2027])
    site_id: RowId = Field(description=_SITE, examples=[1])
    kind: Slug | None = Field(default=None, description=_KIND, examples=["chard"])
    variety_id: RowId | None = Field(default=None, description=_VARIETY, examples=[1])
    what: StandIs = Field(description=_WHAT, examples=["left-to-run"])
    distance_m: Distance | None = Field(default=None, description=_DISTANCE, examples=[300.0])
    from_date: Day | None = Field(default=None, description=_FROM, examples=["2027-06-10"])
    to_date: Day | None = Field(default=None, description=_TO, examples=["2027-07-20"])
    stopped_on: Day | None = Field(default=None, description=_STOPPED, examples=["2027-02-28"])
    notes: Notes = Field(default="", description="Anything else.", examples=["two plants"])

    @model_validator(mode="after")
    def _names_something(self) -> Self:
        if self.kind is None and self.variety_id is None:
            raise Misfit("kind-or-variety")
        return self


class FloweringChange(Form):
    """What to change of it; unnamed fields stay, null makes a value unknown again."""

    year: Season = left_alone(_YEAR, 2027)
    site_id: RowId = left_alone(_SITE, 1)
    what: StandIs = left_alone(_WHAT, "self-sown")
    distance_m: Distance | None = left_alone(_DISTANCE, 250.0)
    from_date: Day | None = left_alone(_FROM, "2027-06-14")
    to_date: Day | None = left_alone(_TO, "2027-07-16")
    stopped_on: Day | None = left_alone(_STOPPED, "2027-02-28")
    notes: Notes = left_alone("Anything else.", "pulled up")


class WindowStated(Form):
    """When a kind flowers with you, which goes before the packaged window.

    Days of the year, 1 January being 1; from_day over to_day spans New Year.
    """

    from_day: DayOfYear = Field(description="First day in flower.", examples=[160])
    to_day: DayOfYear = Field(description="Last day in flower.", examples=[205])
    source: Reason = Field(
        description="Where the days come from.", examples=["my notebook, four summers"]
    )


Pieces = Annotated[int, Field(strict=True, ge=1, le=10_000), WHOLE]
Cover = Annotated[Real, Field(gt=0, le=10_000)]
Crops = Annotated[int, Field(strict=True, ge=0, le=10_000), WHOLE]

_GEAR = "A cage over whole plants, bags over single trusses or heads, or a net."
_PIECES = "How many there are, all alike."
_COVER = "What one of them covers, m²; unknown if left out."
_CROPS = "Seed crops a season's work allows; null: no limit."


class GearCreate(Form):
    """Equipment that keeps pollen out."""

    name: Name = Field(description="Its name.", examples=["Gauze cages"])
    gear: GearKind = Field(description=_GEAR, examples=["cage"])
    pieces: Pieces = Field(default=1, description=_PIECES, examples=[3])
    covers_m2: Cover | None = Field(default=None, description=_COVER, examples=[1.8])
    notes: Notes = Field(default="", description="Anything else.", examples=["one is torn"])


class GearChange(Form):
    """What to change of the gear; unnamed fields stay, null makes a value unknown again."""

    name: Name = left_alone("Its name.", "Gauze cages")
    gear: GearKind = left_alone(_GEAR, "net")
    pieces: Pieces = left_alone(_PIECES, 2)
    covers_m2: Cover | None = left_alone(_COVER, 2.0)
    notes: Notes = left_alone("Anything else.", "mended")


class LimitsChange(Form):
    """What a season's work allows; unnamed fields stay."""

    seed_crops_a_year: Crops | None = left_alone(_CROPS, 8)


_CROP_SITE = "Number of the site it flowers on."
_SOW_ON = "Day it is to be sown."
_CROP_YEAR = "Year it flowers; worked out from the sowing and the kind's life cycle if left out."
_PURPOSE = "Home use, keeping the variety, or keeping a rare one."
_ISOLATION = "What keeps it from crossing."
_CROP_GEAR = "Number of the isolation gear used."
_STARTED = "Plants raised as seed parents."
_ROGUED = "Plants pulled out for being untrue, weak or sick."
_KEPT = "Plants seed is taken from."
_CROP_FROM = "First open flower seen."
_CROP_TO = "Last open flower seen."
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
    site_id: RowId = Field(description=_CROP_SITE, examples=[1])
    sow_on: Day | None = Field(default=None, description=_SOW_ON, examples=["2026-06-20"])
    flower_year: Season | None = Field(default=None, description=_CROP_YEAR, examples=[2027])
    purpose: Purpose = Field(description=_PURPOSE, examples=["keep"])
    isolation: Isolation = Field(
        default=Isolation.UNKNOWN, description=_ISOLATION, examples=["cage"]
    )
    gear_id: RowId | None = Field(default=None, description=_CROP_GEAR, examples=[1])
    parents_started: Seeds | None = Field(default=None, description=_STARTED, examples=[40])
    sow: SeedCropSow | None = Field(default=None, description="If it is sown already.")
    notes: Notes = Field(default="", description="Anything else.", examples=["north end"])

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


class SeedCropChange(Form):
    """What to change of a seed crop; unnamed fields stay, null makes a value unknown again."""

    lot: LotCode | None = left_alone("Code of the lot it is grown from.", "4K7PM")
    site_id: RowId = left_alone(_CROP_SITE, 1)
    sow_on: Day | None = left_alone(_SOW_ON, "2026-06-24")
    flower_year: Season = left_alone(_CROP_YEAR, 2027)
    purpose: Purpose = left_alone(_PURPOSE, "rare")
    isolation: Isolation = left_alone(_ISOLATION, "cage")
    gear_id: RowId | None = left_alone(_CROP_GEAR, 1)
    parents_started: Seeds | None = left_alone(_STARTED, 40)
    parents_rogued: Seeds | None = left_alone(_ROGUED, 3)
    parents_kept: Seeds | None = left_alone(_KEPT, 32)
    flower_from: Day | None = left_alone(_CROP_FROM, "2027-06-12")
    flower_to: Day | None = left_alone(_CROP_TO, "2027-07-18")
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
            raise Misfit("weight-error-without-weight")
        return self


class SeedCropFail(Form):
    """A seed crop that gave no seed."""

    failed_on: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2027-02-20"]
    )
    why: Reason = Field(description="What happened.", examples=["voles took the roots"])
