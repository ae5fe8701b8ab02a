"""What changes with anything that says how alive lots are, or what to do with them."""

from collections.abc import Iterator

from sqlalchemy import Subquery, func
from sqlmodel import Session, col

from seedbank.database.cache import Stamp, edited, stamp_of, weighed
from seedbank.germination.tables import GerminationTest
from seedbank.kinds.tables import Kind, KindFact, Variety
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.tables.lots import Lot
from seedbank.lots.tables.places import Place, Stay


def alive_stamp(session: Session) -> Stamp:
    """Changes with anything that says how alive a lot is: tests, stores, ages, kinds."""
    return stamp_of(session, alive)


def judged_stamp(session: Session) -> Stamp:
    """Changes with anything a lot's verdict rests on: as ``alive_stamp``, and the amounts."""
    return stamp_of(session, alive, open_tests, amounts)


def alive() -> Iterator[Subquery]:
    yield from edited(Lot, last=Lot.created_at)
    yield from edited(Variety, last=Variety.kind_id)
    yield from edited(Kind)
    yield from edited(Place)
    yield from weighed(KindFact, func.length(col(KindFact.value)), col(KindFact.kind_id))
    yield from weighed(Stay, col(Stay.place_id), col(Stay.lot_id), last=Stay.from_date)
    # A test still running says nothing yet, so counting it changes nothing.
    finished = col(GerminationTest.finished_on).is_not(None)
    worth = (GerminationTest.viable_seeds, GerminationTest.normal_seeds)
    versions = (GerminationTest.version, *worth)
    last = GerminationTest.created_at
    yield from weighed(GerminationTest, *map(col, versions), last=last, where=finished)


def open_tests() -> Iterator[Subquery]:
    running = col(GerminationTest.finished_on).is_(None)
    yield from weighed(GerminationTest, col(GerminationTest.lot_id), where=running)


def amounts() -> Iterator[Subquery]:
    signed = (col(Movement.seeds), col(Movement.lot_id))
    yield from weighed(Movement, *signed, last=Movement.recorded_at)
