"""Forms for sowings, what came up and was lost, and what to ask of sowing advice.

Values asked of advice may come as text: an address carries nothing else.
"""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import (
    Celsius,
    Day,
    Flag,
    Form,
    LotCode,
    Notes,
    Real,
    Seeds,
    SomeSeeds,
    confirmed,
    left_alone,
)
from seedbank.science.quantities import USUAL_CONFIDENCE
from seedbank.sowing.tables import LossCause, Protection, SowingMethod

Metres = Annotated[Real, Field(gt=0, le=100_000)]

_METHOD = "In a row, at stations, in modules, or broadcast."
_PROTECTION = "What the sowing is kept under."
_ROW = "Length of row, m."
_AREA = "Area, m²."
_STATIONS = "Stations, or cells of a module tray."
_SOIL = "Soil temperature at sowing depth, °C."
_WANTED = "Plants wanted from it."


class SowingCreate(Form):
    """Seed sown. It leaves the lot."""

    lot: LotCode = Field(description="Code of the lot sown.", examples=["4K7PM"])
    seeds_sown: SomeSeeds = Field(description="Seeds sown.", examples=[120])
    sown_on: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-04-02"]
    )
    method: SowingMethod = Field(description=_METHOD, examples=["row"])
    protection: Protection = Field(
        default=Protection.OPEN, description=_PROTECTION, examples=["fleece"]
    )
    row_m: Metres | None = Field(default=None, description=_ROW, examples=[3.5])
    area_m2: Metres | None = Field(default=None, description=_AREA, examples=[1.2])
    stations: SomeSeeds | None = Field(default=None, description=_STATIONS, examples=[24])
    soil_temp_c: Celsius | None = Field(default=None, description=_SOIL, examples=[11.0])
    plants_wanted: Seeds | None = Field(default=None, description=_WANTED, examples=[40])
    notes: Notes = Field(default="", description="Anything else.", examples=["east bed"])
    confirmed: Flag = confirmed()


class SowingChange(Form):
    """What to change of a sowing's description; unnamed fields stay."""

    method: SowingMethod = left_alone(_METHOD, "station")
    protection: Protection = left_alone(_PROTECTION, "tunnel")
    row_m: Metres | None = left_alone(_ROW, 3.0)
    area_m2: Metres | None = left_alone(_AREA, 1.0)
    stations: SomeSeeds | None = left_alone(_STATIONS, 20)
    soil_temp_c: Celsius | None = left_alone(_SOIL, 9.5)
    plants_wanted: Seeds | None = left_alone(_WANTED, 30)
    notes: Notes = left_alone("Anything else.", "watered every day")


class EmergenceCreate(Form):
    """Sown seeds seen to have come up so far: a running total, as one counts a row.

    A beet cluster with three seedlings has come up once.
    """

    on_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-04-16"]
    )
    units_emerged: Seeds = Field(description="Seeds come up so far.", examples=[71])
    correction: Flag = Field(
        default=False,
        description="The totals before were too high: this one may be lower.",
        examples=[False],
    )
    confirmed: Flag = confirmed()


class LossCreate(Form):
    """Seeds or seedlings of a sowing known lost to one cause."""

    on_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-04-20"]
    )
    cause: LossCause = Field(description="What took them.", examples=["eaten"])
    units_lost: SomeSeeds = Field(description="How many.", examples=[9])
    after_emergence: Flag = Field(
        default=False,
        description="Lost as seedlings, once up, rather than in the soil.",
        examples=[True],
    )
    confirmed: Flag = confirmed()


class SowingFinish(Form):
    """No more seedlings are expected."""

    finished_on: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-05-10"]
    )


class SeveralSowings(Form):
    """What was sown of each lot; recorded together or not at all."""

    sowings: list[SowingCreate] = Field(
        min_length=1,
        max_length=20,
        description="One entry a lot.",
        examples=[[{"lot": "4K7PM", "seeds_sown": 120, "method": "row"}]],
    )


Number = Annotated[int, Field(ge=1, le=1_000_000)]
Length = Annotated[float, Field(gt=0, le=100_000)]


class SowingAsk(Form):
    """What is wanted of a sowing; whatever is left out is filled in and said."""

    plants: Annotated[int, Field(ge=1, le=10_000)] | None = Field(
        default=None,
        description="Plants wanted; those the variety is wanted for if left out.",
        examples=[40],
    )
    confidence: float = Field(
        default=USUAL_CONFIDENCE,
        ge=0.5,
        le=0.99,
        description="How sure to be of them, 0.5 to 0.99.",
        examples=[0.9],
    )
    method: SowingMethod | None = Field(
        default=None,
        description="How it is sown; as is usual for the kind if left out.",
        examples=["row"],
    )
    protection: Protection | None = Field(
        default=None,
        description="Kept under; open ground if left out, indoors for modules.",
        examples=["open"],
    )
    soil_temp_c: Annotated[float, Field(ge=-40, le=60)] | None = Field(
        default=None, description="Soil temperature at sowing depth, °C.", examples=[11.0]
    )
    sow_on: Day | None = Field(
        default=None, description="Day of sowing; today if left out.", examples=["2027-04-10"]
    )
    spacing_cm: Annotated[float, Field(ge=0.5, le=1000)] | None = Field(
        default=None,
        description="Final distance in the row, cm; the kind's if left out.",
        examples=[5.0],
    )
    row_m: Length | None = Field(
        default=None, description="Row there is at most, m.", examples=[3.0]
    )
    stations: Number | None = Field(
        default=None, description="Stations there are at most.", examples=[24]
    )
    cells: Number | None = Field(
        default=None, description="Module cells there are at most.", examples=[60]
    )
    use_reserve: bool = Field(
        default=False,
        description="Sow the reserve of a rare variety too, to renew it.",
        examples=[False],
    )
