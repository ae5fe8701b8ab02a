"""Keyed requests: a repeated one gets its first answer again, and books nothing twice."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, delete

from seedbank.common.errors import KeyReused, StillAnswering
from seedbank.database.audit import AnsweredRequest
from seedbank.database.transaction import transaction

_UNANSWERED = 0  # status of a claimed key until its answer is known; never committed


@dataclass(frozen=True, slots=True)
class Answer:
    """What was answered: status, where the new thing lives, its tag, and the body as text."""

    status: int
    body: str
    location: str = ""
    etag: str = ""


@dataclass(frozen=True, slots=True)
class Answered:
    """An answer, and whether it is the first telling or a replay."""

    answer: Answer
    replayed: bool


def run_once(
    session: Session,
    *,
    key: str,
    fingerprint: str,
    now: datetime,
    action: Callable[[], Answer],
) -> Answered:
    """Do ``action`` unless this key was answered before; then give that answer again.

    The key is claimed before anything is read, so the claim also takes the database's write lock
    and nothing read later can go stale. The answer is written in the action's own commit, so a
    crash in between leaves neither, and of two requests racing with one key the second waits for
    the first and then replays it. A failed action leaves the key free.

    Raises KeyReused when the key answered another request, StillAnswering when the racing one
    failed. Where others hold the locks for longer than the database is willing to wait, it says so
    itself (``database_faults.BUSY``); the key stays free.
    """
    try:
        with transaction(session):
            _claim(session, key, fingerprint, now)
            answer = action()
            _keep(session, key, answer)
    except _KeyTakenError as taken:
        with transaction(session):  # ends it too: a replay holds no lock while it is sent
            stored = _stored_answer(session, key, fingerprint)
        if stored is None:  # the racing request failed after all, which freed the key
            raise StillAnswering(key) from taken
        return Answered(stored, replayed=True)
    return Answered(answer, replayed=False)


def forget_answers(session: Session, *, before: datetime) -> int:
    """Drop answers older than ``before``; returns how many. Their keys become free again."""
    with transaction(session):
        result = session.exec(
            delete(AnsweredRequest).where(col(AnsweredRequest.answered_at) < before)
        )
    return int(result.rowcount)


class _KeyTakenError(Exception):
    """Another request holds the key, answered or racing this one."""


def _stored_answer(session: Session, key: str, fingerprint: str) -> Answer | None:
    row = session.get(AnsweredRequest, key, populate_existing=True)
    if row is None:
        return None
    if row.fingerprint != fingerprint:
        raise KeyReused(key)
    return Answer(row.status, row.body, row.location, row.etag)


def _claim(session: Session, key: str, fingerprint: str, now: datetime) -> None:
    session.add(
        AnsweredRequest(
            key=key, fingerprint=fingerprint, status=_UNANSWERED, body="", answered_at=now
        )
    )
    try:
        session.flush()
    except IntegrityError as clash:
        raise _KeyTakenError from clash


def _keep(session: Session, key: str, answer: Answer) -> None:
    row = session.get_one(AnsweredRequest, key)
    row.status = answer.status
    row.location = answer.location
    row.etag = answer.etag
    row.body = answer.body
    session.add(row)
    session.flush()
