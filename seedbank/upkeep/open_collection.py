"""Opening a collection: its database made or brought up to date, the packaged kinds in it."""

import logging
from datetime import datetime
from pathlib import Path

from sqlalchemy import Engine

from seedbank.common.errors import BadDatabase, NoCollection
from seedbank.database.engine import (
    one_moment,
    open_engine,
    open_for_reading,
    session_factory,
    sqlite_file,
)
from seedbank.database.migrate import schema_revision, upgrade
from seedbank.kinds.edit_kinds import add_packaged_kinds
from seedbank.upkeep.copy_files import copy_to_file, put_in_place, scratch_beside

_log = logging.getLogger(__name__)
_UNUSABLE = ("SQLITE_NOTADB", "SQLITE_READONLY", "SQLITE_CANTOPEN")


def open_collection(url: str, *, now: datetime, begins: bool = True) -> Engine:
    """The engine of the collection at ``url``, ready for use.

    Where there is none yet, an empty one ``begins``: a new file, but in no new folder. An SQLite
    file of an older seedbank is copied beside itself before it is brought up to date, and the log
    says where.

    Raises BadDatabase: the URL can't be used, its folder isn't there, or there is no room for
    that copy; the file stays as it was. NoCollection: there is none, and none ``begins``; nothing
    is made. NewerDatabase: written by a newer program.
    """
    if begins:
        see_its_folder(url)
    else:
        look_into(url).dispose()
    engine = open_engine(url)
    file = sqlite_file(url)

    def keep_copy(revision: str) -> None:
        if file is not None:
            copy = _copy_beside(file, revision, now)
            _log.warning(
                "%s is being brought up to date; as it was before, it is kept in %s", file, copy
            )

    try:
        upgrade(engine, keep_copy=keep_copy)
        with session_factory(engine)() as session:
            add_packaged_kinds(session)
    except BaseException:
        engine.dispose()  # a database refused is let go of
        raise
    return engine


def see_its_folder(url: str) -> None:
    """Raises BadDatabase: the URL can't be used, or names a file in a folder that isn't there."""
    file = sqlite_file(url)
    if file is not None and not file.parent.is_dir():
        folder = file.parent.absolute()
        raise BadDatabase("no-such-folder", str(file), folder=str(folder))


def look_into(url: str) -> Engine:
    """The engine of a collection as it stands: nothing is made, brought up to date or changed.

    Raises BadDatabase: the URL can't be used. NoCollection: there is none.
    """
    engine = open_for_reading(url)
    file = sqlite_file(url)
    where = str(file.absolute()) if file else engine.url.render_as_string()
    try:
        if schema_revision(engine) is None:
            raise NoCollection(where)
    except BaseException as refused:
        engine.dispose()
        cause = getattr(refused, "orig", None)
        if getattr(cause, "sqlite_errorname", "").startswith(_UNUSABLE):
            raise BadDatabase("database-file-refused", where, why=str(cause)) from refused
        raise
    return engine


def holds_collection(url: str) -> bool:
    """Is there a collection already? Raises BadDatabase: the URL can't be used."""
    try:
        look_into(url).dispose()
    except NoCollection:
        return False
    return True


def _copy_beside(file: Path, revision: str, now: datetime) -> Path:
    copy = file.with_name(f"{file.stem}-before-update-{revision}-{now:%Y%m%dT%H%M%SZ}{file.suffix}")
    engine = open_for_reading(f"sqlite:///{file}")
    try:
        with scratch_beside(copy) as scratch, one_moment(engine) as source:
            copy_to_file(source, scratch)
            put_in_place(scratch, copy)
    except OSError as refused:
        raise BadDatabase("no-room-for-copy", str(file), why=str(refused)) from refused
    finally:
        engine.dispose()
    return copy
