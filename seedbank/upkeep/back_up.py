"""Backups: one SQLite file with everything, whatever the engine, proved before it counts."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine

from seedbank.common.errors import Refused
from seedbank.database.engine import one_moment, open_for_reading
from seedbank.database.migrate import revision_in, revisions
from seedbank.upkeep.check_collection import CheckReport, check_collection
from seedbank.upkeep.copy_files import copy_to_file, put_in_place, scratch_beside
from seedbank.upkeep.copy_tables import TableDigest

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
        raise Refused("database", None, "Name a collection.", "There is no collection in it.")
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
            "to",
            str(to),
            "Choose a place that has room and can be written to; no backup is written over.",
            f"The backup can't be written to {file}: {refused}.",
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
