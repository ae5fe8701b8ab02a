"""Asking once about lots whose amount or day of coming an earlier program may have made up."""

from collections.abc import Iterator
from datetime import date, datetime

from sqlmodel import Session

from seedbank.common.errors import Refused
from seedbank.database.find import row_id
from seedbank.database.queries import Page, Paging
from seedbank.database.transaction import touch, transaction
from seedbank.lots.answers import EntryDoubtAnswer, EntryDoubtsSettled
from seedbank.lots.forms import AmountIs, DayIs, EntryDoubtsAnswered
from seedbank.lots.show_lots import variety_brief
from seedbank.lots.tables.entry_doubts import (
    doubt_about,
    find_doubts,
    number_of_doubts,
    settle_doubt,
)
from seedbank.lots.tables.lots import Lot, lot_named
from seedbank.lots.take_in_lots import book_uncounted

_AT_ONCE = 1000


def list_entry_doubts(session: Session, paging: Paging) -> Page[EntryDoubtAnswer]:
    """Lots still to be asked about, in the order they came in. Raises BadValue: the cursor."""
    page = find_doubts(session, paging)
    items = [
        EntryDoubtAnswer(
            lot=one.entry.lot.code,
            variety=variety_brief(one.entry),
            amount=one.amount,
            acquired_on=one.entry.lot.acquired_on if one.acquired_day else None,
            notes=one.entry.lot.notes,
        )
        for one in page.items
    ]
    return Page(items, page.next)


def settle_entry_doubts(
    session: Session, form: EntryDoubtsAnswered, *, today: date, now: datetime
) -> EntryDoubtsSettled:
    """Take the gardener's word, and never ask about it again. What isn't in doubt stays as it is.

    Raises MisreadCode. Refused: no such lot, or one that nothing is asked about.
    """
    with transaction(session):
        lots = list(_all(session) if form.lots is None else _named(session, form.lots))
        for lot in lots:
            _settle(session, lot, form, today=today, now=now)
        return EntryDoubtsSettled(settled=len(lots), left=number_of_doubts(session))


def _named(session: Session, codes: list[str]) -> Iterator[Lot]:
    for position, code in enumerate(dict.fromkeys(codes)):
        field = f"lots[{position}]"
        lot = lot_named(session, code, field=field)
        if not any(doubt_about(session, row_id(lot.id))):
            raise Refused("doubt-not-open", field, lot.code)
        yield lot


def _all(session: Session) -> Iterator[Lot]:
    after = None
    while True:
        page = find_doubts(session, Paging(_AT_ONCE, after))
        yield from (one.entry.lot for one in page.items)
        after = page.next
        if after is None:
            return


def _settle(
    session: Session, lot: Lot, form: EntryDoubtsAnswered, *, today: date, now: datetime
) -> None:
    number = row_id(lot.id)
    amount, day = doubt_about(session, number)
    if day and form.acquired_day is DayIs.UNKNOWN:
        lot.acquired_on = None
        session.add(lot)
        session.flush()
        touch(session, lot)
    if amount and form.amount is AmountIs.SOME:
        entered = min(lot.created_at.date(), today)
        book_uncounted(session, lot, on=lot.acquired_on or entered, now=now)
    settle_doubt(
        session,
        number,
        amount=form.amount is not None,
        acquired_day=form.acquired_day is not None,
    )
