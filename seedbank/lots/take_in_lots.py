"""Lots taken into the collection, described better, moved about, or taken out again."""

from collections.abc import Collection
from datetime import date, datetime

from sqlmodel import Session

from seedbank.common.dates import happened, in_order, not_to_come
from seedbank.common.errors import Conflict, Refused
from seedbank.database.find import named_in, row_id
from seedbank.database.references import delete_row, first_used
from seedbank.database.transaction import claim_version, put_changes, transaction
from seedbank.kinds.edit_kinds import facts_for
from seedbank.kinds.tables import Variety, get_variety
from seedbank.lots.answers import LotAnswer, StayAnswer
from seedbank.lots.days import harvested_from
from seedbank.lots.forms import LotChange, LotCreate, StayCreate
from seedbank.lots.show_lots import answer_lot, answer_stay, lot_entry
from seedbank.lots.tables.ledger import MovementReason, book
from seedbank.lots.tables.lots import (
    Lot,
    Origin,
    find_lot,
    lot_named,
    next_code,
    set_parents,
)
from seedbank.lots.tables.places import Stay, move_lot, stays
from seedbank.lots.weighing import seed_weight, weigh

_GROWN_HERE = frozenset({Origin.SELF_SAVED, Origin.COLLECTED})
_HARVEST = {"harvest_date", "harvest_year", "harvest_estimated"}
_NOT_COLUMNS = {"amount", "parents", "place_id"}


def take_in_lot(session: Session, form: LotCreate, *, today: date, now: datetime) -> LotAnswer:
    """Take a lot in: its code is given out, its first seed booked, its first place noted.

    Seed whose amount isn't told is booked as some, not counted; none is booked where none is left.
    A day it came that isn't known stays so; it is in its place from today then.

    Raises Refused: no such variety, place or parent, a parent of an unrelated kind, a day still to
    come or out of order, or grams of seed whose weight nobody knows. MisreadCode: of a parent.
    """
    with transaction(session):
        return answer_lot(session, add_lot(session, form, today=today, now=now), today=today)


def add_lot(session: Session, form: LotCreate, *, today: date, now: datetime) -> Lot:
    """The same as part of a larger use case, which needs no answer. Raises as ``take_in_lot``."""
    with transaction(session):
        with named_in("variety_id"):
            get_variety(session, form.variety_id)
        columns = form.model_dump(exclude=_NOT_COLUMNS)
        lot = Lot(**columns, code=next_code(session), created_at=now)
        if form.acquired_on is not None or "acquired_on" not in form.model_fields_set:
            lot.acquired_on = happened(form.acquired_on, field="acquired_on", today=today)
        _settle_harvest(lot, today)
        session.add(lot)
        session.flush()
        if form.parents:
            _set_parents(session, lot, form.parents)
        _book_first(session, lot, form, today=today, now=now)
        if form.place_id is not None:
            _put_in(session, lot, form.place_id, lot.acquired_on or today)
        return lot


def _check_same_kind(session: Session, lot: Lot, variety: Variety) -> None:
    """Raises Refused: its seed, tests and weights are of another kind than the variety named."""
    now = session.get_one(Variety, lot.variety_id)
    if variety.kind_id != now.kind_id:
        mend = "Name a variety of the kind the lot is of; if the kind is wrong, take it in anew."
        raise Refused("variety_id", variety.id, mend, f"Lot {lot.code} is of another kind.")


def change_lot(
    session: Session,
    code: str,
    form: LotChange,
    *,
    expected: Collection[int] | None,
    today: date,
) -> LotAnswer:
    """Change what the form names. Its amount changes by movements only.

    Raises MisreadCode, NotThere, StaleVersion, CircularParents, Refused: as taking in.
    """
    with transaction(session):
        lot = find_lot(session, code)
        claim_version(session, lot, what="lot", expected=expected)
        if "variety_id" in form.model_fields_set:
            with named_in("variety_id"):
                _check_same_kind(session, lot, get_variety(session, form.variety_id))
        put_changes(lot, form, leave_out={"parents"})
        if "harvest_date" in form.model_fields_set and "harvest_year" not in form.model_fields_set:
            lot.harvest_year = None
        _settle_harvest(lot, today)
        if form.model_fields_set & _HARVEST:
            _check_used_since(session, lot)
        if "thousand_seed_weight_g" in form.model_fields_set and (
            "thousand_seed_weight_se_g" not in form.model_fields_set
        ):
            lot.thousand_seed_weight_se_g = None  # it belonged to the weight before
        session.add(lot)
        session.flush()
        if "parents" in form.model_fields_set:
            _set_parents(session, lot, form.parents)
        return answer_lot(session, lot, today=today)


def _check_used_since(session: Session, lot: Lot) -> None:
    """Raises Refused: it was tested or sown before the harvest it is now said to be of."""
    first = harvested_from(lot)
    if first is None or lot.harvest_estimated:
        return
    used = first_used(session, lot)
    if used is not None and used < first:
        field = "harvest_year" if lot.harvest_date is None else "harvest_date"
        raise Refused(
            field,
            getattr(lot, field),
            f"Give {used.isoformat()} or an earlier day, or mark the harvest as estimated.",
            f"Lot {lot.code} was tested or sown on {used.isoformat()}, before that harvest.",
        )


def delete_lot(session: Session, code: str, *, expected: Collection[int] | None) -> None:
    """Take out a lot that never held seed.

    Raises MisreadCode, NotThere, StaleVersion, Conflict: it has movements, tests, sowings or
    offspring. Seed is never lost by deleting.
    """
    with transaction(session):
        lot = find_lot(session, code)
        claim_version(session, lot, what="lot", expected=expected)
        refusal = Conflict(
            f"Lot {lot.code} has a history: movements, tests, sowings, seed crops or offspring.",
            field="code",
            value=lot.code,
            mend="Discard what is left of it by a movement and leave the lot listed.",
        )
        delete_row(session, lot, refusal)


def move_lot_to(session: Session, code: str, form: StayCreate, *, today: date) -> StayAnswer:
    """Put a lot in a place from a day on; a second place on one day replaces the first.

    Raises MisreadCode, NotThere: the lot. Refused: no such place, or a day still to come.
    """
    with transaction(session):
        lot = find_lot(session, code)
        day = happened(form.from_date, field="from_date", today=today)
        stay = _put_in(session, lot, form.place_id, day)
        history = stays(session, [row_id(lot.id)])[row_id(lot.id)]
        return next(answer_stay(lot, entry) for entry in history if entry.stay.id == stay.id)


def _put_in(session: Session, lot: Lot, place_id: int, day: date) -> Stay:
    with named_in("place_id"):
        return move_lot(session, lot_id=row_id(lot.id), place_id=place_id, from_date=day)


def _set_parents(session: Session, lot: Lot, codes: list[str]) -> None:
    numbers = []
    for position, code in enumerate(codes):
        parent = lot_named(session, code, field=f"parents[{position}]")
        _check_related(session, lot, parent, field=f"parents[{position}]")
        numbers.append(row_id(parent.id))
    with named_in("parents"):
        set_parents(session, row_id(lot.id), numbers)


def _check_related(session: Session, lot: Lot, parent: Lot, *, field: str) -> None:
    """Raises Refused: the parent is of a kind that doesn't cross with the lot's."""
    kinds = [lot_entry(session, one).kind for one in (lot, parent)]
    facts = [facts_for(session, kind).crossing_group for kind in kinds]
    own, other = (fact.value if fact else None for fact in facts)
    if kinds[0].id != kinds[1].id and (own is None or own != other):
        raise Refused(
            field,
            parent.code,
            "Name parent lots of its own kind, or of one that crosses with it.",
            f"Lot {parent.code} is {kinds[1].name}, which {kinds[0].name} doesn't come from.",
        )


def _book_first(session: Session, lot: Lot, form: LotCreate, *, today: date, now: datetime) -> None:
    amount, on = form.amount, lot.acquired_on or today
    if amount is None:
        book_uncounted(session, lot, on=on, now=now)
        return
    if amount.seeds == 0:
        return
    weighed = weigh(
        seeds=amount.seeds,
        grams=amount.grams,
        seeds_se=amount.seeds_se,
        weight=seed_weight(lot, facts_for(session, lot_entry(session, lot).kind)),
    )
    book(
        session,
        lot_id=row_id(lot.id),
        on=on,
        reason=_came_by(lot),
        seeds=weighed.seeds,
        seeds_se=weighed.seeds_se,
        grams=weighed.grams,
        thousand_seed_weight_g=weighed.tsw_g,
        now=now,
    )


def book_uncounted(session: Session, lot: Lot, *, on: date, now: datetime) -> None:
    """Book that some seed came into a lot, which nobody has counted. Commits nothing."""
    book(session, lot_id=row_id(lot.id), on=on, reason=_came_by(lot), seeds=None, now=now)


def _came_by(lot: Lot) -> MovementReason:
    return MovementReason.HARVESTED if lot.origin in _GROWN_HERE else MovementReason.ACQUIRED


def _settle_harvest(lot: Lot, today: date) -> None:
    """Fill the year from the date, and see that the days make sense together."""
    if lot.harvest_date is not None:
        if lot.harvest_year not in (None, lot.harvest_date.year):
            raise Refused(
                "harvest_year",
                lot.harvest_year,
                f"Give {lot.harvest_date.year}, or clear harvest_date.",
                "harvest_year and harvest_date name different years.",
            )
        lot.harvest_year = lot.harvest_date.year
    if lot.harvest_year is not None and lot.harvest_year > today.year:
        raise Refused("harvest_year", lot.harvest_year, f"Give {today.year} or earlier.")
    not_to_come(lot.harvest_date, field="harvest_date", today=today)
    not_to_come(lot.acquired_on, field="acquired_on", today=today)
    in_order(
        lot.harvest_date,
        lot.acquired_on,
        field="acquired_on",
        mend="Seed can't have come here before it was harvested; mend one of the two days.",
    )
