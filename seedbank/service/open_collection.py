"""Opening a collection: its database made or brought up to date, the packaged kinds in it."""

import logging
from datetime import datetime
from pathlib import Path

from sqlalchemy import Engine

from seedbank.service.edit_kinds import add_packaged_kinds
from seedbank.stock.copy_files import copy_to_file, put_in_place, scratch_beside
from seedbank.stock.engine import (
    one_moment,
    open_engine,
    open_for_reading,
    session_factory,
    sqlite_file,
)
from seedbank.stock.errors import BadDatabase
from seedbank.stock.migrate import upgrade

_log = logging.getLogger(__name__)


def open_collection(url: str, *, now: datetime) -> Engine:
    """The engine of the collection at ``url``, ready for use.

    An SQLite file of an older seedbank is copied beside itself before it is brought up to date,
    and the log says where.

    Raises BadDatabase: the URL can't be used, or there is no room for that copy; the file stays
    as it was. NewerDatabase: written by a newer program.
    """
    engine = open_engine(url)
    file = sqlite_file(url)

    def keep_copy(revision: str) -> None:
        if file is not None:
            kept = _copy_beside(file, revision, now)
            _log.warning(
                "%s is being brought up to date; as it was before, it is kept in %s", file, kept
            )

    try:
        upgrade(engine, keep_copy=keep_copy)
        with session_factory(engine)() as session:
            add_packaged_kinds(session)
    except BaseException:
        engine.dispose()  # a database refused is let go of
        raise
    return engine


def look_into(url: str) -> Engine:
    """The engine of a collection as it stands: nothing is made, brought up to date or changed.

    Raises BadDatabase: the URL can't be used, or there is no such file.
    """
    return open_for_reading(url)


def _copy_beside(file: Path, revision: str, now: datetime) -> Path:
    kept = file.with_name(f"{file.stem}-before-update-{revision}-{now:%Y%m%dT%H%M%SZ}{file.suffix}")
    engine = open_for_reading(f"sqlite:///{file}")
    try:
        with scratch_beside(kept) as scratch, one_moment(engine) as source:
            copy_to_file(source, scratch)
            put_in_place(scratch, kept)
    except OSError as refused:
        raise BadDatabase(
            str(file),
            "make room for a copy of it beside it, and try again; it was left as it is "
            f"({refused})",
        ) from refused
    finally:
        engine.dispose()
    return kept
