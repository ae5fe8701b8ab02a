"""What stands in the way of undoing movements, for many at once; ``ledger.reverse`` has the say."""

from collections.abc import Collection
from dataclasses import dataclass, field
from enum import StrEnum

from sqlalchemy import func, select
from sqlmodel import Session, col

from seedbank.emergence.tables import Sowing
from seedbank.germination.tables import GerminationTest
from seedbank.lots.tables.ledger import Movement, MovementReason, stands
from seedbank.lots.tables.reversing import lacks_grams_without


class Obstacle(StrEnum):
    """Why a movement can't be undone."""

    UNDOING = "undoing"  # it undoes another itself
    UNDONE = "undone"
    COUNTED_SINCE = "counted-since"
    USED_SINCE = "used-since"


@dataclass(frozen=True, slots=True)
class TakenFor:
    """The test or the sowing (the other is None) whose seed a movement is."""

    test: GerminationTest | None = None
    sowing: Sowing | None = None


def obstacles(session: Session, movements: Collection[Movement]) -> dict[int, Obstacle]:
    """The obstacle to undoing each movement, by its id; none for those that can be undone."""
    lots = {movement.lot_id for movement in movements}
    undone = _undone(session, movements)
    standing = _standing(session, lots)
    held = _held(session, lots)
    found: dict[int, Obstacle] = {}
    for movement in movements:
        assert movement.id is not None
        if movement.reverses_id is not None:
            found[movement.id] = Obstacle.UNDOING
        elif movement.id in undone:
            found[movement.id] = Obstacle.UNDONE
        elif max(standing[movement.lot_id].counts, default=0) > movement.serial:
            found[movement.id] = Obstacle.COUNTED_SINCE
        elif lacks_grams_without(session, movement):
            found[movement.id] = Obstacle.USED_SINCE
        elif standing[movement.lot_id].uncounted_without(movement.serial):
            continue  # there may be any number of seeds
        elif held[movement.lot_id] < (movement.seeds or 0):
            found[movement.id] = Obstacle.USED_SINCE
    return found


def taken_for(session: Session, movements: Collection[Movement]) -> dict[int, TakenFor]:
    """The test or sowing each movement's seed went to, by the movement's id, where there is one."""
    ids = [movement.id for movement in movements]
    lots = {movement.lot_id for movement in movements}  # they have an index, the movements not
    tests = select(GerminationTest).where(
        col(GerminationTest.lot_id).in_(lots), col(GerminationTest.movement_id).in_(ids)
    )
    sowings = select(Sowing).where(col(Sowing.lot_id).in_(lots), col(Sowing.movement_id).in_(ids))
    found: dict[int, TakenFor] = {}
    for test in session.execute(tests).scalars():
        found[test.movement_id] = TakenFor(test=test)
    for sowing in session.execute(sowings).scalars():
        found[sowing.movement_id] = TakenFor(sowing=sowing)
    return found


def _undone(session: Session, movements: Collection[Movement]) -> set[int]:
    ids = [movement.id for movement in movements]
    query = select(col(Movement.reverses_id)).where(col(Movement.reverses_id).in_(ids))
    return {number for number in session.execute(query).scalars() if number is not None}


@dataclass(frozen=True, slots=True)
class _Standing:
    """Serials of what decides whether a lot's amount is known: counts, and uncounted seed."""

    counts: set[int] = field(default_factory=set)
    uncounted: set[int] = field(default_factory=set)

    def uncounted_without(self, serial: int) -> bool:
        """Whether, without one movement, uncounted seed is there that no count came after."""
        last = max(self.uncounted - {serial}, default=0)
        return last > max(self.counts - {serial}, default=0)


def _standing(session: Session, lots: Collection[int]) -> dict[int, _Standing]:
    """Of each lot, what of this is neither undone nor an undoing."""
    found = {lot: _Standing() for lot in lots}
    count = col(Movement.reason) == MovementReason.STOCK_TAKE
    query = select(col(Movement.lot_id), col(Movement.serial), count).where(
        col(Movement.lot_id).in_(lots), count | col(Movement.seeds).is_(None), stands()
    )
    for lot_id, serial, counted in session.execute(query):
        (found[lot_id].counts if counted else found[lot_id].uncounted).add(serial)
    return found


def _held(session: Session, lots: Collection[int]) -> dict[int, int]:
    """The sum of all numbers known of each lot: what it holds, where no other seed is there."""
    query = (
        select(col(Movement.lot_id), func.sum(col(Movement.seeds)))
        .where(col(Movement.lot_id).in_(lots))
        .group_by(col(Movement.lot_id))
    )
    return {lot_id: int(seeds or 0) for lot_id, seeds in session.execute(query)}
