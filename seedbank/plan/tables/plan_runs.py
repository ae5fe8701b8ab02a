"""Plans as they were made, so that the next one can change as little as it must."""

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, CheckConstraint, select
from sqlmodel import Field, Session, SQLModel, col

from seedbank.database.base import UtcDateTime


class PlanRun(SQLModel, table=True):
    """One plan: the years it spans and the seed crops it chose, as JSON objects in a list."""

    __tablename__ = "plan_run"
    __table_args__ = (
        CheckConstraint("horizon_years >= 1", name="horizon_years"),
        CheckConstraint("first_year BETWEEN 1900 AND 2199", name="first_year"),
    )

    id: int | None = Field(default=None, primary_key=True)
    first_year: int
    horizon_years: int
    choices: list[dict[str, Any]] = Field(sa_type=JSON)
    created_at: datetime = Field(sa_type=UtcDateTime)


class PlanTold(SQLModel, table=True):
    """What a plan said when it was made: its reasons and what would help, as a JSON object."""

    __tablename__ = "plan_told"

    plan_run_id: int = Field(primary_key=True, foreign_key="plan_run.id")
    told: str


def keep_plan_run(
    session: Session,
    *,
    first_year: int,
    horizon_years: int,
    choices: list[dict[str, Any]],
    now: datetime,
) -> PlanRun:
    """Put a plan on record, and flush."""
    run = PlanRun(
        first_year=first_year, horizon_years=horizon_years, choices=choices, created_at=now
    )
    session.add(run)
    session.flush()
    return run


def latest_plan_run(session: Session) -> PlanRun | None:
    """The plan made last; None: there was none yet."""
    query = select(PlanRun).order_by(col(PlanRun.id).desc()).limit(1)
    run: PlanRun | None = session.execute(query).scalar_one_or_none()
    return run


def keep_plan_told(session: Session, number: int, told: str) -> None:
    """Put on record what the plan with this number said."""
    session.add(PlanTold(plan_run_id=number, told=told))


def plan_told(session: Session, number: int) -> str | None:
    """What the plan with this number said; None: that wasn't kept."""
    row = session.get(PlanTold, number)
    return None if row is None else row.told
