"""The README's tour is real: its commands are typed in order and print what it shows."""

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from seedbank.api.app import create_app
from seedbank.settings import Settings

README = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
LEFT_OUT = "…"


def steps() -> Iterator[tuple[str, list[str]]]:
    """Each command of the tour, and the lines shown below it."""
    for block in re.findall(r"```console\n(.*?)```", README, re.DOTALL):
        for step in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, *shown = step.splitlines()
            yield command, shown


def test_the_tour_prints_what_the_readme_shows(type_in, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "88")
    ran = 0
    for command, shown in steps():
        program, *words = shlex.split(command)
        if program == "export":
            for name, value in (word.split("=", 1) for word in words):
                monkeypatch.setenv(name, value)
            continue
        assert program == "seedbank"
        said = type_in(*words)
        assert said.code == 0, said.err
        printed = iter([line.rstrip() for line in said.out.splitlines()])
        for line in shown:
            # Searching goes on where the last line was found, so the order is held too.
            assert not line or line == LEFT_OUT or line in printed, f"{command}: {line}"
        ran += 1
    assert ran >= 4


def test_the_tours_addresses_are_there() -> None:
    with TestClient(create_app(Settings(database_url="sqlite://"))) as client:
        paths = client.get("/openapi.json").json()["paths"]
    shown = re.findall(r"http://127\.0\.0\.1:8000(/[^\s'?]+)", README)
    assert {re.sub(r"/lots/[^/]+", "/lots/{code}", path) for path in shown} <= set(paths)
    assert len(shown) == 3
