"""A disk that is full, a file that may not be written, a file that is damaged."""

import hashlib
import os
import shutil
import sqlite3
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from fastapi.testclient import TestClient

from seedbank.main import app as command_line
from seedbank.server.app import create_server
from seedbank.settings import Settings
from tests.faults.conftest import post, running, stocked


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of its own of 1.2 MB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mounting = ["mount", "-t", "tmpfs", "-o", "size=1200k", "tmpfs", str(folder)]
    if shutil.which("mount") is None or subprocess.run(mounting, capture_output=True).returncode:
        pytest.skip("a small disk can't be mounted here (needs root on Linux)")
    yield folder
    subprocess.run(["umount", "-l", str(folder)], check=True)


def test_a_disk_that_fills_up_stops_writing_with_a_plain_word_and_loses_nothing(
    small_disk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    url = f"sqlite:///{small_disk / 'garden.sqlite'}"
    acknowledged = 0
    with running(url) as server, server.client() as client:
        code = stocked(client, 5000)
        for number in range(5000):
            body = {"reason": "given", "amount": {"seeds": 1}, "note": "n" * 300}
            answer = post(client, f"/lots/{code}/movements", body, f"gift-{number}")
            if answer.status_code != 201:
                break
            acknowledged += 1
        assert answer.status_code == 503, answer.text
        assert "no room left" in answer.json()["detail"]
        assert int(answer.headers["Retry-After"]) > 0
        page = client.post("/take-in", data={}, headers={"Accept": "text/html"})
        assert page.status_code in (422, 503)
        held = client.get(f"/lots/{code}").json()["amount"]["seeds"]
        assert held == 5000 - acknowledged
        subprocess.run(["mount", "-o", "remount,size=20m", str(small_disk)], check=True)
        again = post(client, f"/lots/{code}/movements", body, f"gift-{number}")
        assert again.status_code == 201, "it goes on by itself once there is room"
        assert "Idempotent-Replay" not in again.headers
        assert client.get(f"/lots/{code}").json()["amount"]["seeds"] == held - 1
    assert acknowledged > 0
    with capsys.disabled():
        print(f"\nfull disk: {acknowledged} writes acknowledged before it, 0 lost")


@pytest.fixture
def written(tmp_path: Path) -> Path:
    """A collection with something in it, closed."""
    file = tmp_path / "garden.sqlite"
    app = create_server(Settings(database_url=f"sqlite:///{file}"))
    client = TestClient(app, "http://127.0.0.1")
    body = {"kind": "carrot", "name": "Purple Lantern"}
    client.post("/varieties", json=body, headers={"Idempotency-Key": "v"})
    app.state.wiring.writing.kw["bind"].dispose()
    with sqlite3.connect(file) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.execute("PRAGMA journal_mode = DELETE")
    connection.close()
    return file


@pytest.fixture
def nobody() -> Iterator[Callable[[], None]]:
    """Call it to go on as a user who owns nothing; root may write to any file."""
    if os.geteuid() != 0:
        yield lambda: None
        return
    yield lambda: os.seteuid(65534)
    os.seteuid(0)


@pytest.mark.parametrize("command", ["save", "check"])
def test_a_file_that_may_not_be_written_is_named_and_left_as_it_was(
    written: Path, command: str, capsys: pytest.CaptureFixture[str], nobody: Callable[[], None]
) -> None:
    with pytest.raises(SystemExit):  # so that nothing is left to be loaded from root's files
        command_line([command, "--database", str(written)])
    capsys.readouterr()
    with TemporaryDirectory() as folder:
        kept = Path(shutil.copy(written, folder))
        kept.chmod(0o444)
        Path(folder).chmod(0o555)
        before = hashlib.sha256(kept.read_bytes()).hexdigest()
        nobody()
        with pytest.raises(SystemExit) as left:
            command_line([command, "--database", str(kept)])
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        if command == "save":
            assert left.value.code == 2
            assert str(kept) in said.err
            assert "write" in said.err or "readonly" in said.err
        assert hashlib.sha256(kept.read_bytes()).hexdigest() == before
        assert os.listdir(folder) == [kept.name]
        if os.getuid() == 0:
            os.seteuid(0)
        Path(folder).chmod(0o755)


@pytest.mark.parametrize("damage", ["no database at all", "first page", "middle", "cut short"])
def test_a_damaged_file_is_told_plainly_and_left_as_it_was(
    written: Path, damage: str, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copy(written, written.with_suffix(".good"))
    whole = bytearray(written.read_bytes())
    if damage == "no database at all":
        whole = bytearray(b"a letter to my sister, " * 400)
    elif damage == "first page":
        whole[100:3000] = os.urandom(2900)
    elif damage == "middle":
        whole[4096 : len(whole) - 4096] = b"\xff" * (len(whole) - 8192)
    else:
        whole = whole[: len(whole) // 2]
    written.write_bytes(whole)
    before = hashlib.sha256(whole).hexdigest()
    with pytest.raises(SystemExit) as left:
        command_line(["check", "--database", str(written)])
    said = capsys.readouterr()
    assert left.value.code in (1, 2)
    assert "Traceback" not in said.err
    assert said.err or said.out
    assert hashlib.sha256(written.read_bytes()).hexdigest() == before
