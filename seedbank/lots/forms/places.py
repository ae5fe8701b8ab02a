"""Forms for the places seed is kept in."""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import Celsius, Flag, Form, Name, Notes, Real, left_alone

Humidity = Annotated[Real, Field(ge=1, le=99)]
Moisture = Annotated[Real, Field(ge=1, le=50)]

_WINTER = "Coldest month's mean temperature, °C; the year swings between winter and summer."
_SUMMER = "Warmest month's mean temperature, °C."
_RH_WINTER = "Mean relative humidity of the air in winter, %."
_RH_SUMMER = "Mean relative humidity of the air in summer, %."
_MOISTURE = "Moisture of the seed itself, % of fresh weight, where known."
_SEALED = "Airtight: seed keeps the moisture it went in with."


class PlaceCreate(Form):
    """A place seed is kept. What isn't known is left out, and widens every answer."""

    name: Name = Field(description="Its name.", examples=["Shed shelf"])
    temp_winter_c: Celsius | None = Field(default=None, description=_WINTER, examples=[4.0])
    temp_summer_c: Celsius | None = Field(default=None, description=_SUMMER, examples=[24.0])
    rh_winter_pct: Humidity | None = Field(default=None, description=_RH_WINTER, examples=[80.0])
    rh_summer_pct: Humidity | None = Field(default=None, description=_RH_SUMMER, examples=[60.0])
    seed_moisture_pct: Moisture | None = Field(default=None, description=_MOISTURE, examples=[6.5])
    sealed: Flag = Field(default=False, description=_SEALED, examples=[False])
    notes: Notes = Field(default="", description="Anything else.", examples=["north wall"])


class PlaceChange(Form):
    """What to change of a place; unnamed fields stay, null makes a value unknown again."""

    name: Name = left_alone("Its name.", "Shed shelf")
    temp_winter_c: Celsius | None = left_alone(_WINTER, 3.0)
    temp_summer_c: Celsius | None = left_alone(_SUMMER, 26.5)
    rh_winter_pct: Humidity | None = left_alone(_RH_WINTER, 78.0)
    rh_summer_pct: Humidity | None = left_alone(_RH_SUMMER, 55.0)
    seed_moisture_pct: Moisture | None = left_alone(_MOISTURE, 6.0)
    sealed: Flag = left_alone(_SEALED, True)
    notes: Notes = left_alone("Anything else.", "moved to the south wall in 2026")
