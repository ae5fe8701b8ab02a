"""The collection a command works on, and what day it is there."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import Engine
from sqlmodel import Session

import seedbank.tables  # noqa: F401 - what is begun, and what refers to a row, any table may say
from seedbank.common.clock import now_of, today_of
from seedbank.common.running_command import COMMAND
from seedbank.database.audit import sign
from seedbank.database.engine import session_factory
from seedbank.settings import Settings
from seedbank.upkeep.open_collection import (
    holds_collection,
    look_into,
    open_collection,
    see_its_folder,
)


@dataclass(frozen=True, slots=True)
class Opened:
    """A session on the collection, and its day and moment."""

    session: Session
    today: date
    now: datetime


@contextmanager
def opened(
    settings: Settings, *, begins: bool = False, keeps: bool = True, writes: bool = True
) -> Iterator[Opened]:
    """Open the collection, brought up to date. Raises BadDatabase, NewerDatabase.

    Where there is none, a command that ``begins`` one gets an empty one; in memory only, if it
    ``keeps`` nothing. Others raise NoCollection. With ``writes`` false the session keeps no
    writer waiting.
    """
    url = settings.database_url
    if begins and not keeps and not holds_collection(url):
        see_its_folder(url)
        url = "sqlite://"
    engine = open_collection(url, now=now_of(settings), begins=begins)
    try:
        with session_factory(engine, writes=writes)() as session:
            sign(
                session,
                by="command line",
                asked=f"seedbank {COMMAND.get()}".strip(),
                at=now_of(settings),
            )
            yield Opened(session, today_of(settings), now_of(settings))
    finally:
        engine.dispose()


@contextmanager
def looked_into(settings: Settings) -> Iterator[Engine]:
    """The collection as it stands, to read alone. Raises BadDatabase, NoCollection."""
    engine = look_into(settings.database_url)
    try:
        yield engine
    finally:
        engine.dispose()
