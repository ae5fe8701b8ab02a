"""Copies of a collection in one SQLite file, made while others write, put in place whole."""

import errno
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sqlalchemy import Connection, create_engine
from sqlalchemy.exc import DBAPIError

from seedbank.common.errors import CopyDiffers
from seedbank.database.engine import one_moment, open_for_reading
from seedbank.database.migrate import revision_in, upgrade
from seedbank.science.quantities import Finding, Value
from seedbank.upkeep.copy_tables import TableDigest, copy_tables, digest_tables

_PAGES_A_STEP = 1024


def copy_to_file(source: Connection, file: Path) -> dict[str, TableDigest]:
    """Copy what the transaction of ``source`` sees into a new SQLite file, and compare the two.

    The file is self-contained: no journal beside it. From SQLite it is a copy page by page, from
    PostgreSQL one row by row into the same schema. Returns the digests that both have.

    Raises CopyDiffers: the copy isn't the same, or SQLite finds it damaged. OSError: it can't be
    written, or the source can't be read.
    """
    try:
        if source.dialect.name == "sqlite":
            digests = digest_tables(source)  # first: this reads, and so fixes the moment
            _copy_pages(source, file)
        else:
            digests = _copy_rows(source, file)
        compare(file, digests)
    except (sqlite3.Error, DBAPIError) as failed:
        raise OSError(str(getattr(failed, "orig", failed))) from failed
    return digests


def compare(file: Path, digests: dict[str, TableDigest]) -> None:
    """Raises CopyDiffers: the file isn't sound, or its tables have other digests than these."""
    engine = open_for_reading(f"sqlite:///{file}")
    try:
        with one_moment(engine) as copy:
            sound = copy.exec_driver_sql("PRAGMA integrity_check(1)").scalar()
            if sound != "ok":
                raise CopyDiffers(str(file), Finding("copy-damaged", {"sound": str(sound)}))
            same(str(file), digest_tables(copy), digests)
    finally:
        engine.dispose()


def same(where: str, found: dict[str, TableDigest], wanted: dict[str, TableDigest]) -> None:
    """Raises CopyDiffers, naming the first table that differs."""
    for name in sorted(found.keys() | wanted.keys()):
        there, here = wanted.get(name), found.get(name)
        if there is None or here is None:
            raise CopyDiffers(where, Finding("copy-lacks-table", {"table": name}))
        if there != here:
            rows: dict[str, Value] = {"table": name, "there": there.rows, "here": here.rows}
            raise CopyDiffers(where, Finding("copy-table-unlike", rows))


@contextmanager
def scratch_beside(file: Path) -> Iterator[Path]:
    """A path to write at on the disk of ``file``; what is left there in the end goes."""
    scratch = file.with_name(f".{file.name}.partial")
    every = (scratch, *(Path(f"{scratch}-{end}") for end in ("journal", "wal", "shm")))
    for each in every:
        each.unlink(missing_ok=True)
    try:
        yield scratch
    finally:
        for each in every:
            each.unlink(missing_ok=True)


def put_in_place(scratch: Path, file: Path, *, over: bool = False) -> None:
    """Give a finished file its name, at once and for good.

    Raises FileExistsError: there is one of that name, and it isn't to be written over.
    """
    if file.exists() and not over:
        raise FileExistsError(errno.EEXIST, "it is there already", str(file))
    fsync(scratch)
    scratch.replace(file)
    fsync(file.parent)


@contextmanager
def held_still(file: Path) -> Iterator[None]:
    """An SQLite file with all its rows in it and no journal beside it, and nobody writing.

    Raises sqlite3.OperationalError: others have it open. sqlite3.DatabaseError: it is damaged.
    """
    raw = sqlite3.connect(file, isolation_level=None, timeout=1.0)
    try:
        # Refused while anybody else has the file open: each holds a lock that this needs.
        raw.execute("PRAGMA journal_mode = DELETE")
        raw.execute("BEGIN IMMEDIATE")
        yield
    finally:
        raw.close()


def bring_forward(file: Path) -> None:
    """Bring a copy's schema up to this program's. Raises NewerDatabase, BadDatabase."""
    engine = create_engine(f"sqlite:///{file}")
    try:
        upgrade(engine)
    finally:
        engine.dispose()


def fsync(path: Path) -> None:
    """Have the disk keep a file, or a folder's list of names."""
    with suppress(PermissionError):  # Windows can't open folders, and needs it the least
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _copy_pages(source: Connection, file: Path) -> None:
    raw = source.connection.driver_connection
    assert isinstance(raw, sqlite3.Connection)
    copy = sqlite3.connect(file, isolation_level=None)
    try:
        # Reads through the open transaction: what others write meanwhile is not in it
        # (SQLite documentation, "Online Backup API").
        raw.backup(copy, pages=_PAGES_A_STEP)
        copy.execute("PRAGMA journal_mode = DELETE")
    finally:
        copy.close()


def _copy_rows(source: Connection, file: Path) -> dict[str, TableDigest]:
    file.unlink(missing_ok=True)
    engine = create_engine(f"sqlite:///{file}")  # plain: it leaves no journal beside the file
    try:
        upgrade(engine, to=revision_in(source) or "head")
        with engine.begin() as copy:
            return copy_tables(source, copy)
    finally:
        engine.dispose()
