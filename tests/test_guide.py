"""The guide's commands are run, in order, and answer what the guide says they answer."""

import os
import re
import shutil
import socket
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.guide_blocks import Step, differences, read_steps

ROOT = Path(__file__).parents[1]
GUIDE = (ROOT / "api_docs/guide.md").read_text("utf-8")
DOCUMENTED = "http://127.0.0.1:8000"
SERVE = textwrap.dedent("""
    import sys
    from datetime import UTC, datetime
    from pathlib import Path

    import uvicorn

    from seedbank.server.api import create_app
    from seedbank.interchange.folder.import_collection import import_collection
    from seedbank.settings import Settings

    app = create_app(Settings())
    with app.state.wiring.writing() as session:
        import_collection(session, Path("demo_data"), datetime(2027, 2, 20, 12, tzinfo=UTC))
    uvicorn.run(app, fd=int(sys.argv[1]), log_level="error")
""")


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    """A real server on the demonstration collection, on the demonstration's day."""
    environment = {
        **os.environ,
        "SEEDBANK_DATABASE_URL": f"sqlite:///{tmp_path / 'demo.sqlite'}",
        "SEEDBANK_TODAY": "2027-02-20",
    }
    # Bound and listening before the server starts, so curl waits instead of being turned away.
    with socket.create_server(("127.0.0.1", 0)) as listening:
        port = listening.getsockname()[1]
        server = subprocess.Popen(
            [sys.executable, "-c", SERVE, str(listening.fileno())],
            cwd=ROOT,
            env=environment,
            pass_fds=[listening.fileno()],
        )
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(timeout=30)


def run(step: Step, address: str) -> str:
    """What the command prints, run by bash as a reader would."""
    command = step.command.replace(DOCUMENTED, address)
    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", command],
        env={**os.environ, "NO_PROXY": "127.0.0.1", "no_proxy": "127.0.0.1"},
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0, f"line {step.line}: {done.stderr or done.stdout}"
    return done.stdout


@pytest.mark.skipif(
    shutil.which("curl") is None or sys.platform == "win32",
    reason="the guide's commands are bash and curl",
)
def test_every_command_of_the_guide_answers_as_the_guide_says(address: str) -> None:
    faults = []
    for step in read_steps(GUIDE):
        answer = run(step, address)
        for fault in differences(step.shown, answer):
            faults.append(f"guide.md line {step.line}: {fault}")
    assert not faults, "\n".join(faults)


def test_the_guide_calls_nothing_but_the_documented_server() -> None:
    for step in read_steps(GUIDE):
        assert set(re.findall(r"https?://[^/\s'\"$]+", step.command)) == {DOCUMENTED}


def test_a_key_stands_for_one_request_throughout_the_guide() -> None:
    commands: dict[str, set[str]] = {}
    for step in read_steps(GUIDE):
        for key in re.findall(r"Idempotency-Key: ([^'\"]+)", step.command):
            commands.setdefault(key, set()).add(step.command)
    assert commands
    assert {key: sent for key, sent in commands.items() if len(sent) > 1} == {}


@pytest.mark.parametrize(
    ("shown", "real"),
    [
        pytest.param('{"a": 1}', '{"b": 1}', id="a name that is not there"),
        pytest.param('{"a": 61.8}', '{"a": 61.7}', id="a digit shown that is wrong"),
        pytest.param('{"a": 20}', '{"a": 21}', id="a whole number that is wrong"),
        pytest.param('{"a": 20}', '{"a": 20.6}', id="a number rounded wrongly"),
        pytest.param('{"a": "x…z"}', '{"a": "xy"}', id="a text that ends otherwise"),
        pytest.param('{"a": [1, 2]}', '{"a": [2, 1]}', id="items in another order"),
        pytest.param('{"a": [{"b": 1}]}', '{"a": []}', id="an item that is not there"),
        pytest.param('{"a": []}', '{"a": [1]}', id="a list that is not empty"),
        pytest.param('{"a": null}', '{"a": 0}', id="something where nothing is shown"),
        pytest.param('{"a": 1}', '{"a": true}', id="a number shown for a yes"),
        pytest.param("HTTP/1.1 201 Created", "HTTP/1.1 200 OK\r\n\r\n{}", id="a status"),
        pytest.param("HTTP/1.1 200 OK\netag: 1", "HTTP/1.1 200 OK\r\n\r\n", id="a header"),
    ],
)
def test_an_answer_that_differs_is_found_out(shown: str, real: str) -> None:
    assert differences(shown, real)


@pytest.mark.parametrize(
    ("shown", "real"),
    [
        pytest.param('{"a": 61.8}', '{"a": 61.76, "b": 2}', id="rounded to the digits shown"),
        pytest.param('{"a": [{"b": 2}]}', '{"a": [{"b": 1}, {"b": 2, "c": 3}]}', id="some items"),
        pytest.param('{"a": "x…z"}', '{"a": "x y z"}', id="a text with its middle left out"),
        pytest.param(
            'HTTP/1.1 200 OK\netag: "1-…"', 'HTTP/1.1 200 OK\r\nETag: "1-9f"\r\n\r\n', id="headers"
        ),
    ],
)
def test_an_answer_that_holds_what_is_shown_passes(shown: str, real: str) -> None:
    assert differences(shown, real) == []


@pytest.mark.parametrize(
    "guide",
    ["```sh\ncurl a\n```\n", "```json\n{}\n```\n", "```sh\ncurl a\n```\n```sh\ncurl b\n```\n"],
)
def test_a_command_without_an_answer_or_an_answer_without_a_command_is_refused(guide: str) -> None:
    with pytest.raises(ValueError, match="line 1"):
        read_steps(guide)
