"""Backups by schedule, on a clock of the test's own."""

import logging
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event
from time import monotonic, sleep

import pytest
from sqlalchemy import Engine, text

from seedbank.upkeep.back_up import (
    Schedule,
    back_up_by_schedule,
    backups_running,
    due_in,
    good_backups,
    keep_backing_up,
)

START = datetime(2027, 3, 1, 9, 30, tzinfo=UTC)
HOUR = timedelta(hours=1)


class Clock:
    """Time that passes only while it is waited for; it stops after a number of waits."""

    def __init__(self, waits: int) -> None:
        self.now = START
        self.left = waits
        self.waited: list[timedelta] = []

    def wait(self, seconds: float) -> bool:
        if self.left == 0:
            return True
        self.left -= 1
        self.waited.append(timedelta(seconds=seconds))
        self.now += self.waited[-1]
        return False

    def run(self, url: str, schedule: Schedule) -> list[timedelta]:
        keep_backing_up(url, schedule, now=lambda: self.now, wait=self.wait)
        return self.waited


@pytest.fixture
def url(garden_engine: Engine) -> str:
    return garden_engine.url.render_as_string(hide_password=False)


def _made(folder: Path) -> list[datetime]:
    return [moment for moment, _ in good_backups(folder)]


def test_backups_come_at_their_pace_and_the_newest_are_kept(url: str, tmp_path: Path) -> None:
    schedule = Schedule(tmp_path / "kept", every=6 * HOUR, kept=2)
    assert Clock(4).run(url, schedule) == [timedelta(0), 6 * HOUR, 6 * HOUR, 6 * HOUR]
    assert _made(schedule.folder) == [START + 12 * HOUR, START + 18 * HOUR]


def test_a_restarted_service_waits_for_what_is_left(tmp_path: Path) -> None:
    schedule = Schedule(tmp_path, every=6 * HOUR, kept=2)
    assert due_in(schedule, START) == timedelta(0)
    (tmp_path / "seedbank-20270301T073000Z.sqlite").touch()
    assert due_in(schedule, START) == 4 * HOUR
    assert due_in(schedule, START + 5 * HOUR) == timedelta(0)


def test_after_a_clock_that_went_back_a_backup_comes_within_one_pace(tmp_path: Path) -> None:
    (tmp_path / "seedbank-20990101T000000Z.sqlite").touch()
    assert due_in(Schedule(tmp_path, every=6 * HOUR, kept=2), START) == 6 * HOUR


def test_a_failing_backup_is_told_tried_again_and_removes_nothing(
    url: str, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    folder = tmp_path / "kept"
    folder.mkdir()
    old = [folder / f"seedbank-2027020{day}T000000Z.sqlite" for day in range(1, 6)]
    for file in old:
        file.touch()
    schedule = Schedule(folder, every=timedelta(minutes=5), kept=1)
    gone = "sqlite:////nowhere/at/all.sqlite"
    minute = timedelta(minutes=1)
    waits = Clock(6).run(gone, schedule)
    assert waits == [timedelta(0), minute, 2 * minute, 4 * minute, 5 * minute, 5 * minute]
    assert caplog.text.count("No backup of the collection could be made") == 6
    assert all(file.exists() for file in old)
    back_up_by_schedule(url, schedule, now=START)  # the first that succeeds clears up
    assert _made(folder) == [START]


def test_a_faulty_collection_never_costs_a_good_backup(
    url: str, garden_engine: Engine, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    schedule = Schedule(tmp_path / "kept", every=6 * HOUR, kept=1)
    back_up_by_schedule(url, schedule, now=START)
    with garden_engine.begin() as connection:
        connection.execute(text("UPDATE movement SET balance_seeds = balance_seeds + 1"))
    made = back_up_by_schedule(url, schedule, now=START + HOUR)
    assert made.file.name.endswith("-faulty.sqlite")
    assert _made(schedule.folder) == [START]
    assert "The collection has faults" in caplog.text


def test_it_runs_beside_the_service_and_ends_with_it(url: str, tmp_path: Path) -> None:
    stop = Event()
    schedule = Schedule(tmp_path / "kept", every=HOUR, kept=3)
    with backups_running(url, schedule, now=lambda: START, stop=stop):
        deadline = monotonic() + 60
        while not _made(schedule.folder) and monotonic() < deadline:
            sleep(0.05)
    assert _made(schedule.folder) == [START]
    assert stop.is_set()


def test_what_was_backed_up_is_told_to_those_who_ask(
    url: str, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.INFO):
        back_up_by_schedule(url, Schedule(tmp_path, every=HOUR, kept=1), now=START)
    assert "Backed up to" in caplog.text
