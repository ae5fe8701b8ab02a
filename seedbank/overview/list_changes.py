"""The last changes of stock, over the whole collection or of one lot, and undoing any of them."""

from collections.abc import Sequence
from datetime import date, datetime

from sqlmodel import Session, select

from seedbank.common.answers import FindingAnswer
from seedbank.database.find import row_id
from seedbank.database.queries import Page, Paging
from seedbank.database.transaction import transaction
from seedbank.lots.move_seed import answer_movements, numbered_movement, undo_movement
from seedbank.lots.show_lots import lot_entry, variety_brief
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.tables.lot_search import LotEntry
from seedbank.lots.tables.lots import find_lot
from seedbank.lots.tables.movements import MovementEntry, find_last_movements
from seedbank.overview.answers import ChangeAnswer
from seedbank.overview.forms import Undoing
from seedbank.overview.undo_obstacles import Obstacle, TakenFor, obstacles, taken_for
from seedbank.science.quantities import Finding
from seedbank.sowing.record_sowing import delete_sowing, delete_test


def list_changes(session: Session, paging: Paging, *, lot: str | None = None) -> Page[ChangeAnswer]:
    """Changes of stock, the last booked first; of one lot where its code is given.

    Raises MisreadCode, NotThere, BadValue: the cursor.
    """
    lot_id = None if lot is None else row_id(find_lot(session, lot).id)
    page = find_last_movements(session, paging, lot_id=lot_id)
    return Page(_answers(session, page.items), page.next)


def show_change(session: Session, code: str, serial: int) -> ChangeAnswer:
    """One change of a lot. Raises MisreadCode, NotThere."""
    lot = find_lot(session, code)
    movement = numbered_movement(session, lot, serial)
    entry = lot_entry(session, lot)
    [answer] = _answers(
        session, [MovementEntry(movement, lot, entry.variety, entry.kind)], warned=True
    )
    return answer


def undo_change(
    session: Session, code: str, form: Undoing, *, today: date, now: datetime
) -> int | None:
    """Undo a change of stock; that of a test or sowing by taking back the whole of it.

    Returns the serial of the movement that brought the seed back, None where none did.
    Raises MisreadCode, NotThere, StaleVersion: more was counted of the test or sowing since,
    Conflict: it can't be undone. NotEnoughSeed.
    """
    with transaction(session):
        movement = numbered_movement(session, find_lot(session, code), form.serial)
        taken = taken_for(session, [movement]).get(row_id(movement.id))
        if taken is None:
            return undo_movement(session, code, form.serial, today=today, now=now).serial
        expected = {form.version or 0}
        if taken.test is not None:
            number = row_id(taken.test.id)
            delete_test(session, number, expected=expected, today=today, now=now)
        elif taken.sowing is not None:
            number = row_id(taken.sowing.id)
            delete_sowing(session, number, expected=expected, today=today, now=now)
        undoing = select(Movement.serial).where(Movement.reverses_id == movement.id)
        return session.exec(undoing).first()


def _answers(
    session: Session, entries: Sequence[MovementEntry], *, warned: bool = False
) -> list[ChangeAnswer]:
    movements = [entry.movement for entry in entries]
    hindered = obstacles(session, movements)
    taken = taken_for(session, movements)
    answered = answer_movements(session, [(one.lot, one.movement) for one in entries], warned)
    answers = []
    for entry, movement in zip(entries, answered, strict=True):
        number = row_id(entry.movement.id)
        obstacle, whose = hindered.get(number), taken.get(number, TakenFor())
        thing = whose.test or whose.sowing
        answers.append(
            ChangeAnswer(
                movement=movement,
                variety=variety_brief(LotEntry(entry.lot, entry.variety, entry.kind)),
                kind_name=entry.kind.name,
                test=whose.test.id if whose.test else None,
                sowing=whose.sowing.id if whose.sowing else None,
                version=thing.version if thing else None,
                also=_also(whose, obstacle),
                why_not=_why_not(thing is not None, obstacle),
            )
        )
    return answers


def _also(whose: TakenFor, obstacle: Obstacle | None) -> FindingAnswer | None:
    thing = whose.test or whose.sowing
    if thing is None:
        return None
    return FindingAnswer.of(
        Finding(
            "taken-back",
            {
                "what": "test" if whose.test else "sowing",
                "number": str(thing.id),
                "counted_since": obstacle is Obstacle.COUNTED_SINCE,
            },
        )
    )


def _why_not(taken: bool, obstacle: Obstacle | None) -> FindingAnswer | None:
    if obstacle is None or (taken and obstacle is Obstacle.COUNTED_SINCE):
        return None
    return FindingAnswer.of(Finding("not-undone", {"obstacle": obstacle}))
