"""Opening a collection: its database made or brought up to date, the packaged kinds in it."""

from sqlalchemy import Engine

from seedbank.service.edit_kinds import add_packaged_kinds
from seedbank.stock.engine import open_engine, session_factory
from seedbank.stock.migrate import upgrade


def open_collection(url: str) -> Engine:
    """The engine of the collection at ``url``, ready for use.

    Raises BadDatabase: the URL can't be used. NewerDatabase: written by a newer program.
    """
    engine = open_engine(url)
    upgrade(engine)
    with session_factory(engine)() as session:
        add_packaged_kinds(session)
    return engine
