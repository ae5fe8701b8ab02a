"""Commands are imported when they run: what lists them must say the same as they do."""

import subprocess
import sys

import pytest
from typer.testing import CliRunner

import seedbank
from seedbank.cli.commands import imported
from seedbank.main import COMMANDS, app


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_is_listed_with_the_first_line_of_its_help(name: str) -> None:
    command = imported(name, COMMANDS[name])
    assert command.name == name
    assert command.help.splitlines()[0] == COMMANDS[name].help


@pytest.mark.parametrize(
    ("module", "heavy"),
    [
        ("main", {"sqlmodel", "pydantic", "numpy", "fastapi", "rich.table", "alembic"}),
        (
            "server.app",
            {"alembic", "fpdf", "icalendar", "matplotlib", "rapidfuzz", "scipy.optimize"},
        ),
    ],
)
def test_what_few_need_is_not_waited_for_by_all(module: str, heavy: set[str]) -> None:
    code = f"import sys, seedbank.{module}; print(sorted({heavy} & sys.modules.keys()))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_the_version_is_told(type_in) -> None:
    assert type_in("--version").out == f"seedbank {seedbank.__version__}\n"


@pytest.mark.parametrize(
    ("shell", "asked"),
    [
        ("bash", {"COMP_WORDS": "seedbank sa", "COMP_CWORD": "1"}),
        ("zsh", {"_TYPER_COMPLETE_ARGS": "seedbank sa"}),
        (
            "fish",
            {"_TYPER_COMPLETE_ARGS": "seedbank sa", "_TYPER_COMPLETE_FISH_ACTION": "get-args"},
        ),
    ],
)
def test_shells_complete_commands(shell: str, asked: dict[str, str]) -> None:
    env = {"_SEEDBANK_COMPLETE": f"complete_{shell}", **asked}
    said = CliRunner().invoke(app, [], prog_name="seedbank", env=env)
    assert "save" in said.stdout
    assert "sow" not in said.stdout


def test_shells_complete_the_options_of_a_command() -> None:
    env = {"COMP_WORDS": "seedbank sow --soi", "COMP_CWORD": "2"}
    env["_SEEDBANK_COMPLETE"] = "complete_bash"
    said = CliRunner().invoke(app, [], prog_name="seedbank", env=env)
    assert said.stdout.split() == ["--soil-temp-c"]
