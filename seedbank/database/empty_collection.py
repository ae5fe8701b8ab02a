"""A collection without a single lot: what is told of it wherever lots are spoken of.

Nothing may be said then as if all were well: where there is no seed, none is in order.
"""

from sqlalchemy import column, select, table
from sqlmodel import Session

from seedbank.science.quantities import Finding

EMPTY = Finding("no-lots-yet")
NOTHING_YET = (EMPTY, Finding("no-lots-begin"))


def holds_no_lots(session: Session) -> bool:
    """Was no lot ever taken in? One that was used up counts as a lot."""
    return session.execute(select(column("id")).select_from(table("lot")).limit(1)).first() is None


def told_if_empty(lots: int) -> tuple[Finding, ...]:
    """What to tell first, of a collection of so many lots; none unless it is empty."""
    return () if lots else NOTHING_YET
