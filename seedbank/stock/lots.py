"""Lots: one harvest of one variety from one source, in one or more packets."""

from datetime import date, datetime
from enum import StrEnum

from sqlalchemy import CheckConstraint
from sqlmodel import Field, SQLModel

from seedbank.stock.base import Editable, UtcDateTime, word


class Origin(StrEnum):
    BOUGHT = "bought"
    SWAPPED = "swapped"
    GIFT = "gift"
    SELF_SAVED = "self-saved"
    COLLECTED = "collected"


class Isolation(StrEnum):
    """What kept the seed parents from crossing."""

    UNKNOWN = "unknown"
    NONE = "none"
    DISTANCE = "distance"
    TIME = "time"
    CAGE = "cage"
    BAG = "bag"
    HAND_POLLINATION = "hand-pollination"
    ONLY_VARIETY = "only-variety"


class Lot(Editable, table=True):
    __tablename__ = "lot"
    __table_args__ = (
        CheckConstraint("harvest_year BETWEEN 1800 AND 2200", name="harvest_year"),
        CheckConstraint("generation >= 0", name="generation"),
        CheckConstraint("seed_parents >= 1", name="seed_parents"),
        CheckConstraint("thousand_seed_weight_g > 0", name="thousand_seed_weight_g"),
    )

    id: int | None = Field(default=None, primary_key=True)
    code: str = Field(max_length=12, unique=True, description="short code with a check character")
    variety_id: int = Field(foreign_key="variety.id", index=True)
    origin: Origin = Field(sa_type=word(Origin), index=True)
    donor: str = Field(default="", max_length=200, description="supplier, swapper or giver")
    harvest_year: int | None = Field(default=None, index=True)
    harvest_date: date | None = Field(default=None)
    harvest_estimated: bool = Field(default=False)
    acquired_on: date | None = Field(default=None)
    generation: int | None = Field(default=None, description="generations saved here")
    seed_parents: int | None = Field(default=None, description="plants the seed was taken from")
    isolation: Isolation = Field(default=Isolation.UNKNOWN, sa_type=word(Isolation))
    treated: bool = Field(default=False, description="seed carries a chemical treatment")
    thousand_seed_weight_g: float | None = Field(default=None, description="as measured")
    thousand_seed_weight_se_g: float | None = Field(default=None)
    notes: str = Field(default="", max_length=4000)
    created_at: datetime = Field(sa_type=UtcDateTime)


class CodeCounter(SQLModel, table=True):
    """How many lot codes were given out: one row, so that no code ever names a second lot."""

    __tablename__ = "code_counter"
    __table_args__ = (CheckConstraint("id = 1", name="one_row"),)

    id: int = Field(default=1, primary_key=True)
    given_out: int = Field(default=0)


class LotParent(SQLModel, table=True):
    """A lot's parent lot; a mixed lot has several."""

    __tablename__ = "lot_parent"

    lot_id: int = Field(foreign_key="lot.id", primary_key=True)
    parent_id: int = Field(foreign_key="lot.id", primary_key=True, index=True)
