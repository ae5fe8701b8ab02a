"""The seed ledger: every change of a lot's amount is a movement, and the balance is their sum."""

from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlmodel import Field, SQLModel

from seedbank.stock.base import UtcDateTime, word


class MovementReason(StrEnum):
    ACQUIRED = "acquired"
    HARVESTED = "harvested"
    TESTED = "tested"
    SOWN = "sown"
    GIVEN = "given"
    DISCARDED = "discarded"
    STOCK_TAKE = "stock-take"


class Movement(SQLModel, table=True):
    """One signed change of a lot's amount, in seed units (a beet cluster is one unit).

    ``serial`` counts the lot's movements from 1 and ``balance_seeds`` is the sum so far, so two
    writers can't both take the last seeds: the second breaks the unique (lot, serial).
    ``grams`` is what was weighed, where it was weighed; ``thousand_seed_weight_g`` what converted
    it, and ``seeds_se`` the standard error that conversion (or an estimate by eye) carries.
    """

    __tablename__ = "movement"
    __table_args__ = (
        UniqueConstraint("lot_id", "serial"),
        CheckConstraint("balance_seeds >= 0", name="balance_seeds"),
        CheckConstraint("serial >= 1", name="serial"),
    )

    id: int | None = Field(default=None, primary_key=True)
    lot_id: int = Field(foreign_key="lot.id")
    serial: int
    on_date: date
    reason: MovementReason = Field(sa_type=word(MovementReason))
    seeds: int = Field(description="signed change in seed units")
    seeds_se: float = Field(default=0.0, description="standard error of that change")
    balance_seeds: int = Field(description="sum of the lot's movements up to this one")
    grams: float | None = Field(default=None)
    thousand_seed_weight_g: float | None = Field(default=None)
    note: str = Field(default="", max_length=400)
    recorded_at: datetime = Field(sa_type=UtcDateTime)
