"""Lots whose amount or day of coming here an earlier program may have made up when they came in.

It booked nothing where an amount was not understood, and the day of entry where no day was
written. What was meant can't be told from the rows any more, so the gardener is asked, once; an
answered doubt is deleted. Lots entered since are never in doubt: they may say that it isn't known.
"""

from dataclasses import dataclass

from sqlalchemy import (
    CheckConstraint,
    ColumnElement,
    and_,
    func,
    or_,
    select,
)
from sqlmodel import Field, Session, SQLModel, col

from seedbank.database.queries import Order, Page, Paging, page_of
from seedbank.database.references import goes_along
from seedbank.kinds.tables import Kind, Variety
from seedbank.lots.tables.ledger import Movement
from seedbank.lots.tables.lot_search import LotEntry
from seedbank.lots.tables.lots import Lot


class EntryDoubt(SQLModel, table=True):
    """A lot to ask about: its ``amount`` of none, its ``acquired_day``, or both."""

    __tablename__ = "entry_doubt"
    __table_args__ = (CheckConstraint("amount OR acquired_day", name="of_something"),)

    lot_id: int = Field(foreign_key="lot.id", primary_key=True, sa_column_kwargs=goes_along())
    amount: bool
    acquired_day: bool


@dataclass(frozen=True, slots=True)
class DoubtEntry:
    """A lot in doubt, and what about it."""

    entry: LotEntry
    amount: bool
    acquired_day: bool


def find_doubts(session: Session, paging: Paging) -> Page[DoubtEntry]:
    """A page of the lots still to ask about, by id. Raises BadValue: limit or cursor.

    A lot seed was booked on since is no more in doubt for its amount.
    """
    query = (
        select(EntryDoubt, Lot, Variety, Kind, _amount_open().label("amount"))
        .join(Lot, col(Lot.id) == col(EntryDoubt.lot_id))
        .join(Variety, col(Variety.id) == col(Lot.variety_id))
        .join(Kind, col(Kind.id) == col(Variety.kind_id))
        .where(_is_open())
    )
    return page_of(
        session,
        query,
        Order(EntryDoubt.lot_id, EntryDoubt.lot_id),
        paging,
        read=lambda row: DoubtEntry(LotEntry(row[1], row[2], row[3]), row[4], row[0].acquired_day),
    )


def number_of_doubts(session: Session) -> int:
    """How many lots are still to be asked about."""
    query = select(func.count()).select_from(EntryDoubt).where(_is_open())
    return int(session.execute(query).scalar_one())


def doubt_about(session: Session, lot_id: int) -> tuple[bool, bool]:
    """Whether a lot's amount is in doubt, and whether the day it came is."""
    query = select(_amount_open(), col(EntryDoubt.acquired_day)).where(
        col(EntryDoubt.lot_id) == lot_id
    )
    found = session.execute(query).first()
    return (False, False) if found is None else (bool(found[0]), bool(found[1]))


def settle_doubt(
    session: Session, lot_id: int, *, amount: bool = False, acquired_day: bool = False
) -> None:
    """Take what is settled of a lot off the list, never to be asked again; flushes."""
    doubt = session.get(EntryDoubt, lot_id)
    if doubt is None:
        return
    doubt.amount = doubt.amount and not amount
    doubt.acquired_day = doubt.acquired_day and not acquired_day
    if doubt.amount or doubt.acquired_day:
        session.add(doubt)
    else:
        session.delete(doubt)
    session.flush()


def _amount_open() -> ColumnElement[bool]:
    booked = select(Movement).where(col(Movement.lot_id) == col(EntryDoubt.lot_id))
    return and_(col(EntryDoubt.amount), ~booked.correlate(EntryDoubt).exists())


def _is_open() -> ColumnElement[bool]:
    return or_(_amount_open(), col(EntryDoubt.acquired_day))
