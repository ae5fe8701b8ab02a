"""Places seed is kept, with their yearly swing, and each lot's stays in them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field
from sqlalchemy import CheckConstraint, ColumnElement, UniqueConstraint, select, text
from sqlalchemy.orm import aliased
from sqlmodel import Field as Stored
from sqlmodel import Session, SQLModel, col

from seedbank.common.errors import Missing
from seedbank.common.fields import Fields, optional
from seedbank.common.forms import Celsius, Flag, Name, Notes, Real
from seedbank.database.base import Editable
from seedbank.database.find import about
from seedbank.database.queries import FIRST, Order, Page, Paging, fetch, page_of
from seedbank.database.references import goes_along
from seedbank.lots.tables.lots import Lot

Humidity = Annotated[Real, Field(ge=1, le=99)]
Moisture = Annotated[Real, Field(ge=1, le=50)]


class PlaceFields(Fields):
    """What is known of a place. Between winter and summer values follow a yearly cosine.

    ``sealed`` seed keeps the moisture it went in with: ``seed_moisture_pct`` if known, else the
    moisture in balance with the place's humidity. Open seed follows the air. Unknown values stay
    empty and widen every answer.
    """

    name: Annotated[Name, Stored(unique=True)] = Field(
        description="Its name.", examples=["Shed shelf"]
    )
    temp_winter_c: Celsius | None = optional(
        "Coldest month's mean temperature, °C; the year swings between winter and summer.",
        4.0,
        3.0,
        default=None,
    )
    temp_summer_c: Celsius | None = optional(
        "Warmest month's mean temperature, °C.", 24.0, 26.5, default=None
    )
    rh_winter_pct: Humidity | None = optional(
        "Mean relative humidity of the air in winter, %.", 80.0, 78.0, default=None
    )
    rh_summer_pct: Humidity | None = optional(
        "Mean relative humidity of the air in summer, %.", 60.0, 55.0, default=None
    )
    seed_moisture_pct: Moisture | None = optional(
        "Moisture of the seed itself, % of fresh weight, where known.", 6.5, 6.0, default=None
    )
    sealed: Flag = optional(
        "Airtight: seed keeps the moisture it went in with.", False, True, default=False
    )
    notes: Notes = optional(
        "Anything else.", "north wall", "moved to the south wall in 2026", default=""
    )


class Place(PlaceFields, Editable, table=True):
    __tablename__ = "place"
    __table_args__ = (
        CheckConstraint("temp_winter_c BETWEEN -40 AND 60", name="temp_winter_c"),
        CheckConstraint("temp_summer_c BETWEEN -40 AND 60", name="temp_summer_c"),
        CheckConstraint("rh_winter_pct BETWEEN 1 AND 99", name="rh_winter_pct"),
        CheckConstraint("rh_summer_pct BETWEEN 1 AND 99", name="rh_summer_pct"),
        CheckConstraint("seed_moisture_pct BETWEEN 1 AND 50", name="seed_moisture_pct"),
    )


class Stay(SQLModel, table=True):
    """A lot put in a place on a day; it stays there until its next stay begins.

    ``sealed_anew``: the place was sealed anew that day, or its seed dried again, and all that lay
    in it with it: whether it closes is another question from then on.
    """

    __tablename__ = "stay"
    __table_args__ = (UniqueConstraint("lot_id", "from_date"),)

    id: int | None = Stored(default=None, primary_key=True)
    lot_id: int = Stored(foreign_key="lot.id", sa_column_kwargs=goes_along())
    place_id: int = Stored(foreign_key="place.id", index=True)
    from_date: date
    sealed_anew: bool = Stored(default=False, sa_column_kwargs={"server_default": text("false")})


@dataclass(frozen=True, slots=True)
class StayEntry:
    """A lot's stay in a place, from ``stay.from_date`` to ``until`` (None: it is there still)."""

    stay: Stay
    place: Place
    until: date | None


def get_place(session: Session, place_id: int) -> Place:
    """The place with this id. Raises Missing: there is none."""
    return fetch(session, Place, place_id, what="place")


def find_place(session: Session, number: int) -> Place:
    """The place with this number. Raises NotThere."""
    with about("id"):
        return get_place(session, number)


def find_places(session: Session, paging: Paging = FIRST) -> Page[Place]:
    """A page of the places by name. Raises BadValue: limit or cursor."""
    return page_of(session, select(Place), Order(Place.name, Place.id), paging)


def move_lot(
    session: Session, *, lot_id: int, place_id: int, from_date: date, sealed_anew: bool = False
) -> Stay:
    """Put a lot in a place from a day on, until its next stay begins; flushes, never commits.

    A second move on one day replaces the first. A day in the past fills in the history.
    Raises Missing: no such lot or place.
    """
    get_place(session, place_id)
    lock = select(col(Lot.id)).where(col(Lot.id) == lot_id).with_for_update()
    if session.execute(lock).first() is None:
        raise Missing("lot", lot_id)
    same_day = select(Stay).where(col(Stay.lot_id) == lot_id, col(Stay.from_date) == from_date)
    stay = session.execute(same_day).scalar_one_or_none()
    if stay is None:
        stay = Stay(lot_id=lot_id, place_id=place_id, from_date=from_date)
    stay.place_id, stay.sealed_anew = place_id, sealed_anew
    session.add(stay)
    session.flush()
    return stay


def stays(session: Session, lot_ids: Iterable[int]) -> dict[int, list[StayEntry]]:
    """Each lot's history of places, earliest first, in one query."""
    found: dict[int, list[StayEntry]] = {lot_id: [] for lot_id in lot_ids}
    query = (
        select(Stay, Place)
        .join(Place, col(Place.id) == col(Stay.place_id))
        .where(col(Stay.lot_id).in_(found))
        .order_by(col(Stay.lot_id), col(Stay.from_date))
    )
    newest_first = reversed(list(session.execute(query)))
    for stay, place in newest_first:
        later = found[stay.lot_id]
        later.insert(0, StayEntry(stay, place, later[0].stay.from_date if later else None))
    return found


def is_last_stay() -> ColumnElement[bool]:
    """Whether a stay is its lot's last: no stay begins in days to come, so it is there now."""
    later = aliased(Stay)
    moved_on = select(later).where(
        col(later.lot_id) == col(Stay.lot_id), col(later.from_date) > col(Stay.from_date)
    )
    is_last: ColumnElement[bool] = ~moved_on.exists()
    return is_last


def lots_kept_in(session: Session, place_id: int, on: date) -> frozenset[int]:
    """Ids of the lots whose stay on a day is in this place."""
    later = aliased(Stay)
    moved_on = select(later).where(
        col(later.lot_id) == col(Stay.lot_id),
        col(later.from_date) > col(Stay.from_date),
        col(later.from_date) <= on,
    )
    query = select(col(Stay.lot_id)).where(
        col(Stay.place_id) == place_id, col(Stay.from_date) <= on, ~moved_on.exists()
    )
    return frozenset(session.execute(query).scalars())
