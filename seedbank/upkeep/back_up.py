"""Backups: one SQLite file with everything, whatever the engine, proved before it counts.

Made when asked, or by themselves while the collection is served, the last good ones kept.
"""

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event, Thread

from sqlalchemy import Connection, Engine

from seedbank.common.errors import Refused
from seedbank.database.engine import one_moment, open_for_reading
from seedbank.database.migrate import revision_in, revisions
from seedbank.upkeep.check_collection import CheckReport, check_collection
from seedbank.upkeep.copy_files import copy_to_file, put_in_place, scratch_beside
from seedbank.upkeep.copy_tables import TableDigest
from seedbank.upkeep.open_collection import look_into

_NAME = "seedbank-%Y%m%dT%H%M%SZ"
_END = ".sqlite"


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that is what the collection was at one moment, and what was proved of it.

    ``report`` is None where the schema is an older one, of which only sameness can be proved.
    """

    file: Path
    bytes: int
    revision: str
    tables: dict[str, TableDigest]
    report: CheckReport | None

    @property
    def rows(self) -> int:
        return sum(table.rows for table in self.tables.values())

    @property
    def faults(self) -> list[str]:
        """What is wrong with the collection itself, and so with its backup."""
        return self.report.faults if self.report else []


def back_up(engine: Engine, to: Path, *, now: datetime) -> Backup:
    """Back a collection up into a folder, or a new file, while others write.

    The backup is opened, compared table by table with what was read in one transaction, and
    checked; only then does it take its name, on disk for good. One of a collection that has
    faults is kept too, under a name that says so.

    Raises Refused: nothing to back up, a file that is there already, or a place that can't be
    written to. CopyDiffers: the copy came out unlike, and is gone again.
    """
    with one_moment(engine) as source:
        return back_up_from(source, to, now=now)


def back_up_from(source: Connection, to: Path, *, now: datetime) -> Backup:
    """The same from a transaction that is open already."""
    revision = revision_in(source)
    if revision is None:
        raise Refused("backup-of-no-collection", "database", None)
    file = (
        to if to.suffix and not to.is_dir() else to / f"{now.astimezone(UTC).strftime(_NAME)}{_END}"
    )
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        if file.exists():
            raise FileExistsError("it is there already")
        with scratch_beside(file) as scratch:
            tables = copy_to_file(source, scratch)
            report = _check(scratch) if revision == revisions()[-1] else None
            if report is not None and not report.holds:
                file = file.with_name(f"{file.stem}-faulty{file.suffix}")
            put_in_place(scratch, file)
    except OSError as refused:
        raise Refused(
            "backup-not-writable", "to", str(to), file=str(file), refused=str(refused)
        ) from refused
    return Backup(file, file.stat().st_size, revision, tables, report)


def good_backups(folder: Path) -> list[tuple[datetime, Path]]:
    """Backups in a folder that were proved without fault, with their moment, oldest first.

    They are known by their names: what the gardener named is none of ours to count or remove.
    """
    found = []
    for file in folder.glob(f"seedbank-*{_END}"):
        try:
            made = datetime.strptime(f"{file.stem}+0000", f"{_NAME}%z")
        except ValueError:
            continue
        found.append((made, file))
    return sorted(found)


def _check(file: Path) -> CheckReport:
    engine = open_for_reading(f"sqlite:///{file}")
    try:
        return check_collection(engine)
    finally:
        engine.dispose()


_log = logging.getLogger(__name__)
_FIRST_RETRY = timedelta(minutes=1)
_PATIENCE_S = 2.0  # the service is to stop within 10 s


@dataclass(frozen=True, slots=True)
class Schedule:
    """Where backups go, how often one is made, and how many good ones are kept."""

    folder: Path
    every: timedelta
    kept: int


@contextmanager
def backups_running(
    url: str, schedule: Schedule, *, now: Callable[[], datetime], stop: Event | None = None
) -> Iterator[None]:
    """Back the collection at ``url`` up beside whatever the block does, until it ends."""
    stop = stop or Event()
    thread = Thread(
        target=keep_backing_up,
        args=(url, schedule),
        kwargs={"now": now, "wait": stop.wait},
        name="backups",
        daemon=True,  # a backup cut short leaves nothing that looks like one
    )
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join(_PATIENCE_S)


def keep_backing_up(
    url: str,
    schedule: Schedule,
    *,
    now: Callable[[], datetime],
    wait: Callable[[float], bool],
) -> None:
    """Make a backup whenever the last good one is old enough; one that fails is tried again.

    ``wait`` waits for so many seconds, and says whether it is time to stop. Retries come after a
    minute, then twice as long each, up to the schedule's own pace.
    """
    retry = _FIRST_RETRY
    pause = due_in(schedule, now())
    while not wait(pause.total_seconds()):
        if due_in(schedule, now()) > timedelta(0):  # another process of this service made it
            pause = due_in(schedule, now())
            continue
        try:
            made = back_up_by_schedule(url, schedule, now=now())
        except Exception:
            _log.exception(
                "No backup of the collection could be made in %s; it is tried again in %s.",
                schedule.folder,
                min(retry, schedule.every),
            )
            made = None
        if made is not None and not made.faults:
            retry, pause = _FIRST_RETRY, due_in(schedule, now())
        else:
            pause = min(retry, schedule.every)
            retry = min(2 * retry, schedule.every)


def due_in(schedule: Schedule, now: datetime) -> timedelta:
    """How long until the next backup is due: nothing where there is none yet.

    A last backup dated later than now (a clock that was put back) counts as made just now.
    """
    made = good_backups(schedule.folder)
    if not made:
        return timedelta(0)
    age = max(now - made[-1][0], timedelta(0))
    return max(schedule.every - age, timedelta(0))


def back_up_by_schedule(url: str, schedule: Schedule, *, now: datetime) -> Backup:
    """Make one backup; if it is good, remove the oldest good ones beyond those kept.

    Raises as back_up. Whatever it raises, and whatever is wrong, no backup is removed then.
    """
    engine = look_into(url)
    try:
        made = back_up(engine, schedule.folder, now=now)
    finally:
        engine.dispose()
    if made.faults:
        _log.error(
            "The collection has faults, so its backup %s is set apart: %s",
            made.file,
            " ".join(made.faults[:5]),
        )
        return made
    _log.info("Backed up to %s (%d rows).", made.file, made.rows)
    for _, old in good_backups(schedule.folder)[: -schedule.kept]:
        if old != made.file:
            old.unlink(missing_ok=True)
    return made
