"""Forms for sowings, what came up and was lost, and what to ask of sowing advice.

Values asked of advice may come as text: an address carries nothing else.
"""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import (
    ChangeForm,
    Day,
    Flag,
    Form,
    LotCode,
    SomeSeeds,
    confirmed,
)
from seedbank.emergence.tables import (
    EmergenceFields,
    LossFields,
    Protection,
    SowingFields,
    SowingMethod,
)


class SowingCreate(SowingFields, Form):
    """Seed sown. It leaves the lot."""

    lot: LotCode = Field(description="Code of the lot sown.", examples=["4K7PM"])
    seeds_sown: SomeSeeds = Field(description="Seeds sown.", examples=[120])
    sown_on: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-04-02"]
    )
    confirmed: Flag = confirmed()


class SowingChange(SowingFields, ChangeForm):
    """What to change of a sowing's description; unnamed fields stay."""


class EmergenceCreate(EmergenceFields, Form):
    """Sown seeds seen to have come up so far: a running total, as one counts a row.

    A beet cluster with three seedlings has come up once.
    """

    on_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-04-16"]
    )
    confirmed: Flag = confirmed()


class LossCreate(LossFields, Form):
    """Seeds or seedlings of a sowing known lost to one cause."""

    on_date: Day | None = Field(
        default=None, description="The day; today if left out.", examples=["2026-04-20"]
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


MOST_PLANTS = 10_000


class SowingAsk(Form):
    """What is wanted of a sowing; whatever is left out is filled in and said."""

    plants: Annotated[int, Field(ge=1, le=MOST_PLANTS)] | None = Field(
        default=None,
        description="Plants wanted; if left out as many as the row, stations or cells have room "
        "for, else those the variety is wanted for.",
        examples=[40],
    )
    confidence: Annotated[float, Field(ge=0.5, le=0.99)] | None = Field(
        default=None,
        description="How sure to be of them from one sowing, 0.5 to 0.99, within what practice "
        "allows; the rate that costs least, a second sowing counted in, if left out.",
        examples=[0.9],
    )
    method: SowingMethod | None = Field(
        default=None,
        description="How it is sown; if left out, as stations or cells named say, else as is usual "
        "for the kind.",
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
    area_m2: Length | None = Field(
        default=None,
        description="Bed there is at most, m²: scattered over, or in rows as far apart as usual.",
        examples=[1.2],
    )
    stations: Number | None = Field(
        default=None, description="Stations there are at most.", examples=[24]
    )
    cells: Number | None = Field(
        default=None, description="Module cells there are at most.", examples=[60]
    )
    plants_a_cell: Annotated[int, Field(ge=2, le=12)] | None = Field(
        default=None, description="Plants to stand together in each module cell.", examples=[4]
    )
    sowings: Annotated[int, Field(ge=2, le=52)] | None = Field(
        default=None, description="Such sowings, one after another, in all.", examples=[4]
    )
    hand_span_cm: Annotated[float, Field(ge=10, le=35)] | None = Field(
        default=None, description="Your spread hand, cm; 20 if left out.", examples=[21.0]
    )
    use_reserve: bool = Field(
        default=False,
        description="Sow the reserve of a rare variety too, to renew it.",
        examples=[False],
    )
