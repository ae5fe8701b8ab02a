"""Choices the gardener pins, and plans as they were made, so that the next can change little."""

from datetime import datetime
from typing import Annotated, Any

from pydantic import Field
from sqlalchemy import JSON, CheckConstraint, select
from sqlmodel import Field as Stored
from sqlmodel import Session, SQLModel, col

from seedbank.climate.tables import GardenClimate
from seedbank.common.fields import Fields, optional
from seedbank.common.forms import Filter, Flag, Notes, VarietyAsked, YearAsked
from seedbank.database.base import Editable, UtcDateTime, word
from seedbank.database.change_counters import topics_of
from seedbank.database.find import about
from seedbank.database.queries import FIRST, Order, Page, Paging, fetch, matching, page_of
from seedbank.lots.tables.lots import Isolation
from seedbank.saving.tables import (
    Flowering,
    FloweringWindow,
    GardenLimits,
    IsolationGear,
    Season,
    SeedCrop,
    Site,
    SiteDistance,
)
from seedbank.viability.tables.change_topics import JUDGED


class PlanPinFields(Fields):
    """A variety wanted, or not wanted, as a seed crop that flowers in a year."""

    year: Annotated[Season, Stored(index=True)] = Field(
        description="Year its seed crop flowers.", examples=[2027, 2028]
    )
    wanted: Flag = optional(
        "False: not in that year, or not on that site.", True, False, default=True
    )
    isolation: Annotated[Isolation | None, Stored(sa_type=word(Isolation))] = optional(
        "Isolated in this way; any way if left out.", "cage", "distance", default=None
    )
    notes: Notes = optional(
        "Why.", "promised to a friend", "the bed is under water every spring", default=""
    )


class PlanPin(PlanPinFields, Editable, table=True):
    """A pin as stored; ``site_id`` narrows it to that site, None: any."""

    __tablename__ = "plan_pin"
    __table_args__ = (CheckConstraint("year BETWEEN 1900 AND 2199", name="year"),)

    variety_id: int = Stored(foreign_key="variety.id", index=True)
    site_id: int | None = Stored(default=None, foreign_key="site.id", index=True)


class PlanPinFilter(Filter):
    variety: VarietyAsked = None
    year: YearAsked = None


def get_plan_pin(session: Session, pin_id: int) -> PlanPin:
    """The pin with this id. Raises Missing: there is none."""
    return fetch(session, PlanPin, pin_id, what="plan pin")


def find_plan_pin(session: Session, number: int) -> PlanPin:
    """The plan pin with this number. Raises NotThere."""
    with about("id"):
        return get_plan_pin(session, number)


def find_plan_pins(
    session: Session, wanted: PlanPinFilter | None = None, paging: Paging = FIRST
) -> Page[PlanPin]:
    """A page of the pins by year. Raises BadValue: limit or cursor."""
    wanted = wanted or PlanPinFilter()
    query = matching(
        select(PlanPin), (col(PlanPin.variety_id), wanted.variety), (col(PlanPin.year), wanted.year)
    )
    return page_of(session, query, Order(PlanPin.year, PlanPin.id), paging)


def pins_between(session: Session, first_year: int, last_year: int) -> list[PlanPin]:
    """Every pin for the years from the first to the last, by year and id."""
    query = (
        select(PlanPin)
        .where(col(PlanPin.year).between(first_year, last_year))
        .order_by(col(PlanPin.year), col(PlanPin.id))
    )
    return list(session.execute(query).scalars())


class PlanRun(SQLModel, table=True):
    """One plan: the years it spans and the seed crops it chose, as JSON objects in a list."""

    __tablename__ = "plan_run"
    __table_args__ = (
        CheckConstraint("horizon_years >= 1", name="horizon_years"),
        CheckConstraint("first_year BETWEEN 1900 AND 2199", name="first_year"),
    )

    id: int | None = Stored(default=None, primary_key=True)
    first_year: int
    horizon_years: int
    choices: list[dict[str, Any]] = Stored(sa_type=JSON)
    created_at: datetime = Stored(sa_type=UtcDateTime)
    made_of: str | None = Stored(
        default=None, max_length=64, description="digest of the stock it was made from"
    )


class PlanReport(SQLModel, table=True):
    """What a plan said when it was made: its reasons and what would help, as a JSON object."""

    __tablename__ = "plan_told"

    plan_run_id: int = Stored(primary_key=True, foreign_key="plan_run.id")
    told: str


def keep_plan_run(
    session: Session,
    *,
    first_year: int,
    horizon_years: int,
    choices: list[dict[str, Any]],
    now: datetime,
    made_of: str | None = None,
) -> PlanRun:
    """Put a plan on record, and flush."""
    run = PlanRun(
        first_year=first_year,
        horizon_years=horizon_years,
        choices=choices,
        created_at=now,
        made_of=made_of,
    )
    session.add(run)
    session.flush()
    return run


def latest_plan_run(session: Session) -> PlanRun | None:
    """The plan made last; None: there was none yet."""
    query = select(PlanRun).order_by(col(PlanRun.id).desc()).limit(1)
    run: PlanRun | None = session.execute(query).scalar_one_or_none()
    return run


def store_plan_report(session: Session, number: int, told: str) -> None:
    """Put on record what the plan with this number said."""
    session.add(PlanReport(plan_run_id=number, told=told))


def plan_report(session: Session, number: int) -> str | None:
    """What the plan with this number said; None: that wasn't kept."""
    row = session.get(PlanReport, number)
    return None if row is None else row.told


PLANNED = (
    *JUDGED,
    *topics_of(Site, SiteDistance, IsolationGear, GardenLimits),
    *topics_of(Flowering, FloweringWindow, GardenClimate, SeedCrop, PlanPin, PlanRun),
)
"""What a saving plan rests on."""
