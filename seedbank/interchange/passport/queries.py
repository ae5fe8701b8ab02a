"""What a lot passport is written from, and what one taken in was made into."""

from datetime import date

from sqlalchemy import func, select
from sqlmodel import Session, col

from seedbank.germination.tables import GerminationTest
from seedbank.kinds.tables import Variety
from seedbank.lots.tables.brought_in import BroughtBy, lots_of_rows
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.places import Place


def finished_tests(session: Session, lot_id: int, *, until: date) -> list[GerminationTest]:
    """A lot's tests finished by a day, earliest first."""
    query = (
        select(GerminationTest)
        .where(
            col(GerminationTest.lot_id) == lot_id,
            col(GerminationTest.finished_on) <= until,
        )
        .order_by(col(GerminationTest.finished_on), col(GerminationTest.id))
    )
    return list(session.execute(query).scalars())


def lot_of_passport(session: Session, digest: str) -> Lot | None:
    """The lot that was made from this passport before.

    Until the transaction ends no other can take the same passport in.
    """
    if session.get_bind().dialect.name == "postgresql":  # SQLite has one writer at a time
        session.execute(select(func.pg_advisory_xact_lock(func.hashtextextended(digest, 0))))
    return lots_of_rows(session, BroughtBy.PASSPORT, [digest]).get(digest)


def variety_named(session: Session, kind_id: int, name: str) -> Variety | None:
    """The kind's variety of this name, whatever its case."""
    query = (
        select(Variety)
        .where(col(Variety.kind_id) == kind_id, func.lower(col(Variety.name)) == func.lower(name))
        .order_by(col(Variety.id))
        .limit(1)
    )
    variety: Variety | None = session.execute(query).scalar_one_or_none()
    return variety


def places_called(session: Session, name: str) -> list[Place]:
    """Places of this name, or of it with a number in brackets behind, by id."""
    start = col(Place.name).startswith(f"{name} (", autoescape=True)
    query = select(Place).where((col(Place.name) == name) | start).order_by(col(Place.id))
    return list(session.execute(query).scalars())
