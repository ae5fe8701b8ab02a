"""The README's tour is real: its commands are typed in order and print what it shows.

When answers have changed for a good reason, ``python tests/cli/test_tour.py`` writes them anew.
"""

import difflib
import os
import re
import shlex
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from seedbank.main import app
from seedbank.server.api import create_app
from seedbank.settings import Settings

README = Path(__file__).parents[2] / "README.md"
BLOCK = re.compile(r"(?<=```console\n)(.*?)(?=```)", re.DOTALL)
LEFT_OUT = "…"
RENEW = f"renew it with: {Path(sys.executable).name} tests/cli/test_tour.py"


def type_tour(
    text: str, export: Callable[[str, str], None]
) -> Iterator[tuple[str, list[str], list[str]]]:
    """Each command of the tour, the lines shown below it, and those it prints when typed."""
    export("COLUMNS", "88")
    for block in BLOCK.findall(text):
        for step in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, *shown = step.splitlines()
            program, *words = shlex.split(command)
            if program == "export":
                for name, value in (word.split("=", 1) for word in words):
                    export(name, value)
                continue
            assert program == "seedbank"
            result = CliRunner().invoke(app, words, catch_exceptions=False)
            assert result.exit_code == 0, result.stderr
            yield command, shown, [line.rstrip() for line in result.stdout.splitlines()]


def test_the_tour_prints_what_the_readme_shows(monkeypatch: pytest.MonkeyPatch) -> None:
    typed = list(type_tour(README.read_text("utf-8"), monkeypatch.setenv))
    assert len(typed) >= 4
    for command, shown, printed in typed:
        left = iter(printed)
        for line in shown:
            # Searching goes on where the last line was found, so the order is held too.
            assert line in ("", LEFT_OUT) or line in left, f"{command}: {line!r}; {RENEW}"


def test_the_tours_addresses_are_there() -> None:
    with TestClient(create_app(Settings(database_url="sqlite://"))) as client:
        paths = client.get("/openapi.json").json()["paths"]
    shown = re.findall(r"http://127\.0\.0\.1:8000(/[^\s'?>]+)", README.read_text("utf-8"))
    assert {re.sub(r"/lots/[^/]+", "/lots/{code}", path) for path in shown} <= set(paths)
    assert len(shown) == 3


def renewed(shown: list[str], printed: list[str]) -> list[str]:
    """The shown lines as they are printed now: each replaced by the likest one further down."""
    answer, start = [], 0
    for line in shown:
        if line in ("", LEFT_OUT):
            answer.append(line)
            continue
        likest = difflib.get_close_matches(line, printed[start:], n=1, cutoff=0.5)
        if likest:
            start = printed.index(likest[0], start) + 1
            answer.append(likest[0])
    return answer


def renew() -> None:
    """Write the tour's answers anew; look at the difference before keeping it."""
    text = README.read_text("utf-8")
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        for command, shown, printed in type_tour(text, os.environ.__setitem__):
            before = "\n".join([f"$ {command}", *shown])
            text = text.replace(before, "\n".join([f"$ {command}", *renewed(shown, printed)]))
    README.write_text(text, "utf-8")


if __name__ == "__main__":
    renew()
