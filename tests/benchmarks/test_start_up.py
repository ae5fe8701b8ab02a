"""How soon commands start: processor time against bare imports of the libraries they build on.

Each is a process of its own, by turns, least of five; so the machine's own pace cancels out.
"""

import os
import resource
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

pytestmark = pytest.mark.benchmark

BARE = [sys.executable, "-c", "import fastapi, sqlmodel, typer"]
COMMAND = str(Path(sys.executable).parent / "seedbank")
COMPLETE = {
    "_SEEDBANK_COMPLETE": "complete_bash",
    "COMP_WORDS": "seedbank sa",
    "COMP_CWORD": "1",
}


def spent_by(work: Callable[[], object]) -> float:
    """Seconds of processor time that processes begun and ended by ``work`` took."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    work()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def run(words: list[str], **env: str) -> None:
    subprocess.run(words, env=os.environ | env, check=True, capture_output=True)


def least(*works: Callable[[], object]) -> list[float]:
    """Least of five of each, by turns."""
    rounds = [[spent_by(work) for work in works] for _ in range(5)]
    return [min(spent) for spent in zip(*rounds, strict=True)]


def test_help_version_and_completion_cost_less_than_the_libraries() -> None:
    bare, *seconds = least(
        lambda: run(BARE),
        lambda: run([COMMAND, "--help"]),
        lambda: run([COMMAND, "--version"]),
        lambda: run([COMMAND], **COMPLETE),
    )
    ratios = [one / bare for one in seconds]
    print(f"bare imports {bare:.2f} s; help, version, completion: {[round(r, 2) for r in ratios]}")
    assert max(ratios) <= 0.7
