"""Doing a thing only to see whether it could be done."""

from collections.abc import Iterator
from contextlib import contextmanager

from sqlmodel import Session

from seedbank.database.transaction import transaction


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
