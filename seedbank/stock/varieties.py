"""Varieties: what the gardener wants kept, and how alone they are in keeping it."""

from enum import StrEnum

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlmodel import Field

from seedbank.stock.base import Editable, word


class Breeding(StrEnum):
    OPEN_POLLINATED = "open-pollinated"
    LANDRACE = "landrace"
    F1 = "f1"
    UNKNOWN = "unknown"


class OtherKeepers(StrEnum):
    """How many other keepers of the variety are known: its rarity, seen from here."""

    NONE = "none"
    FEW = "few"
    MANY = "many"


class Variety(Editable, table=True):
    __tablename__ = "variety"
    __table_args__ = (
        UniqueConstraint("kind_id", "name"),
        CheckConstraint("plants_wanted >= 0", name="plants_wanted"),
        CheckConstraint("reserve_seeds >= 0", name="reserve_seeds"),
    )

    id: int | None = Field(default=None, primary_key=True)
    kind_id: int = Field(foreign_key="kind.id")
    name: str = Field(max_length=120, index=True)
    breeding: Breeding = Field(default=Breeding.UNKNOWN, sa_type=word(Breeding))
    other_keepers: OtherKeepers = Field(default=OtherKeepers.MANY, sa_type=word(OtherKeepers))
    plants_wanted: int = Field(default=0, description="plants wanted each year")
    reserve_seeds: int = Field(default=0, description="seeds never to be sown or given away")
    notes: str = Field(default="", max_length=4000)
