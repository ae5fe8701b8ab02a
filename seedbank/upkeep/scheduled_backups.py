"""Backups made by themselves while the collection is served, the last good ones kept."""

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from threading import Event, Thread

from seedbank.upkeep.back_up import Backup, back_up, good_backups
from seedbank.upkeep.open_collection import look_into

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
