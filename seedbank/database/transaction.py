"""One commit a use case: the outermost ``transaction`` commits, and nothing else in the house.

Besides: doing a thing only to see whether it could be done, and editing a row safely, so that of
two who read the same version only one wins.
"""

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

from pydantic import BaseModel
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, SQLModel, col, select, update

from seedbank.common.errors import Conflict, StaleVersion
from seedbank.database.audit import enter, forget
from seedbank.database.base import Editable
from seedbank.database.engine import reads_alone

_DEPTH = "seedbank.transaction.depth"
_SPOILED = "seedbank.transaction.spoiled"


def let_go(session: Session) -> None:
    """Hold no connection while what was read is worked on, or others are waited for.

    A session that only reads goes on at a later moment, with what it read still at hand. One that
    may write keeps its connection: what it has locked must stay as it is until it commits.
    """
    if reads_alone(session):
        session.commit()


@contextmanager
def transaction(session: Session) -> Iterator[Session]:
    """Run a use case: commit when it ends well, roll everything back when it raises.

    Blocks may nest; only the outermost commits, with an entry of what was changed and by whom
    where the session is signed (``audit.sign``). When an inner block fails, the whole
    is rolled back even if someone in between swallowed the error: half a use case is never kept.

    Raises RuntimeError when the outermost block ends well after an inner one failed.
    """
    depth = session.info.get(_DEPTH, 0)
    session.info[_DEPTH] = depth + 1
    try:
        yield session
        if depth == 0:
            if session.info.get(_SPOILED):
                raise RuntimeError("an inner use case failed, so the outer one can't be kept")
            enter(session)
            session.commit()
    except BaseException:
        session.info[_SPOILED] = True
        if depth == 0:
            session.rollback()
            forget(session)
        raise
    finally:
        session.info[_DEPTH] = depth
        if depth == 0:
            session.info.pop(_SPOILED, None)


class _OnlyTriedError(Exception):
    """Leaves the transaction without keeping anything."""


@contextmanager
def tried(session: Session, *, dry_run: bool) -> Iterator[None]:
    """A transaction, rolled back at its end with ``dry_run``; what is raised in it goes through."""
    try:
        with transaction(session):
            yield
            if dry_run:
                raise _OnlyTriedError
    except _OnlyTriedError:
        pass


Row = TypeVar("Row", bound=Editable)


def claim_version(
    session: Session, row: Editable, *, what: str, expected: Collection[int] | None
) -> None:
    """Raise the row's version by one, if it still is one of ``expected`` (None: any will do).

    The test and the raise are one UPDATE, so of two editors who read the same version only one
    gets through, on every database.

    Raises StaleVersion when the row is at another version.
    """
    table = type(row)
    key = table.__mapper__.primary_key_from_instance(row)[0]  # type: ignore[attr-defined]  # SQLModel hides the mapper
    statement = (
        update(table)
        .where(col(table.id) == key)
        .values(version=table.version + 1)
        .execution_options(synchronize_session=False)
    )
    if expected is not None:
        statement = statement.where(col(table.version).in_(expected))
    matched = session.exec(statement).rowcount
    session.refresh(row)
    if not matched:
        raise StaleVersion(what, sorted(expected or ()), row.version)


def touch(session: Session, row: Editable) -> None:
    """Raise a row's version because something shown with it changed."""
    claim_version(session, row, what="thing", expected=None)


def put_changes(row: Editable, form: BaseModel, *, leave_out: set[str] | None = None) -> None:
    """Write the fields a change form actually names onto the row; the others stay."""
    for name, value in form.model_dump(exclude_unset=True, exclude=leave_out or set()).items():
        setattr(row, name, value)


def save_named(session: Session, row: SQLModel, taken: Conflict, *within: Any) -> None:
    """Write a row whose name none other has ``within`` what is given. Raises ``taken``: one has."""
    table: Any = type(row)
    same = select(table.id).where(table.name == row.name, table.id != row.id, *within)  # type: ignore[attr-defined]  # both have a name and an id
    with session.no_autoflush:
        if session.exec(same).first() is not None:
            raise taken
    session.add(row)
    with conflicts_as(taken):
        session.flush()


@contextmanager
def conflicts_as(conflict: Conflict) -> Iterator[None]:
    """Say ``conflict`` when the database finds a clash we looked for but another writer made."""
    try:
        yield
    except IntegrityError as clash:
        raise conflict from clash
