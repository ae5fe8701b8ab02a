"""What a season's work allows: one row for the whole garden."""

from sqlalchemy import CheckConstraint, text
from sqlmodel import Field, Session

from seedbank.database.base import Editable


class GardenLimits(Editable, table=True):
    """Limits of the garden as a whole. None: no limit is set."""

    __tablename__ = "garden_limits"
    __table_args__ = (
        CheckConstraint("id = 1", name="one_row"),
        CheckConstraint("seed_crops_a_year >= 0", name="seed_crops_a_year"),
    )

    id: int = Field(default=1, primary_key=True)
    seed_crops_a_year: int | None = Field(default=None, description="seed crops to look after")


def garden_limits(session: Session) -> GardenLimits:
    """The limits, or unlimited ones not in the database yet if none were ever set."""
    return session.get(GardenLimits, 1) or GardenLimits()


def garden_limits_row(session: Session) -> GardenLimits:
    """The limits, put in the database first where none were ever set."""
    put_in = "INSERT INTO garden_limits (id, version) VALUES (1, 1) ON CONFLICT (id) DO NOTHING"
    session.execute(text(put_in))
    return session.get_one(GardenLimits, 1)
