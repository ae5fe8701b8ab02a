"""The collection a command works on, and what day it is there: the wiring of the command line."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Annotated

import typer
from sqlalchemy import Engine
from sqlmodel import Session

from seedbank.database.audit import sign
from seedbank.database.engine import session_factory
from seedbank.settings import Settings
from seedbank.upkeep.open_collection import (
    holds_collection,
    look_into,
    open_collection,
    see_its_folder,
)

DatabaseOption = Annotated[
    str | None,
    typer.Option(
        help="An SQLite file, or an address like postgresql://user@host/name. "
        "Left out: SEEDBANK_DATABASE_URL, or seedbank.sqlite here."
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]


COMMAND = ContextVar("COMMAND", default="")
"""Which command runs; without its arguments, which may hold a password."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A session on the collection, and its day and moment."""

    session: Session
    today: date
    now: datetime


def settings_for(database: str | None, **given: object) -> Settings:
    """Settings from the environment, with what the command line gives put over them."""
    if database is not None:
        given["database_url"] = database if "://" in database else file_url(Path(database))
    return Settings.model_validate(
        {**Settings().model_dump(), **{k: v for k, v in given.items() if v is not None}}
    )


def file_url(path: Path) -> str:
    """The address of an SQLite file."""
    return f"sqlite:///{path}"


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


def clock() -> datetime:
    """This moment, whatever day the settings pretend: what backups are named by."""
    return datetime.now(UTC)


def today_of(settings: Settings) -> date:
    """The day here, or the day the settings pretend it is."""
    return settings.today or date.today()


def now_of(settings: Settings) -> datetime:
    """This moment; noon where the settings pretend a day."""
    if settings.today is None:
        return datetime.now(UTC)
    return datetime.combine(settings.today, time(12), UTC)
