"""The climate of the garden, and of sites that have their own."""

from enum import StrEnum
from typing import Annotated

from pydantic import Field
from sqlalchemy import JSON, CheckConstraint, select, text
from sqlmodel import Field as Stored
from sqlmodel import Session

from seedbank.common.fields import Fields, optional
from seedbank.common.forms import WHOLE, Line, Real
from seedbank.database.base import Editable, word
from seedbank.database.references import goes_along


class Hemisphere(StrEnum):
    """A half of the world."""

    NORTH = "north"
    SOUTH = "south"


class Known(StrEnum):
    """How much of a climate is known."""

    MONTHS = "months"
    FROST_DATES = "frost-dates"
    HEMISPHERE = "hemisphere"
    NOTHING = "nothing"


Degrees = Annotated[Real, Field(ge=-60, le=60)]
DayOfYear = Annotated[int, Field(strict=True, ge=1, le=366), WHOLE]
Monthly = Annotated[list[Degrees], Field(min_length=12, max_length=12)]
_MONTHLY = [4.5, 4.7, 6.6, 8.9, 12.2, 15.2, 17.4, 17.1, 14.5, 11.0, 7.3, 4.8]


class ClimateFields(Fields):
    """What is known of a garden's year: the more, the more can be told."""

    monthly_c: Annotated[Monthly | None, Stored(sa_type=JSON(none_as_null=True))] = optional(
        "Mean temperature of each month, January first, °C; null: not known.",
        _MONTHLY,
        default=None,
    )
    last_frost_day: DayOfYear | None = optional(
        "Last frost that four springs of five keep, in days of the year (1 January is 1).",
        121,
        default=None,
    )
    first_frost_day: DayOfYear | None = optional("First frost, likewise.", 298, default=None)
    hemisphere: Annotated[Hemisphere | None, Stored(sa_type=word(Hemisphere))] = optional(
        "Half of the world, where no temperature tells it.", "north", default=None
    )
    soil_shift_c: Annotated[Real, Field(ge=-10, le=10)] = optional(
        "How much warmer than reckoned the soil was when it was measured, °C.", 0.5, default=0.0
    )
    source: Line = optional("Where the figures are from.", "weather service, 1991-2020", default="")


class GardenClimate(ClimateFields, Editable, table=True):
    """A climate: row 1 is the garden's and holds at every site that has none of its own.

    The row of a site has the site's number and one as its own, so that no site has two.
    """

    __tablename__ = "garden_climate"
    __table_args__ = (
        CheckConstraint("id = coalesce(site_id, 0) + 1", name="one_row_each"),
        CheckConstraint("last_frost_day BETWEEN 1 AND 366", name="last_frost_day"),
        CheckConstraint("first_frost_day BETWEEN 1 AND 366", name="first_frost_day"),
    )

    site_id: int | None = Stored(
        default=None, foreign_key="site.id", index=True, sa_column_kwargs=goes_along()
    )

    @property
    def tells_nothing(self) -> bool:
        known = (self.monthly_c, self.last_frost_day, self.first_frost_day, self.hemisphere)
        return all(one is None for one in known)


def all_climates(session: Session) -> dict[int | None, GardenClimate]:
    """Every climate told of, by site; None: the garden's."""
    rows = session.execute(select(GardenClimate)).scalars()
    return {row.site_id: row for row in rows}


def climate_row(session: Session, site_id: int | None) -> GardenClimate:
    """The climate of a site or (None) the garden, put in the database first where none was."""
    number = (site_id or 0) + 1
    put_in = (
        "INSERT INTO garden_climate (id, site_id, soil_shift_c, source, version) "
        "VALUES (:id, :site_id, 0, '', 1) ON CONFLICT (id) DO NOTHING"
    )
    session.execute(text(put_in), {"id": number, "site_id": site_id})
    return session.get_one(GardenClimate, number)
