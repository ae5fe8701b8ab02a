"""Answers that outlast the program: kept in the database for the next one that starts.

One row a sort of answer, the last that was worked out. Beside it stands a seal: a digest of the
answer, of what was asked and the state it was asked in (the day, the change counters), and of the
program itself with its facts. A row whose seal is another than that of now is as good as none:
something was written since, another day or program has come, or the row was tampered with.

These rows are part of a database, not of the collection in it: no copy, backup or archive has
them, and nothing is lost with them. Who can't write, or would have to wait, goes without.
"""

import json
import sys
from collections.abc import Hashable, Iterator
from contextlib import suppress
from datetime import date
from functools import cache
from hashlib import blake2b
from importlib.metadata import version
from pathlib import Path
from typing import TypeVar

from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError
from sqlmodel import Field, Session, SQLModel, col, select

import seedbank
from seedbank.common.answers import AnswerModel, read_stored, stored_json
from seedbank.database.engine import may_be_written, written_at_once
from seedbank.database.transaction import transaction

M = TypeVar("M", bound=AnswerModel)
LONGEST = 1_000_000
"""Characters of an answer that is stored at most. Our choice."""
_STORE = text(
    "INSERT INTO stored_answer (sort, seal, answer) VALUES (:sort, :seal, :answer) "
    "ON CONFLICT (sort) DO UPDATE SET seal = excluded.seal, answer = excluded.answer"
)


class StoredAnswer(SQLModel, table=True):
    """The last answer of a sort (the name of its model), as JSON."""

    __tablename__ = "stored_answer"

    sort: str = Field(primary_key=True, max_length=80)
    seal: str = Field(max_length=64)
    answer: str


def read_answer(session: Session, model: type[M], state: Hashable) -> M | None:
    """The answer of this sort that this program stored in this state; None: there is none."""
    if not may_be_written(session.get_bind()) or (known := _as_text(state)) is None:
        return None
    asked = select(StoredAnswer.seal, StoredAnswer.answer)
    row = session.exec(asked.where(col(StoredAnswer.sort) == model.__name__)).first()
    if row is None or row[0] != _seal(model, known, row[1]):
        return None
    try:
        return read_stored(model, row[1])
    except ValueError:
        return None


def store_answer(session: Session, state: Hashable, answer: AnswerModel) -> None:
    """Store an answer that was worked out in this state, in the place of the last of its sort.

    It is written beside the session, in a transaction of its own, and at once or not at all.
    """
    engine, known = session.get_bind(), _as_text(state)
    if not may_be_written(engine) or known is None:
        return
    stored, model = stored_json(answer), type(answer)
    if len(stored) > LONGEST:
        return
    row = {"sort": model.__name__, "seal": _seal(model, known, stored), "answer": stored}
    with suppress(SQLAlchemyError), written_at_once(engine) as own, transaction(own):
        own.execute(_STORE, row)


def _as_text(state: Hashable) -> str | None:
    """A state in plain values as text. None: it holds what no other program could meet again,
    such as what a session has written and not committed."""
    try:
        return json.dumps(state, default=_day)
    except TypeError:
        return None


def _day(value: object) -> str:
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(value)


def _seal(model: type[AnswerModel], state: str, answer: str) -> str:
    digest = blake2b(program_digest(), digest_size=32)
    for part in (model.__name__, state, answer):
        digest.update(f"{len(part)} {part}".encode("utf-8", "surrogatepass"))
    return digest.hexdigest()


@cache
def program_digest() -> bytes:
    """A digest of this program: every file of it, and the versions of what it reckons with."""
    home = Path(seedbank.__file__).parent
    digest = blake2b(f"{sys.version} {version('numpy')} {version('scipy')}".encode())
    for file in _files_in(home):
        digest.update(f"{file.relative_to(home)} {file.stat().st_size} ".encode())
        digest.update(file.read_bytes())
    return digest.digest()


def _files_in(folder: Path) -> Iterator[Path]:
    for path in sorted(folder.iterdir()):
        if path.is_dir():
            if path.name != "__pycache__":
                yield from _files_in(path)
        elif path.is_file():
            yield path
