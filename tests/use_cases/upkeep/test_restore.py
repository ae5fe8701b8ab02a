"""Restoring onto either engine: proved first, nothing lost, the same after."""

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from textwrap import dedent

import pytest
from sqlalchemy import Engine, text

from seedbank.common.errors import BadDatabase, Conflict, NewerDatabase, Refused
from seedbank.database.engine import one_moment, open_engine, open_for_reading, session_factory
from seedbank.database.migrate import revisions, upgrade
from seedbank.lots.tables.ledger import Movement, MovementReason, book
from seedbank.upkeep.back_up import back_up
from seedbank.upkeep.check_collection import check_collection
from seedbank.upkeep.copy_tables import digest_tables
from seedbank.upkeep.open_collection import open_collection
from seedbank.upkeep.restore import Restored, restore

NOW = datetime(2027, 2, 20, 12, tzinfo=UTC)
Into = Callable[..., Restored]


def _digests(url: str) -> object:
    engine = open_for_reading(url)
    with one_moment(engine) as connection:
        found = digest_tables(connection)
    engine.dispose()
    return found


@pytest.fixture(scope="module")
def _backup_file(garden_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    engine = open_for_reading(f"sqlite:///{garden_file}")
    made = back_up(engine, tmp_path_factory.mktemp("backup") / "backup.sqlite", now=NOW)
    engine.dispose()
    return made.file


@pytest.fixture
def backup(_backup_file: Path, tmp_path: Path) -> Path:
    """A backup of the garden, the test's own."""
    return Path(shutil.copy(_backup_file, tmp_path / "backup.sqlite"))


@pytest.fixture
def into(backup: Path, database_url: str, tmp_path: Path) -> Into:
    """Restore the garden's backup to the test's database."""

    def run(*, file: Path = backup, replace: bool = False) -> Restored:
        return restore(file, database_url, replace=replace, backups=tmp_path / "replaced", now=NOW)

    return run


def _other_collection(url: str) -> None:
    engine = open_collection(url, now=NOW)
    with engine.begin() as connection:
        connection.execute(
            text("INSERT INTO place (version, name, sealed, notes) VALUES (1, 'Tin', true, '')")
        )
    engine.dispose()


def test_a_restored_collection_is_the_one_backed_up_and_goes_on_from_there(
    into: Into, backup: Path, database_url: str
) -> None:
    done = into()
    assert done.replaced is None
    assert _digests(database_url) == done.tables == _digests(f"sqlite:///{backup}")
    engine = open_collection(database_url, now=NOW)
    with session_factory(engine)() as session:
        last = session.execute(text("SELECT max(id) FROM movement")).scalar_one()
        moved = book(
            session,
            Movement(
                lot_id=1,
                on_date=date(2027, 2, 20),
                reason=MovementReason.ACQUIRED,
                seeds=5,
                recorded_at=NOW,
            ),
        )
        session.commit()
        assert moved.id == last + 1
    assert check_collection(engine).faults == []
    engine.dispose()


def test_from_one_engine_to_the_other_and_back_nothing_changes(
    garden_engine: Engine, tmp_path: Path
) -> None:
    made = back_up(garden_engine, tmp_path / "one.sqlite", now=NOW)
    file = tmp_path / "other.sqlite"
    restore(made.file, f"sqlite:///{file}", replace=False, backups=tmp_path, now=NOW)
    other = open_engine(f"sqlite:///{file}")
    again = back_up(other, tmp_path / "two.sqlite", now=NOW)
    other.dispose()
    url = garden_engine.url.render_as_string(hide_password=False)
    garden_engine.dispose()
    done = restore(again.file, url, replace=True, backups=tmp_path / "kept", now=NOW)
    assert done.tables == again.tables == made.tables
    assert _digests(url) == made.tables


def test_a_collection_is_replaced_only_when_told_and_backed_up_first(
    into: Into, database_url: str, tmp_path: Path
) -> None:
    _other_collection(database_url)
    before = _digests(database_url)
    with pytest.raises(Conflict, match=r"There is a collection in .* already"):
        into()
    assert _digests(database_url) == before
    assert not (tmp_path / "replaced").exists()
    done = into(replace=True)
    assert done.replaced is not None
    assert done.replaced.file.parent == tmp_path / "replaced"
    assert _digests(f"sqlite:///{done.replaced.file}") == before
    assert _digests(database_url) == done.tables


def test_a_collection_with_the_packaged_kinds_alone_gives_way(
    into: Into, database_url: str
) -> None:
    open_collection(database_url, now=NOW).dispose()
    done = into()
    assert done.replaced is None
    assert _digests(database_url) == done.tables


def test_a_backup_with_faults_is_refused_and_the_collection_left_alone(
    into: Into, backup: Path, database_url: str
) -> None:
    _other_collection(database_url)
    before = _digests(database_url)
    raw = sqlite3.connect(backup)
    raw.execute("UPDATE movement SET balance_seeds = balance_seeds + 1 WHERE id = 1")
    raw.commit()
    raw.close()
    with pytest.raises(Refused, match=r"no sound backup.*the movements add up to"):
        into(replace=True)
    assert _digests(database_url) == before


def test_a_backup_with_bytes_gone_wrong_is_refused(into: Into, backup: Path) -> None:
    whole = bytearray(backup.read_bytes())
    middle = len(whole) // 2
    whole[middle : middle + 8192] = os.urandom(8192)
    backup.write_bytes(bytes(whole))
    with pytest.raises(Refused, match="no sound backup"):
        into()


@pytest.mark.parametrize("content", [b"", b"Dear reader, " * 500])
def test_a_file_that_is_no_backup_is_refused(into: Into, tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "letter.sqlite"
    file.write_bytes(content)
    with pytest.raises(Refused, match="no sound backup"):
        into(file=file)
    assert file.read_bytes() == content


def test_a_backup_that_is_not_there_is_refused(into: Into, tmp_path: Path) -> None:
    with pytest.raises(BadDatabase):
        into(file=tmp_path / "nowhere.sqlite")


def test_a_backup_of_a_newer_program_is_refused(into: Into, backup: Path) -> None:
    raw = sqlite3.connect(backup)
    raw.execute("UPDATE alembic_version SET version_num = '9999'")
    raw.commit()
    raw.close()
    with pytest.raises(NewerDatabase):
        into()


@pytest.mark.parametrize("revision", revisions()[:-1])
def test_a_backup_of_an_older_program_is_brought_forward(
    into: Into, tmp_path: Path, database_url: str, revision: str
) -> None:
    file = tmp_path / "old.sqlite"
    old = open_engine(f"sqlite:///{file}")
    upgrade(old, to=revision)
    with old.begin() as connection:
        connection.execute(
            text("INSERT INTO kind (version, slug, name, packaged) VALUES (1, 'a', 'A', false)")
        )
    old.dispose()
    before = file.read_bytes()
    done = into(file=file)
    assert (done.revision, done.rows) == (revision, 1)
    assert _digests(database_url) == done.tables
    assert file.read_bytes() == before


def test_a_file_that_is_served_is_not_swapped_under_its_server(
    backup: Path, tmp_path: Path
) -> None:
    file = tmp_path / "served.sqlite"
    _other_collection(f"sqlite:///{file}")
    serving = open_engine(f"sqlite:///{file}")
    with serving.connect():
        pass  # an idle connection stays open in the pool, as in a server
    before = _digests(f"sqlite:///{file}")
    with pytest.raises(Conflict, match="is open elsewhere") as refused:
        restore(backup, f"sqlite:///{file}", replace=True, backups=tmp_path / "kept", now=NOW)
    assert "Stop the seedbank" in refused.value.mend
    assert _digests(f"sqlite:///{file}") == before
    serving.dispose()


def test_a_damaged_file_is_set_aside_never_thrown_away(backup: Path, tmp_path: Path) -> None:
    file = tmp_path / "seedbank.sqlite"
    shutil.copy(backup, file)
    damaged = file.read_bytes()[:100_000]
    file.write_bytes(damaged)
    url = f"sqlite:///{file}"
    with pytest.raises(Conflict, match="already"):
        restore(backup, url, replace=False, backups=tmp_path / "kept", now=NOW)
    assert file.read_bytes() == damaged
    done = restore(backup, url, replace=True, backups=tmp_path / "kept", now=NOW)
    assert done.set_aside is not None
    assert done.set_aside.read_bytes() == damaged
    assert _digests(url) == done.tables


def test_a_journal_left_over_from_a_lost_file_is_not_played_into_the_restored_one(
    backup: Path, tmp_path: Path
) -> None:
    file = tmp_path / "seedbank.sqlite"
    Path(f"{file}-wal").write_bytes(b"left over")
    with pytest.raises(Conflict, match="left over from a collection that is gone"):
        restore(backup, f"sqlite:///{file}", replace=True, backups=tmp_path / "kept", now=NOW)
    assert not file.exists()


def test_a_restore_that_is_killed_leaves_the_old_collection_whole(
    backup: Path, database_url: str, tmp_path: Path
) -> None:
    _other_collection(database_url)
    before = _digests(database_url)
    program = f"""
        import os, signal
        from datetime import UTC, datetime
        from pathlib import Path
        import seedbank.upkeep.restore as restoring

        def die(*_, **__):
            os.kill(os.getpid(), signal.SIGKILL)

        restoring.put_in_place = restoring.same = die  # the last step before it would count
        restoring.restore(Path({str(backup)!r}), {database_url!r}, replace=True,
            backups=Path({str(tmp_path / "kept")!r}), now=datetime(2027, 2, 20, tzinfo=UTC))
    """
    died = subprocess.run([sys.executable, "-c", dedent(program)], check=False)
    assert died.returncode == -signal.SIGKILL
    assert _digests(database_url) == before
    done = restore(backup, database_url, replace=True, backups=tmp_path / "again", now=NOW)
    assert _digests(database_url) == done.tables
