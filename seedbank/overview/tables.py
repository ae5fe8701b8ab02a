"""Work done on many lots at once, with what it takes to undo it."""

from datetime import date, datetime
from enum import StrEnum

from sqlmodel import Field, Session

from seedbank.database.base import Editable, UtcDateTime, word
from seedbank.database.find import about
from seedbank.database.queries import fetch


class BatchWork(StrEnum):
    """What is done to many lots at once."""

    MOVE = "move"
    GIVE = "give"
    THROW_OUT = "throw-out"
    KEEPERS = "keepers"
    TEST = "test"


class Batch(Editable, table=True):
    """One piece of work on many lots.

    ``parts`` is JSON, a list of what was done to each lot: its ``code`` and ``lot``, its
    ``movement``, ``test``, the ``variety`` with the ``keepers`` it had, or the day of its ``stay``
    with the place it had ``before`` on that very day.
    """

    __tablename__ = "batch"

    work: BatchWork = Field(sa_type=word(BatchWork))
    on_date: date
    done_at: datetime = Field(sa_type=UtcDateTime)
    place_id: int | None = Field(default=None, description="moved to; no link, it may be gone")
    target: str = Field(default="", max_length=200, description="the place's or keepers' name")
    note: str = Field(default="", max_length=400)
    parts: str
    undone_at: datetime | None = Field(default=None, sa_type=UtcDateTime)


def find_batch(session: Session, number: int) -> Batch:
    """The batch with this number. Raises NotThere."""
    with about("id"):
        return fetch(session, Batch, number, what="batch")
