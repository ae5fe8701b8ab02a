"""What a request is handed, by API and pages alike: the settings, a session, the day, the hour."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated

from fastapi import Depends, Request
from sqlalchemy.orm import sessionmaker
from sqlmodel import Session

from seedbank.common.clock import clock, today_of
from seedbank.database.audit import sign
from seedbank.settings import Settings

_READS = frozenset({"GET", "HEAD"})


@dataclass(frozen=True, slots=True)
class Wiring:
    """What ``create_app`` put together, kept on ``app.state.wiring``."""

    settings: Settings
    reading: sessionmaker[Session]
    writing: sessionmaker[Session]


def get_wiring(request: Request) -> Wiring:
    """The app's wiring."""
    wiring = request.app.state.wiring
    assert isinstance(wiring, Wiring)
    return wiring


WiringDep = Annotated[Wiring, Depends(get_wiring)]


def get_session(request: Request, wiring: WiringDep) -> Iterator[Session]:
    """One session a request; one that only reads keeps no writer waiting."""
    reads = request.method in _READS
    with (wiring.reading if reads else wiring.writing)() as session:
        if not reads:
            asked = f"{request.method} {request.url.path}"
            sign(session, by=holder_name(request), asked=asked, at=get_now())
        yield session


def holder_name(request: Request) -> str:
    """Who asks, as the guard found out; whoever sits at this machine where none is needed."""
    return str(getattr(request.state, "holder", "this machine"))


def get_today(wiring: WiringDep) -> date:
    """The day here, or the day the settings pretend it is."""
    return today_of(wiring.settings)


def get_now() -> datetime:
    """This moment, UTC."""
    return clock()


# Closed when the answer is ready: a client slow to read it keeps no connection from others.
SessionDep = Annotated[Session, Depends(get_session, scope="function")]
TodayDep = Annotated[date, Depends(get_today)]
NowDep = Annotated[datetime, Depends(get_now)]
