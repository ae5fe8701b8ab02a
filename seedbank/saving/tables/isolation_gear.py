"""Equipment that keeps pollen out: cages, bags, nets; how many and how large."""

from enum import StrEnum

from sqlalchemy import CheckConstraint, select
from sqlmodel import Field, Session, col

from seedbank.database.base import Editable, word
from seedbank.database.find import about
from seedbank.database.queries import Cursor, Page, fetch, page_of


class GearKind(StrEnum):
    CAGE = "cage"
    BAG = "bag"
    NET = "net"


class IsolationGear(Editable, table=True):
    """Pieces of equipment alike. ``covers_m2`` is what one of them covers; None: not measured."""

    __tablename__ = "isolation_gear"
    __table_args__ = (
        CheckConstraint("pieces >= 1", name="pieces"),
        CheckConstraint("covers_m2 > 0", name="covers_m2"),
    )

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(max_length=120, unique=True)
    gear: GearKind = Field(sa_type=word(GearKind))
    pieces: int = Field(default=1, description="how many there are")
    covers_m2: float | None = Field(default=None, description="m2 under one of them")
    notes: str = Field(default="", max_length=4000)


def get_gear(session: Session, gear_id: int) -> IsolationGear:
    """The isolation gear with this id. Raises Missing: there is none."""
    return fetch(session, IsolationGear, gear_id, what="isolation gear")


def find_gear(session: Session, number: int) -> IsolationGear:
    """The isolation gear with this number. Raises NotThere."""
    with about("id"):
        return get_gear(session, number)


def find_all_gear(
    session: Session,
    *,
    gear: GearKind | None = None,
    after: Cursor | None = None,
    limit: int = 50,
) -> Page[IsolationGear]:
    """A page of the gear by name. Raises BadValue: limit or cursor."""
    query = select(IsolationGear)
    if gear is not None:
        query = query.where(col(IsolationGear.gear) == gear)
    return page_of(
        session,
        query,
        sort=IsolationGear.name,
        row_id=IsolationGear.id,
        after=after,
        limit=limit,
        read=lambda row: row[0],
    )
