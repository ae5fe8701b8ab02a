"""Restoring a backup: proved first, put in place at once, compared after; nothing is lost."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy.exc import DatabaseError, OperationalError

from seedbank.common.catalogue import text_of
from seedbank.common.errors import BadDatabase, Conflict, CopyDiffers, Refused
from seedbank.database.engine import (
    one_moment,
    open_engine,
    open_for_reading,
    sqlite_file,
    unhurried,
)
from seedbank.database.migrate import schema_revision, upgrade
from seedbank.science.quantities import Finding
from seedbank.upkeep.back_up import Backup, back_up, back_up_from
from seedbank.upkeep.check_collection import check_collection
from seedbank.upkeep.copy_files import (
    bring_forward,
    compare,
    copy_to_file,
    held_still,
    put_in_place,
    same,
    scratch_beside,
)
from seedbank.upkeep.copy_tables import (
    TableDigest,
    copy_tables,
    digest_tables,
    empty_tables,
    holds_anything,
    lock_tables,
)


@dataclass(frozen=True, slots=True)
class Restored:
    """What was restored, and where what was there before is now.

    ``replaced`` is the backup made of it; ``set_aside`` the file itself, where it was damaged.
    """

    revision: str
    tables: dict[str, TableDigest]
    replaced: Backup | None = None
    set_aside: Path | None = None

    @property
    def rows(self) -> int:
        return sum(table.rows for table in self.tables.values())


def restore(file: Path, url: str, *, replace: bool, backups: Path, now: datetime) -> Restored:
    """Make the collection at ``url`` what the backup ``file`` holds, on either engine.

    The backup is copied, brought up to this program's schema, and proved, before anything is
    touched. A collection that has anything in it is replaced only with ``replace``, and is backed
    up into the folder ``backups`` first. An SQLite file is swapped at once, PostgreSQL is filled
    in one transaction; then both are compared with the backup.

    Raises BadDatabase, NewerDatabase: the backup, or the collection, can't be used. Refused: the
    backup has faults. Conflict: there is something in the collection, or others have it open.
    """
    target = sqlite_file(url)
    with _proved(file, beside=target) as (scratch, revision, tables):
        if target is None:
            replaced = _fill_server(url, scratch, tables, replace=replace, backups=backups, now=now)
            return Restored(revision, tables, replaced)
        replaced, aside = _swap(target, scratch, replace=replace, backups=backups, now=now)
        compare(target, tables)
        return Restored(revision, tables, replaced, aside)


@contextmanager
def _proved(
    file: Path, *, beside: Path | None
) -> Iterator[tuple[Path, str, dict[str, TableDigest]]]:
    """A copy of the backup in this program's schema, without fault; the revision it came in."""
    with TemporaryDirectory(prefix="seedbank-restore-") as folder:
        near = Path(folder) / "restored.sqlite" if beside is None else beside
        with scratch_beside(near) as scratch:
            revision = _copied(file, scratch)
            bring_forward(scratch)
            engine = open_for_reading(f"sqlite:///{scratch}")
            try:
                report = check_collection(engine)
                if not report.holds:
                    raise _faulty(file, report.faults)
                with one_moment(engine) as connection:
                    tables = digest_tables(connection)
            finally:
                engine.dispose()
            yield scratch, revision, tables


def _copied(file: Path, scratch: Path) -> str:
    if not file.is_file():
        raise BadDatabase("no-such-backup", str(file))
    engine = open_for_reading(f"sqlite:///{file}")
    try:
        revision = schema_revision(engine)
        if revision is None:
            raise _faulty(file, [text_of(Finding("backup-of-no-collection"))])
        scratch.parent.mkdir(parents=True, exist_ok=True)
        with one_moment(engine) as source:
            copy_to_file(source, scratch)
        return revision
    except (DatabaseError, OSError, CopyDiffers) as unreadable:
        why = Finding("check-unreadable", {"why": str(getattr(unreadable, "orig", unreadable))})
        raise _faulty(file, [text_of(why)]) from unreadable
    finally:
        engine.dispose()


def _faulty(file: Path, faults: list[str]) -> Refused:
    return Refused("no-sound-backup", "file", str(file), faults=" ".join(faults[:5]))


def _swap(
    target: Path, scratch: Path, *, replace: bool, backups: Path, now: datetime
) -> tuple[Backup | None, Path | None]:
    if not target.exists():
        for left in (Path(f"{target}-wal"), Path(f"{target}-journal")):
            if left.exists():
                raise Conflict("leftover-of-collection", "database", str(target), left=str(left))
        put_in_place(scratch, target)
        return None, None
    try:
        with held_still(target):
            replaced = _put_by(target, replace=replace, backups=backups, now=now)
            put_in_place(scratch, target, over=True)
            return replaced, None
    except (sqlite3.OperationalError, OperationalError) as busy:
        raise Conflict(
            "open-elsewhere",
            "database",
            str(target),
            why=str(getattr(busy, "orig", busy)),
        ) from busy
    except (sqlite3.DatabaseError, DatabaseError, CopyDiffers, Refused) as damaged:
        if not replace:
            raise _occupied(str(target)) from damaged
    # No backup can be made of it; under another name nothing of it is lost either.
    aside = _set_aside(target, now)
    put_in_place(scratch, target)
    return None, aside


def _put_by(target: Path, *, replace: bool, backups: Path, now: datetime) -> Backup | None:
    """Back up what is in the file, if anything is."""
    engine = open_for_reading(f"sqlite:///{target}")
    try:
        with one_moment(engine) as connection:
            if not holds_anything(connection):
                return None
        if not replace:
            raise _occupied(str(target))
        return back_up(engine, backups, now=now)
    finally:
        engine.dispose()


def _set_aside(target: Path, now: datetime) -> Path:
    """Rename a damaged file and what SQLite left beside it."""
    aside = target.with_name(f"{target.stem}-damaged-{now:%Y%m%dT%H%M%SZ}{target.suffix}")
    for end in ("-wal", "-shm", "-journal", ""):
        part = Path(f"{target}{end}")
        if part.exists():
            put_in_place(part, Path(f"{aside}{end}"))
    return aside


def _fill_server(
    url: str,
    scratch: Path,
    tables: dict[str, TableDigest],
    *,
    replace: bool,
    backups: Path,
    now: datetime,
) -> Backup | None:
    """Put everything into PostgreSQL in one transaction; readers wait until it ends."""
    engine, whole = open_engine(url), open_for_reading(f"sqlite:///{scratch}")
    shown = engine.url.render_as_string(hide_password=True)
    try:
        upgrade(engine)
        with one_moment(whole) as source, engine.begin() as target:
            unhurried(target)
            lock_tables(target)
            replaced = None
            if holds_anything(target):
                if not replace:
                    raise _occupied(shown)
                replaced = back_up_from(target, backups, now=now)
            empty_tables(target)
            copy_tables(source, target)
            same(shown, digest_tables(target), tables)
        return replaced
    finally:
        engine.dispose()
        whole.dispose()


def _occupied(where: str) -> Conflict:
    return Conflict("collection-exists", "database", where, where=where)
