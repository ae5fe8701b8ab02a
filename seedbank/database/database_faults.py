"""What ails a database that fails, and what to do about it.

Names of SQLite's result codes: https://www.sqlite.org/rescode.html; PostgreSQL's SQLSTATEs: its
documentation, appendix A.
"""

from dataclasses import dataclass

from sqlalchemy.exc import DBAPIError, InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as NoConnectionLeft

DatabaseFault = DBAPIError | NoConnectionLeft
DATABASE_FAULTS = (DBAPIError, NoConnectionLeft)
"""What a database raises: all that ``ailment_of`` takes."""


@dataclass(frozen=True, slots=True)
class Ailment:
    """What is wrong in a sentence, the ``mend``, and after how long it may be tried again."""

    said: str
    mend: str
    retry_after_s: int


FULL = Ailment(
    "There is no room left where the collection is kept. Nothing was changed.",
    "Make room on that disk, then send the same request again.",
    60,
)
READ_ONLY = Ailment(
    "The collection may be read but not written to. Nothing was changed.",
    "Let the program write to the file and its folder, then send the same request again.",
    60,
)
CORRUPT = Ailment(
    "The collection's file is damaged. Nothing was changed.",
    "Stop the program, keep a copy of the file, and restore the last backup: seedbank restore.",
    600,
)
BUSY = Ailment(
    "The collection is busy with other changes. Nothing was changed.",
    "Wait a second and send the same request again.",
    1,
)
CROWDED = Ailment(
    "More are asking of the collection than it can answer at once. Nothing was changed.",
    "Wait a few seconds and send the same request again.",
    5,
)
AWAY = Ailment(
    "The collection's database can't be reached. Nothing that was not answered for is certain.",
    "Wait a moment and send the same request with the same key again; it is never done twice.",
    2,
)
_SQLITE = {
    "FULL": FULL,
    "READONLY": READ_ONLY,
    "CORRUPT": CORRUPT,
    "NOTADB": CORRUPT,
    "BUSY": BUSY,
    "LOCKED": BUSY,
    "IOERR": AWAY,
    "CANTOPEN": AWAY,
}
_POSTGRESQL = {
    "53100": FULL,
    "25006": READ_ONLY,
    "XX001": CORRUPT,
    "XX002": CORRUPT,
    "55P03": BUSY,
    "40P01": BUSY,
    "40001": BUSY,
    "57014": BUSY,  # a statement stopped since it took longer than it may
}
_AWAY_CLASSES = ("08", "53", "57")  # connection, resources, operator's intervention


def ailment_of(error: DatabaseFault) -> Ailment | None:
    """What ails the database; None: it is well, and what it was asked was wrong."""
    if isinstance(error, NoConnectionLeft):
        return CROWDED
    cause = error.orig
    name = getattr(cause, "sqlite_errorname", None)
    if isinstance(name, str):
        return _SQLITE.get(name.removeprefix("SQLITE_").split("_")[0])
    state = getattr(cause, "sqlstate", None)
    if isinstance(state, str):
        if state in _POSTGRESQL:
            return _POSTGRESQL[state]
        return AWAY if state[:2] in _AWAY_CLASSES else None
    lost = error.connection_invalidated or isinstance(error, OperationalError | InterfaceError)
    return AWAY if lost else None
