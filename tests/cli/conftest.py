"""A command line to type at, and the demonstration in a file of its own."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from seedbank.main import app
from seedbank.upkeep.open_collection import open_collection


@dataclass(frozen=True, slots=True)
class Said:
    """What a command printed, and its exit code."""

    code: int
    out: str
    err: str


Type = Callable[..., Said]


def run(*words: str | Path) -> Said:
    result = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    return Said(result.exit_code, result.stdout, result.stderr)


@pytest.fixture
def type_in() -> Type:
    """Type a command; a traceback fails the test."""
    return run


@pytest.fixture(autouse=True)
def nothing_set(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The demonstration's day, and no settings but those; a stray file lands in ``tmp_path``."""
    for name in ("DATABASE_URL", "HOST", "PORT"):
        monkeypatch.delenv(f"SEEDBANK_{name}", raising=False)
    monkeypatch.setenv("SEEDBANK_TODAY", "2027-02-20")
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.chdir(tmp_path)


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    """A collection without a lot."""
    file = tmp_path / "empty.sqlite"
    open_collection(f"sqlite:///{file}", now=datetime(2027, 2, 20, 12, tzinfo=UTC)).dispose()
    return file


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("demo") / "demo.sqlite"
    said = run("demo", "--no-serve", "--file", file)
    assert said.code == 0, said.err
    return file


@pytest.fixture
def demo(demo_file: Path, tmp_path: Path) -> Path:
    """A copy to write to."""
    return Path(shutil.copy(demo_file, tmp_path / "demo.sqlite"))
