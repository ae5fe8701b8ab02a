"""A command line to type at, and the demonstration in a file of its own."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from typer.testing import CliRunner

from seedbank.cli.commands import each_command, imported
from seedbank.main import ALIASES, COMMANDS, app

EVERY = each_command(COMMANDS)
"""Every command by its full name."""
for _name, _command in EVERY.items():
    imported(_name.split()[-1], _command)  # so that the clock of those that plan stands still
OWN_ALIASES = {name: one for name, one in ALIASES.items() if not isinstance(one, str)}
"""Commands of before that have no other name."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a command printed, and its exit code."""

    code: int
    out: str
    err: str


Type = Callable[..., Outcome]


def run(*words: str | Path) -> Outcome:
    result = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    return Outcome(result.exit_code, result.stdout, result.stderr)


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
def empty(empty_file: Path, tmp_path: Path) -> Path:
    """A collection without a lot."""
    return Path(shutil.copy(empty_file, tmp_path / "empty.sqlite"))


@pytest.fixture
def demo(garden_file: Path, tmp_path: Path) -> Path:
    """A copy of the demonstration to write to."""
    return Path(shutil.copy(garden_file, tmp_path / "demo.sqlite"))


@pytest.fixture(scope="session")
def _demo_outcomes() -> dict[tuple[str, ...], Outcome]:
    return {}


@pytest.fixture
def ask_demo(_demo_outcomes: dict[tuple[str, ...], Outcome], demo: Path) -> Type:
    """Type a command that only reads the demonstration; asked again it is not run again."""

    def ask(*words: str) -> Outcome:
        if words not in _demo_outcomes:
            where = "--file" if words[0] == "demo" else "--database"
            _demo_outcomes[words] = run(*words, where, demo)
        return _demo_outcomes[words]

    return ask
