"""What stands in the way of undoing, asked for many movements at once."""

from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st
from sqlmodel import Session, SQLModel

from seedbank.common.errors import CannotReverse, Overdrawn
from seedbank.database.engine import open_engine, session_factory
from seedbank.database.queries import Paging
from seedbank.lots.tables.ledger import Movement, MovementReason, book
from seedbank.lots.tables.movements import find_last_movements
from seedbank.lots.tables.reversing import reverse
from seedbank.overview.undo_obstacles import Obstacle, obstacles, taken_for
from tests.tables.conftest import NOW, Garden

DAY = date(2027, 2, 1)
STEPS = st.lists(
    st.tuples(st.sampled_from(["in", "out", "count", "undo"]), st.integers(0, 12)), max_size=12
)


def walk(session: Session, lot_id: int, steps: list[tuple[str, int]]) -> None:
    """Book what can be booked of ``steps``; a step that's refused is passed over."""
    for what, n in steps:
        try:
            with session.begin_nested():
                step(session, lot_id, what, n)
        except (CannotReverse, Overdrawn):
            continue


def step(session: Session, lot_id: int, what: str, n: int) -> None:
    if what == "count":
        book(
            session,
            Movement(
                lot_id=lot_id,
                reason=MovementReason.STOCK_TAKE,
                on_date=DAY,
                seeds=n,
                recorded_at=NOW,
            ),
        )
    elif what == "undo":
        booked = movements(session)
        if booked:
            reverse(session, booked[n % len(booked)].id or 0, on=DAY, now=NOW)
    else:
        reason = MovementReason.ACQUIRED if what == "in" else MovementReason.GIVEN
        seeds = (n + 1) * (1 if what == "in" else -1)
        book(
            session,
            Movement(lot_id=lot_id, on_date=DAY, reason=reason, seeds=seeds, recorded_at=NOW),
        )


def movements(session: Session) -> list[Movement]:
    return [entry.movement for entry in find_last_movements(session, Paging(99)).items]


@settings(max_examples=40, deadline=None)
@given(STEPS)
def test_whatever_is_said_to_stand_in_the_way_is_what_the_ledger_refuses(
    steps: list[tuple[str, int]],
) -> None:
    engine = open_engine("sqlite://")
    SQLModel.metadata.create_all(engine)
    with session_factory(engine)() as session:
        garden = Garden(session)
        lots = [garden.lot(seeds=5).id or 0 for _ in range(2)]
        for lot_id in lots:
            walk(session, lot_id, steps)
        booked = movements(session)
        said = obstacles(session, booked)
        for movement in booked:
            assert said.get(movement.id or 0) == tried(session, movement)
    engine.dispose()


def tried(session: Session, movement: Movement) -> Obstacle | None:
    inner = session.begin_nested()
    try:
        reverse(session, movement.id or 0, on=DAY, now=NOW)
    except Overdrawn:
        return Obstacle.USED_SINCE
    except CannotReverse as fault:
        reasons = {
            "undoes-another": Obstacle.UNDOING,
            "undone-already": Obstacle.UNDONE,
            "counted-since": Obstacle.COUNTED_SINCE,
        }
        return reasons[fault.code]
    finally:
        inner.rollback()
    return None


def test_seed_of_a_test_and_of_a_sowing_is_known_for_what_it_is(
    session: Session, garden: Garden
) -> None:
    lot = garden.lot(seeds=100)
    taken = [
        book(
            session,
            Movement(lot_id=lot.id or 0, on_date=DAY, reason=reason, seeds=-9, recorded_at=NOW),
        )
        for reason in (MovementReason.TESTED, MovementReason.SOWN, MovementReason.GIVEN)
    ]
    test = garden.test(lot_id=lot.id, movement_id=taken[0].id)
    sowing = garden.sowing(lot_id=lot.id, movement_id=taken[1].id)
    garden.test(lot_id=lot.id)  # of before the ledger was kept
    found = taken_for(session, movements(session))
    assert found.keys() == {taken[0].id, taken[1].id}
    assert (found[taken[0].id or 0].test, found[taken[1].id or 0].sowing) == (test, sowing)
