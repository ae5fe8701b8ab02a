"""Choices the gardener pins, which a plan then keeps to."""

from dataclasses import dataclass

from sqlalchemy import CheckConstraint, select
from sqlmodel import Field, Session, col

from seedbank.database.base import Editable, word
from seedbank.database.find import about
from seedbank.database.queries import Cursor, Page, fetch, page_of
from seedbank.lots.tables.lots import Isolation


class PlanPin(Editable, table=True):
    """A variety wanted, or not wanted, as a seed crop that flowers in a year.

    ``site_id`` and ``isolation`` narrow it: that site only, isolated in that way only; None: any.
    """

    __tablename__ = "plan_pin"
    __table_args__ = (CheckConstraint("year BETWEEN 1900 AND 2199", name="year"),)

    id: int | None = Field(default=None, primary_key=True)
    variety_id: int = Field(foreign_key="variety.id", index=True)
    year: int = Field(index=True)
    site_id: int | None = Field(default=None, foreign_key="site.id", index=True)
    wanted: bool = Field(default=True, description="False: not then, or not there")
    isolation: Isolation | None = Field(
        default=None, sa_type=word(Isolation), description="isolated in this way only"
    )
    notes: str = Field(default="", max_length=4000)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPinFilter:
    """What the pins must all be; None asks nothing."""

    variety_id: int | None = None
    year: int | None = None


def get_plan_pin(session: Session, pin_id: int) -> PlanPin:
    """The pin with this id. Raises Missing: there is none."""
    return fetch(session, PlanPin, pin_id, what="plan pin")


def find_plan_pin(session: Session, number: int) -> PlanPin:
    """The plan pin with this number. Raises NotThere."""
    with about("id"):
        return get_plan_pin(session, number)


def find_plan_pins(
    session: Session,
    wanted: PlanPinFilter | None = None,
    *,
    after: Cursor | None = None,
    limit: int = 50,
) -> Page[PlanPin]:
    """A page of the pins by year. Raises BadValue: limit or cursor."""
    wanted = wanted or PlanPinFilter()
    query = select(PlanPin)
    if wanted.variety_id is not None:
        query = query.where(col(PlanPin.variety_id) == wanted.variety_id)
    if wanted.year is not None:
        query = query.where(col(PlanPin.year) == wanted.year)
    return page_of(
        session,
        query,
        sort=PlanPin.year,
        row_id=PlanPin.id,
        after=after,
        limit=limit,
        read=lambda row: row[0],
    )


def pins_between(session: Session, first_year: int, last_year: int) -> list[PlanPin]:
    """Every pin for the years from the first to the last, by year and id."""
    query = (
        select(PlanPin)
        .where(col(PlanPin.year).between(first_year, last_year))
        .order_by(col(PlanPin.year), col(PlanPin.id))
    )
    return list(session.execute(query).scalars())
