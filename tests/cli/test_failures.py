import socket
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy.exc import TimeoutError as NoConnectionLeft

import seedbank.database.engine as stock_engine
from seedbank.cli.failures import sentence
from seedbank.upkeep.open_collection import open_collection


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["dance"], "No such command 'dance'."),
        (["sow"], "Missing argument 'lot'. See"),
        (["save", "--colour"], "No such option"),
        (["serve", "--port", "99999"], "'99999'"),
        (["serve", "--port=99999"], "'99999'"),
        (["save", "--database", "mysql://x"], "Use an SQLite file or PostgreSQL"),
        (["save", "--database", "/etc/hostname"], "file is not a database"),
        (["serve", "--host", "300.1.1.1"], "host can't be 300.1.1.1."),
    ],
)
def test_bad_input_ends_in_one_sentence_and_code_2(type_in, words, says) -> None:
    said = type_in(*words)
    assert said.code == 2
    assert says in said.err
    assert said.err.count("\n") == 1
    assert said.out == ""


def test_a_bad_setting_is_named_as_it_is_written(type_in, monkeypatch, tmp_path: Path) -> None:
    monkeypatch.setenv("SEEDBANK_TODAY", "tomorrow")
    said = type_in("save", "--database", tmp_path / "new.sqlite")
    assert said.code == 2
    assert said.err.startswith("SEEDBANK_TODAY 'tomorrow': ")


def test_a_taken_port_is_named(type_in, tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        said = type_in("serve", "--port", port, "--database", tmp_path / "new.sqlite")
    assert said.code == 2
    assert (
        said.err == f"port can't be {port}. Choose another with --port; this one is taken or "
        "not allowed.\n"
    )


def test_a_server_that_is_down_is_told_without_a_traceback(type_in) -> None:
    pytest.importorskip("psycopg", reason="the PostgreSQL driver is an extra")
    said = type_in("save", "--database", "postgresql://nobody@127.0.0.1:1/none")
    assert said.code == 2
    assert said.err.startswith("database: The collection's database can't be reached.")


def test_a_collection_that_is_locked_is_told_as_busy(
    type_in, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "new.sqlite"
    open_collection(f"sqlite:///{file}", now=datetime(2027, 3, 1, tzinfo=UTC)).dispose()
    monkeypatch.setattr(stock_engine, "BUSY_TIMEOUT_MS", 50)
    other = sqlite3.connect(file, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    said = type_in("token", "add", "Ann", "--rights", "owner", "--database", file)
    other.close()
    assert said.code == 2
    assert said.err.startswith("database: The collection is busy with other changes.")
    assert said.err.count("\n") == 1


def test_connections_that_are_all_taken_are_told_in_one_sentence() -> None:
    told = sentence(NoConnectionLeft("QueuePool limit of size 5 overflow 10 reached"))
    assert told.startswith(
        "database: More are asking of the collection than it can answer at once."
    )
    assert "QueuePool" not in told
