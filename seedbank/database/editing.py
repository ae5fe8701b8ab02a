"""Editing a row safely: whoever edits says which version they read, and only one of two wins."""

from collections.abc import Collection, Iterator
from contextlib import contextmanager
from typing import TypeVar

from pydantic import BaseModel
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, update

from seedbank.common.errors import Conflict, StaleVersion
from seedbank.database.base import Editable

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
        .where(col(table.id) == key)  # type: ignore[attr-defined]  # every Editable table has id
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


@contextmanager
def conflicts_as(conflict: Conflict) -> Iterator[None]:
    """Say ``conflict`` when the database finds a clash we looked for but another writer made."""
    try:
        yield
    except IntegrityError as clash:
        raise conflict from clash
