"""Commands are imported when they run: what lists them must say the same as they do."""

import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

import seedbank
from seedbank.cli.commands import Noun, imported
from seedbank.main import ALIASES, COMMANDS, app
from tests.cli.conftest import EVERY, OWN_ALIASES


@pytest.mark.parametrize("name", [*EVERY, *OWN_ALIASES])
def test_a_command_is_listed_with_the_first_line_of_its_help(name: str) -> None:
    listed = {**EVERY, **OWN_ALIASES}[name]
    command = imported(name.split()[-1], listed)
    assert command.help.splitlines()[0] == listed.help


def test_each_command_is_declared_once() -> None:
    places = [(one.module, one.function) for one in {**EVERY, **OWN_ALIASES}.values()]
    assert len(set(places)) == len(places)


@pytest.mark.parametrize("alias", [name for name in ALIASES if name not in OWN_ALIASES])
def test_a_name_of_before_is_the_same_command_not_listed(type_in, alias: str) -> None:
    now = str(ALIASES[alias]).split()
    assert f"\n  {alias} " not in type_in("--help").out
    told, meant = type_in(alias, "--help").out, type_in(*now, "--help").out
    assert told.split("\n", 1)[1] == meant.split("\n", 1)[1]


@pytest.mark.parametrize(
    ("before", "now"),
    [
        (["plan", "--horizon", "0"], ["plan", "make", "--horizon", "0"]),
        (["climate"], ["climate", "state"]),
        (["kind", "nonesuch weed"], ["kind", "add", "nonesuch weed"]),
        (["test", "YMY4K", "--set", "50"], ["test", "record", "YMY4K", "--set", "50"]),
    ],
    ids=str,
)
def test_a_noun_that_was_a_command_is_still_typed_alone(
    demo: Path, type_in, before: list[str], now: list[str]
) -> None:
    told = type_in(*before, "--database", demo)
    assert told.code == 0 or told.err
    meant = type_in(*now, "--database", demo)
    if before[0] == "kind":  # it is there now
        assert (told.code, meant.code) == (0, 2)
    else:
        assert told == meant


@pytest.mark.parametrize("words", [["kind", "sesaon"], ["test", "recrod", "YMY4K"], ["lot", "lst"]])
def test_a_slip_of_a_verb_does_nothing_else(demo: Path, type_in, words: list[str]) -> None:
    before = demo.read_bytes()
    said = type_in(*words)
    assert (said.code, said.out) == (2, "")
    assert "Did you mean" in said.err
    assert demo.read_bytes() == before


def test_help_tells_what_asks_from_what_writes(type_in) -> None:
    for noun, one in COMMANDS.items():
        if not isinstance(one, Noun):
            continue
        told = type_in(noun, "-h").out
        assert one.before or told == type_in(noun).out
        asking, _, writing = told.partition("Commands that write:")
        for verb, command in one.verbs.items():
            assert f"\n  {verb} " in (writing if command.writes else asking)


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
        ("bash", {"COMP_WORDS": "seedbank so", "COMP_CWORD": "1"}),
        ("zsh", {"_TYPER_COMPLETE_ARGS": "seedbank so"}),
        (
            "fish",
            {"_TYPER_COMPLETE_ARGS": "seedbank so", "_TYPER_COMPLETE_FISH_ACTION": "get-args"},
        ),
    ],
)
def test_shells_complete_commands(shell: str, asked: dict[str, str]) -> None:
    env = {"_SEEDBANK_COMPLETE": f"complete_{shell}", **asked}
    said = CliRunner().invoke(app, [], prog_name="seedbank", env=env)
    assert "sowing" in said.stdout
    assert said.stdout.replace("sowing", "").find("sow") < 0  # a name of before isn't offered


def test_shells_complete_the_options_of_a_command() -> None:
    env = {"COMP_WORDS": "seedbank sowing advise --soi", "COMP_CWORD": "3"}
    env["_SEEDBANK_COMPLETE"] = "complete_bash"
    said = CliRunner().invoke(app, [], prog_name="seedbank", env=env)
    assert said.stdout.split() == ["--soil-temp-c"]
