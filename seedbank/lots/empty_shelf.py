"""A collection without a single lot: what is told of it wherever lots are spoken of.

Nothing may be said then as if all were well: where there is no seed, none is in order.
"""

from sqlmodel import Session, col, select

from seedbank.lots.tables.lots import Lot

EMPTY = "The collection holds no lots yet."
NOTHING_YET = (
    EMPTY,
    "Bring in a list you keep (seedbank import MY-LIST.csv, or the page /import), or take in a "
    "packet (the page /take-in). To look at an invented collection first: seedbank demo.",
)


def holds_no_lots(session: Session) -> bool:
    """Was no lot ever taken in? One that was used up counts as a lot."""
    return session.exec(select(col(Lot.id)).limit(1)).first() is None


def told_if_empty(lots: int) -> tuple[str, ...]:
    """Sentences to put first, of a collection of so many lots; none unless it is empty."""
    return () if lots else NOTHING_YET
