"""Sowings recorded, of one lot or several, what came up and was lost; tests and sowings taken
back.

Seedlings up sooner than they can well be are doubted.
"""

from collections.abc import Collection
from datetime import date, datetime
from math import inf

from sqlmodel import Session

from seedbank.common.catalogue import text_of
from seedbank.common.dates import happened, in_order
from seedbank.common.errors import Conflict, Doubt, Refused, StockFault, ask
from seedbank.database.find import row_id
from seedbank.database.references import delete_row
from seedbank.database.transaction import claim_version, put_changes, touch, transaction
from seedbank.emergence.tables import (
    Loss,
    Sowing,
    find_sowing,
    outcomes,
    record_emergence,
    record_loss,
)
from seedbank.facts.growing import fastest_emergence
from seedbank.facts.kinds import KindFacts
from seedbank.germination.tables import find_test
from seedbank.kinds.edit_kinds import facts_for
from seedbank.lots.days import before_it_came, since_harvest
from seedbank.lots.move_seed import reserve_warning, taking, undo
from seedbank.lots.show_lots import lot_entry
from seedbank.lots.tables.ledger import Movement, MovementReason, book
from seedbank.lots.tables.lots import Lot, lot_named
from seedbank.lots.tables.movements import get_movement
from seedbank.science.quantities import Finding
from seedbank.sowing.answers import SowingAnswer
from seedbank.sowing.forms import (
    EmergenceCreate,
    LossCreate,
    SeveralSowings,
    SowingChange,
    SowingCreate,
    SowingFinish,
)
from seedbank.sowing.show_sowings import answer_sowing

FAR_EARLIER = 0.5
"""Seedlings before this share of the fastest published time are doubted: our choice."""


def up_too_soon(
    facts: KindFacts, sown_on: date, day: date, units: int, *, field: str
) -> Doubt | None:
    """Seedlings up far sooner than the kind was ever published to come, or the day they were sown.

    Of a kind nobody published a time for, only the day of sowing itself is doubted.
    """
    passed = (day - sown_on).days
    fastest = fastest_emergence(facts.emergence_by_temperature)
    least = 1.0 if fastest is None else max(1.0, FAR_EARLIER * fastest.value)
    if units == 0 or passed >= least:
        return None
    return Doubt(
        "up-too-soon",
        field,
        day.isoformat(),
        units=units,
        days=passed,
        kind=facts.name,
        fastest_days=inf if fastest is None else round(fastest.value),
        source="" if fastest is None else str(fastest.source),
    )


def record_sowing(
    session: Session, form: SowingCreate, *, today: date, now: datetime
) -> SowingAnswer:
    """Record a sowing; its seed leaves the lot.

    Raises MisreadCode, NotEnoughSeed, Refused: no such lot, or a day still to come or before the
    harvest. Doubted: before the lot came here.
    """
    with transaction(session):
        lot = lot_named(session, form.lot, field="lot")
        facts = facts_for(session, lot_entry(session, lot).kind)
        if facts.is_planting_stock(lot.kept_as):
            raise Refused("planting-stock-not-sown", "lot", lot.code)
        day = since_harvest(lot, form.sown_on, field="sown_on", today=today)
        with taking(lot, field="seeds_sown"):
            movement = Movement(
                lot_id=row_id(lot.id),
                on_date=day,
                reason=MovementReason.SOWN,
                seeds=-form.seeds_sown,
                recorded_at=now,
            )
            book(session, movement)
        sowing = new_sowing(form, lot, sown_on=day, now=now)
        sowing.movement_id = movement.id
        session.add(sowing)
        session.flush()
        ask([before_it_came(lot, day, field="sown_on")], confirmed=form.confirmed)
        return answer_sowing(session, sowing, warnings=reserve_warning(session, lot, movement))


def new_sowing(form: SowingCreate, lot: Lot, *, sown_on: date, now: datetime) -> Sowing:
    """The sowing a form tells of, its seed not taken yet."""
    given = form.model_dump(exclude={"lot", "sown_on", "confirmed"})
    return Sowing(**given, lot_id=row_id(lot.id), sown_on=sown_on, created_at=now)


def change_sowing(
    session: Session, number: int, form: SowingChange, *, expected: Collection[int] | None
) -> SowingAnswer:
    """Change a sowing's description. Raises NotThere, StaleVersion."""
    with transaction(session):
        sowing = find_sowing(session, number)
        claim_version(session, sowing, what="sowing", expected=expected)
        put_changes(sowing, form)
        session.add(sowing)
        session.flush()
        return answer_sowing(session, sowing)


def count_emergence(
    session: Session, number: int, form: EmergenceCreate, *, today: date, now: datetime
) -> SowingAnswer:
    """Record how many seeds have come up so far; a second count on one day replaces the first.

    Raises NotThere, Refused: a day still to come. BadValue: a day before the sowing.
    TooManyEmerged. FewerEmerged: lower than before, and not said to be a correction. Doubted: the
    first are up too soon.
    """
    with transaction(session):
        sowing = find_sowing(session, number)
        day = happened(form.on_date, field="on_date", today=today)
        doubt = _too_soon(session, sowing, day, form.units_emerged)
        record_emergence(
            session,
            sowing_id=number,
            on=day,
            units_emerged=form.units_emerged,
            correction=form.correction,
            now=now,
        )
        ask([doubt], confirmed=form.confirmed)
        touch(session, sowing)
        return answer_sowing(session, sowing)


def count_losses(
    session: Session, number: int, form: LossCreate, *, today: date, now: datetime
) -> SowingAnswer:
    """Record seeds or seedlings lost to one cause.

    Raises NotThere, Refused: a day still to come. BadValue: a day before the sowing.
    TooManyEmerged: more lost than there were. Doubted: once up, and up too soon.
    """
    with transaction(session):
        sowing = find_sowing(session, number)
        day = happened(form.on_date, field="on_date", today=today)
        up = form.units_lost if form.after_emergence else 0
        doubt = _too_soon(session, sowing, day, up)
        loss = Loss(
            sowing_id=number,
            on_date=day,
            cause=form.cause,
            units_lost=form.units_lost,
            after_emergence=form.after_emergence,
            recorded_at=now,
        )
        record_loss(session, loss)
        ask([doubt], confirmed=form.confirmed)
        touch(session, sowing)
        return answer_sowing(session, sowing)


def finish_sowing(
    session: Session, number: int, form: SowingFinish, *, today: date
) -> SowingAnswer:
    """Say that no more seedlings are expected; from now on it teaches what comes up here.

    Raises NotThere, Conflict: it is finished already, or nothing was counted. Refused: a day
    still to come, or before the last count.
    """
    with transaction(session):
        sowing = find_sowing(session, number)
        if sowing.finished_on is not None:
            raise Conflict(
                "sowing-finished",
                "finished_on",
                sowing.finished_on.isoformat(),
                finished_on=sowing.finished_on,
            )
        counted = outcomes(session, [number])[number].emergences
        if not counted:
            raise Conflict("sowing-without-count", "finished_on")
        day = happened(form.finished_on, field="finished_on", today=today)
        last = counted[-1].on_date
        in_order(last, day, "finished-before-last-count", field="finished_on")
        sowing.finished_on = day
        session.add(sowing)
        session.flush()
        touch(session, sowing)
        return answer_sowing(session, sowing)


def _too_soon(session: Session, sowing: Sowing, day: date, units: int) -> Doubt | None:
    """Whether these would be the first up, and too soon; those taken before settle it."""
    emergences = outcomes(session, [row_id(sowing.id)])[row_id(sowing.id)].emergences
    if any(one.units_emerged and one.on_date <= day for one in emergences):
        return None
    lot = session.get_one(Lot, sowing.lot_id)
    facts = facts_for(session, lot_entry(session, lot).kind)
    return up_too_soon(facts, sowing.sown_on, day, units, field="on_date")


def record_sowings(
    session: Session, form: SeveralSowings, *, today: date, now: datetime
) -> list[SowingAnswer]:
    """Record each sowing; where one can't be, none is.

    Raises as recording one, the field told by its entry, like ``sowings[1].seeds_sown``.
    """
    recorded = []
    with transaction(session):
        for at, one in enumerate(form.sowings):
            try:
                recorded.append(record_sowing(session, one, today=today, now=now))
            except StockFault as fault:
                fault.field = f"sowings[{at}].{fault.field}"
                raise
    return recorded


def delete_test(
    session: Session,
    number: int,
    *,
    expected: Collection[int] | None,
    today: date,
    now: datetime,
) -> None:
    """Take back a test recorded by mistake; its seed returns to the lot.

    Where the packet has been counted since, that count already says what is there and stands.
    Raises NotThere, StaleVersion.
    """
    with transaction(session):
        test = find_test(session, number)
        claim_version(session, test, what="germination test", expected=expected)
        _return_seed(
            session,
            test.movement_id,
            text_of(Finding("undoes-test", {"number": str(number)})),
            today=today,
            now=now,
        )
        delete_row(session, test)


def delete_sowing(
    session: Session,
    number: int,
    *,
    expected: Collection[int] | None,
    today: date,
    now: datetime,
) -> None:
    """Take back a sowing recorded by mistake; its seed returns to the lot, as with a test.

    Raises NotThere, StaleVersion.
    """
    with transaction(session):
        sowing = find_sowing(session, number)
        claim_version(session, sowing, what="sowing", expected=expected)
        _return_seed(
            session,
            sowing.movement_id,
            text_of(Finding("undoes-sowing", {"number": str(number)})),
            today=today,
            now=now,
        )
        delete_row(session, sowing)  # a seed crop sown with it keeps its day of sowing


def _return_seed(
    session: Session, movement_id: int | None, note: str, *, today: date, now: datetime
) -> None:
    """Give back the seed a withdrawn test or sowing took, unless the packet was counted since."""
    if movement_id is None:
        return
    try:
        undo(session, get_movement(session, movement_id), on=today, note=note, now=now)
    except Conflict:
        return
