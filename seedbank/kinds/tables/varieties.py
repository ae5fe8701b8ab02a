"""Varieties: what the gardener wants kept, and how alone they are in keeping it."""

from dataclasses import dataclass
from enum import StrEnum

from sqlalchemy import CheckConstraint, UniqueConstraint, func, or_, select
from sqlmodel import Field, Session, col

from seedbank.database.base import Editable, word
from seedbank.database.find import about
from seedbank.database.queries import Cursor, Page, fetch, page_of
from seedbank.kinds.tables.kinds import Kind


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
    reserve_seeds: int = Field(default=0, description="seeds that advice keeps back")
    notes: str = Field(default="", max_length=4000)


@dataclass(frozen=True, slots=True, kw_only=True)
class VarietyFilter:
    """What the varieties must all be; None asks nothing."""

    kind_slug: str | None = None
    breeding: Breeding | None = None
    other_keepers: OtherKeepers | None = None
    text: str | None = None  # each word in the name, the kind's name or the notes


@dataclass(frozen=True, slots=True)
class VarietyEntry:
    """A variety in a list, with its kind."""

    variety: Variety
    kind: Kind


def get_variety(session: Session, variety_id: int) -> Variety:
    """The variety with this id. Raises Missing: there is none."""
    return fetch(session, Variety, variety_id, what="variety")


def find_variety(session: Session, number: int) -> Variety:
    """The variety with this number. Raises NotThere."""
    with about("id"):
        return get_variety(session, number)


def varieties_named(
    session: Session, name: str, *, kind_id: int | None = None
) -> list[VarietyEntry]:
    """The varieties of this name, whatever its case, of one kind or of all."""
    query = (
        select(Variety, Kind)
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(func.lower(col(Variety.name)) == name.lower())
        .order_by(col(Variety.id))
    )
    if kind_id is not None:
        query = query.where(col(Variety.kind_id) == kind_id)
    return [VarietyEntry(variety, kind) for variety, kind in session.execute(query)]


def find_varieties(
    session: Session,
    wanted: VarietyFilter | None = None,
    *,
    after: Cursor | None = None,
    limit: int = 50,
) -> Page[VarietyEntry]:
    """A page of the varieties by name. Raises BadValue: limit or cursor."""
    wanted = wanted or VarietyFilter()
    query = select(Variety, Kind).join(Kind, col(Kind.id) == col(Variety.kind_id))
    if wanted.kind_slug is not None:
        query = query.where(col(Kind.slug) == wanted.kind_slug)
    if wanted.breeding is not None:
        query = query.where(col(Variety.breeding) == wanted.breeding)
    if wanted.other_keepers is not None:
        query = query.where(col(Variety.other_keepers) == wanted.other_keepers)
    for piece in (wanted.text or "").split():
        columns = (Variety.name, Kind.name, Variety.notes)
        query = query.where(or_(*(col(c).icontains(piece, autoescape=True) for c in columns)))
    return page_of(
        session,
        query,
        sort=Variety.name,
        row_id=Variety.id,
        after=after,
        limit=limit,
        read=lambda row: VarietyEntry(row[0], row[1]),
    )
