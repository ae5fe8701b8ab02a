"""Places seed is kept, with their yearly swing, and each lot's stays in them."""

from datetime import date

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlmodel import Field, SQLModel

from seedbank.stock.base import Editable


class Place(Editable, table=True):
    """Where seed is kept. Between its winter and summer values conditions follow a yearly cosine.

    ``sealed`` seed keeps the moisture it went in with: ``seed_moisture_pct`` (% fresh weight) if
    known, else the moisture in balance with the place's humidity. Open seed follows the air:
    ``rh_*_pct`` (relative humidity). Unknown values stay empty and widen every answer.
    """

    __tablename__ = "place"
    __table_args__ = (
        CheckConstraint("temp_winter_c BETWEEN -40 AND 60", name="temp_winter_c"),
        CheckConstraint("temp_summer_c BETWEEN -40 AND 60", name="temp_summer_c"),
        CheckConstraint("rh_winter_pct BETWEEN 1 AND 99", name="rh_winter_pct"),
        CheckConstraint("rh_summer_pct BETWEEN 1 AND 99", name="rh_summer_pct"),
        CheckConstraint("seed_moisture_pct BETWEEN 1 AND 50", name="seed_moisture_pct"),
    )

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(max_length=120, unique=True)
    temp_winter_c: float | None = Field(default=None)
    temp_summer_c: float | None = Field(default=None)
    rh_winter_pct: float | None = Field(default=None)
    rh_summer_pct: float | None = Field(default=None)
    seed_moisture_pct: float | None = Field(default=None)
    sealed: bool = Field(default=False)
    notes: str = Field(default="", max_length=4000)


class Stay(SQLModel, table=True):
    """A lot put in a place on a day; it stays there until its next stay begins."""

    __tablename__ = "stay"
    __table_args__ = (UniqueConstraint("lot_id", "from_date"),)

    id: int | None = Field(default=None, primary_key=True)
    lot_id: int = Field(foreign_key="lot.id")
    place_id: int = Field(foreign_key="place.id", index=True)
    from_date: date
