"""Which lots' amount or day of coming may have been made up before migration 0006.

It is told of rows as they were then: by that migration, and of archives older than it.
"""

from datetime import date, timedelta

from sqlalchemy import (
    Boolean,
    Connection,
    Date,
    Integer,
    String,
    column,
    insert,
    select,
    table,
)

from seedbank.database.base import UtcDateTime

_ENTRY = timedelta(days=1)  # a moment is kept in UTC, a day is the gardener's
_MARKED = "%[row ________________]%"  # as lots made of a list's row are, in their notes
_LOT = table(
    "lot",
    column("id", Integer),
    column("acquired_on", Date),
    column("created_at", UtcDateTime),
    column("notes", String),
)
_MOVEMENT = table("movement", column("id", Integer), column("lot_id", Integer))
_DOUBT = table(
    "entry_doubt",
    column("lot_id", Integer),
    column("amount", Boolean),
    column("acquired_day", Boolean),
)


def doubt_entries(connection: Connection) -> None:
    """Put every lot of an older program's that may be in doubt on the list."""
    lot = _LOT.c
    marked = select(lot.id, lot.acquired_on, lot.created_at).where(
        lot.notes.like(_MARKED), lot.acquired_on.is_not(None)
    )
    days = {number for number, on, at in connection.execute(marked) if _entered_on(on, at.date())}
    booked = select(_MOVEMENT.c.id).where(_MOVEMENT.c.lot_id == lot.id).exists()
    none = set(connection.execute(select(lot.id).where(~booked)).scalars())
    rows = [
        {"lot_id": number, "amount": number in none, "acquired_day": number in days}
        for number in sorted(none | days)
    ]
    if rows:
        connection.execute(insert(_DOUBT), rows)


def _entered_on(acquired: date, entered: date) -> bool:
    return abs(acquired - entered) <= _ENTRY
