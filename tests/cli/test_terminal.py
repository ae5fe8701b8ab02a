"""What holds of every command: it pipes, it completes, it says what it did by its exit code."""

import io
import json
import os
import pty
import re
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest
from typer.testing import CliRunner

from seedbank.cli.commands import Noun, imported
from seedbank.main import ALIASES, COMMANDS, app
from tests.cli.conftest import EVERY, Type
from tests.cli.test_no_collection import NEEDS_ONE

SPEAKS_OTHERWISE = {"serve"}  # it answers over HTTP
SEEDBANK = [sys.executable, "-c", "from seedbank.main import app; app()"]


def asking() -> dict[str, list[object]]:
    """Each command that only asks, with what is typed after it on the demonstration."""
    return {
        name: NEEDS_ONE[name][0]
        for name, one in EVERY.items()
        if not one.writes and name not in ("plan show", "lot label")  # no plan is kept; a file
    }


@pytest.mark.parametrize("name", [name for name in EVERY if name not in SPEAKS_OTHERWISE])
def test_every_command_answers_programs(name: str) -> None:
    command = imported(name.split()[-1], EVERY[name])
    assert "--json" in {option for one in command.params for option in one.opts}


@pytest.mark.parametrize("name", asking())
def test_what_only_asks_prints_one_document_and_changes_nothing(
    type_in: Type, demo: Path, name: str
) -> None:
    before = type_in("export", "before.zip", "--json", "--database", demo).out
    words = [str(word) for word in asking()[name]]
    said = type_in(*name.split(), *words, "--json", "--database", demo)
    assert said.code == 0, said.err
    assert isinstance(json.loads(said.out), dict | list)
    after = type_in("export", "after.zip", "--json", "--database", demo).out
    assert digests(after) == digests(before)


def digests(manifest: str) -> list[tuple[str, str]]:
    return [(one["name"], one["sha256"]) for one in json.loads(manifest)["files"]]


@pytest.mark.parametrize(
    "words",
    [
        ["lot", "list"], ["lot", "find", "carrot"], ["lot", "show", "YMY4K", "26YPM"],
        ["lot", "history", "YMY4K"], ["test", "list"], ["sowing", "list"], ["crop", "list"],
        ["list", "to-do"], ["list", "dates"], ["place", "list"], ["kind", "list"],
        ["variety", "list"],
    ],
    ids=" ".join,
)  # fmt: skip
def test_long_lists_are_lines_of_json(ask_demo: Type, words: list[str]) -> None:
    told = ask_demo(*words, "--json-lines").out.splitlines()
    assert told
    assert all(isinstance(json.loads(line), dict) for line in told)
    if words == ["lot", "list"]:  # all of them, more than a page of the table
        assert len(told) == json.loads(ask_demo(*words, "--json").out)["total"] > 50


def piped(words: Sequence[str], typed: str = "", **env: str) -> subprocess.CompletedProcess[str]:
    kept = {name: value for name, value in os.environ.items() if name != "COLUMNS"}
    return subprocess.run(
        [*SEEDBANK, *words],
        input=typed,
        env=kept | env,
        capture_output=True,
        text=True,
        check=False,
    )


def test_codes_come_from_another_command_and_all_or_none_is_done(demo: Path) -> None:
    where = ["--database", str(demo)]
    lines = piped(["lot", "find", "carrot", "--json-lines", *where]).stdout.splitlines()
    codes = [json.loads(line)["lot"]["code"] for line in lines]
    assert len(codes) > 3
    moved = piped(["lot", "move", "-", "--place", "cellar", *where], "\n".join(codes))
    assert moved.returncode == 0, moved.stderr
    shown = json.loads(piped(["lot", "show", *codes, "--json", *where]).stdout)["items"]
    assert {one["lot"]["place"]["name"] for one in shown} == {"cellar"}
    refused = piped(["lot", "give", "-", "--seeds", "5", *where], "\n".join([*codes, "NOPE1"]))
    assert refused.returncode == 2
    assert "NOPE1" in refused.stderr
    again = json.loads(piped(["lot", "show", *codes, "--json", *where]).stdout)["items"]
    assert [one["lot"]["amount"] for one in again] == [one["lot"]["amount"] for one in shown]
    assert piped(["lot", "move", "-", "--place", "cellar", *where]).returncode == 2  # no code


@pytest.mark.parametrize(
    ("command", "bad"),
    [
        (["lot", "count"], ["YMY4K:180", "26YPM:-4"]),
        (["test", "start", "--set", "10"], ["YMY4K", "NOPE1"]),
        (["sowing", "record", "--method", "row"], ["YMY4K:20", "26YPM:9000000"]),
    ],
    ids=lambda one: " ".join(one[:2]),
)
def test_of_several_lots_all_are_done_or_none(
    type_in: Type, demo: Path, command: list[str], bad: list[str]
) -> None:
    where = ("--database", demo)
    before = type_in("lot", "history", "YMY4K", "--json", *where).out
    said = type_in(*command, *bad, *where)
    assert (said.code, said.out) == (2, "")
    assert type_in("lot", "history", "YMY4K", "--json", *where).out == before
    good = [bad[0], bad[1].split(":")[0].replace("NOPE1", "26YPM") + ":1" * (":" in bad[1])]
    assert type_in(*command, *good, *where).code == 0
    assert type_in("lot", "history", "YMY4K", "--json", *where).out != before


def test_a_table_that_is_piped_is_a_line_a_row_and_no_code_is_shortened(demo: Path) -> None:
    said = piped(["lot", "find", "carrot", "--database", str(demo)]).stdout
    rows = [line for line in said.splitlines() if "(carrot)" in line]
    found = piped(["lot", "find", "carrot", "--json-lines", "--database", str(demo)]).stdout
    codes = [json.loads(line)["lot"]["code"] for line in found.splitlines()]
    assert [row.split()[0] for row in rows] == codes
    assert "…" not in said


@pytest.mark.parametrize("columns", ["30", "60", "88", "140"])
def test_no_code_is_shortened_however_narrow_the_screen(
    type_in: Type, demo: Path, monkeypatch: pytest.MonkeyPatch, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    where = ("--database", demo)
    found = json.loads(type_in("test", "list", "--open", "--json", *where).out)["items"]
    said = type_in("test", "list", "--open", *where).out
    assert all(re.search(rf"\b{one['lot']}\b", said) for one in found)
    assert "…" not in said


def on_a_terminal(words: Sequence[str], **env: str) -> str:
    """What a command writes to a terminal."""
    reading, writing = pty.openpty()
    with os.fdopen(reading, "rb", buffering=0) as read:
        process = subprocess.Popen([*SEEDBANK, *words], stdout=writing, env=os.environ | env)
        os.close(writing)
        said = b""
        try:
            while piece := read.read(1 << 16):
                said += piece
        except OSError:  # Linux says so when the other end is closed
            pass
        assert process.wait() == 0
    return said.decode()


def test_no_colour_is_no_colour(demo: Path) -> None:
    words = ["lot", "show", "YMY4K", "--database", str(demo)]
    said = on_a_terminal(words, NO_COLOR="1", TERM="xterm-256color")
    assert "YMY4K" in said
    styles = re.findall(r"\x1b\[([\d;]*)m", said)
    coloured = [one for code in styles for one in code.split(";") if one and int(one) >= 30]
    assert coloured == []


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
@pytest.mark.parametrize("noun", [name for name, one in COMMANDS.items() if isinstance(one, Noun)])
def test_shells_complete_the_verbs_of_every_noun(shell: str, noun: str) -> None:
    typed = f"seedbank {noun} "
    asked = {"COMP_WORDS": typed, "COMP_CWORD": "2", "_TYPER_COMPLETE_ARGS": typed}
    env = asked | {"_SEEDBANK_COMPLETE": f"complete_{shell}"}
    env |= {"_TYPER_COMPLETE_FISH_ACTION": "get-args"}
    said = CliRunner().invoke(app, [], prog_name="seedbank", env=env).stdout
    one = COMMANDS[noun]
    assert isinstance(one, Noun)
    assert all(re.search(rf"\b{verb}\b", said) for verb in one.verbs)


def test_exit_codes_tell_done_wrong_and_refused(type_in: Type, demo: Path) -> None:
    assert type_in("check", "--database", demo).code == 0
    assert type_in("lot", "show", "NOPE1", "--database", demo).code == 2
    assert type_in("lot", "shwo").code == 2
    assert type_in("lot", "show", "YMY4K", "--database", "nowhere.sqlite").code == 2


def test_standard_input_is_read_only_when_asked(
    type_in: Type, demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("26YPM"))
    assert "26YPM" not in type_in("lot", "show", "YMY4K", "--database", demo).out


def test_the_page_on_the_terminal_names_every_command_and_where_it_belongs() -> None:
    page = (Path(__file__).parents[2] / "api_docs/terminal.md").read_text("utf-8")
    for noun, one in COMMANDS.items():
        if not isinstance(one, Noun):
            assert f"`{noun}`" in page
            continue
        [row] = re.findall(rf"^\| `{noun}` \|(.*)\|(.*)\|$", page, re.MULTILINE)
        for place, writes in zip(row, (False, True), strict=True):
            told = set(re.findall(r"`([a-z-]+)`", place))
            assert told == {verb for verb, it in one.verbs.items() if it.writes == writes}
    before = page[page.index("## Names of before") :]
    for alias, now in ALIASES.items():
        line = next(line for line in before.splitlines() if line.startswith(f"| `{alias}"))
        assert not isinstance(now, str) or f"`{now}`" in line
