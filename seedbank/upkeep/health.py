"""Whether the service can do its work: its database is there, with the schema it was made for."""

from sqlmodel import Session

from seedbank import __version__
from seedbank.common.errors import NewerDatabase
from seedbank.database.migrate import revision_in, revisions
from seedbank.upkeep.answers import HealthAnswer


def check_health(session: Session) -> HealthAnswer:
    """Look at the database.

    Raises NewerDatabase: a newer program has brought it up to date meanwhile. What a database
    raises that can't be reached goes up too.
    """
    present, wanted = revision_in(session.connection()), revisions()[-1]
    if present != wanted:
        raise NewerDatabase(present or "")
    return HealthAnswer(version=__version__, schema_revision=wanted)
