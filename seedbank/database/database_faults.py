"""What ails a database that fails, and what to do about it.

Names of SQLite's result codes: https://www.sqlite.org/rescode.html; PostgreSQL's SQLSTATEs: its
documentation, appendix A.
"""

from dataclasses import dataclass

from sqlalchemy.exc import DBAPIError, InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as NoConnectionLeft

from seedbank.common.catalogue import text_of
from seedbank.science.quantities import Finding

DatabaseFault = DBAPIError | NoConnectionLeft
DATABASE_FAULTS = (DBAPIError, NoConnectionLeft)
"""What a database raises: all that ``ailment_of`` takes."""


@dataclass(frozen=True, slots=True)
class Ailment:
    """The code of what is wrong, and after how long it may be tried again."""

    code: str
    retry_after_s: int

    @property
    def text(self) -> str:
        """What is wrong."""
        return text_of(Finding(self.code))

    @property
    def mend(self) -> str:
        """What to do."""
        return text_of(Finding(self.code), part="mend")


FULL = Ailment("database-full", 60)
READ_ONLY = Ailment("database-read-only", 60)
CORRUPT = Ailment("database-corrupt", 600)
BUSY = Ailment("database-busy", 1)
CROWDED = Ailment("database-crowded", 5)
AWAY = Ailment("database-away", 2)
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
