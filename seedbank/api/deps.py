"""What routes are handed, named once."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Annotated

from fastapi import Depends, Path, Request, Response
from sqlalchemy.orm import sessionmaker
from sqlmodel import Session

from seedbank.api.preconditions import FingerprintDep, KeyDep
from seedbank.service.once import Answer, run_once
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
    factory = wiring.reading if request.method in _READS else wiring.writing
    with factory() as session:
        yield session


def get_today(wiring: WiringDep) -> date:
    """The day here, or the day the settings pretend it is."""
    return wiring.settings.today or date.today()


def get_now() -> datetime:
    """This moment, UTC."""
    return datetime.now(UTC)


SessionDep = Annotated[Session, Depends(get_session)]
TodayDep = Annotated[date, Depends(get_today)]
NowDep = Annotated[datetime, Depends(get_now)]
IdPath = Annotated[int, Path(ge=1, le=2_147_483_647, description="Its number.", examples=[1])]
CodePath = Annotated[
    str,
    Path(
        max_length=40,
        description="Lot code; case, spaces and dashes don't matter.",
        examples=["4K7PM"],
    ),
]


@dataclass(frozen=True, slots=True)
class Once:
    """Runs a route's work once for its key, and shapes the answer, first telling or replay."""

    session: Session
    key: str
    fingerprint: str
    now: datetime

    def __call__(self, action: Callable[[], Answer]) -> Response:
        told = run_once(
            self.session,
            key=self.key,
            fingerprint=self.fingerprint,
            now=self.now,
            action=action,
        )
        answer = told.answer
        headers = {"Location": answer.location, "ETag": answer.etag}
        response = Response(answer.body, answer.status, media_type="application/json")
        response.headers.update({name: value for name, value in headers.items() if value})
        if told.replayed:
            response.headers["Idempotent-Replay"] = "true"
        return response


def get_once(session: SessionDep, key: KeyDep, asked: FingerprintDep, now: NowDep) -> Once:
    """The runner of a keyed request."""
    return Once(session, key, asked, now)


OnceDep = Annotated[Once, Depends(get_once)]
