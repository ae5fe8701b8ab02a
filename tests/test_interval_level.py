"""Every interval has one level, said once: with another level nothing of 90 % is left."""

import ast
import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import seedbank

PACKAGE = Path(seedbank.__file__).parent
OF_90_PCT = {0.9, 0.95}

ANSWERS_AT_ANOTHER_LEVEL = """
import json, sys, types
from datetime import date
from pathlib import Path

import seedbank.science

level, database = sys.argv[1:]
name = "seedbank.science.quantities"
file = Path(seedbank.science.__file__).with_name("quantities.py")
source, said = file.read_text("utf-8"), "INTERVAL_LEVEL = 0.9\\n"
assert source.count(said) == 1
quantities = sys.modules[name] = types.ModuleType(name)
exec(source.replace(said, f"INTERVAL_LEVEL = {level}\\n"), quantities.__dict__)
seedbank.science.quantities = quantities

from fastapi.testclient import TestClient

from seedbank.server.api import create_app
from seedbank.settings import Settings

app = create_app(Settings(database_url=database, today=date(2027, 2, 20)))
found = {}
with TestClient(app) as client:
    def ask(path, named=None):
        answer = client.get(path)
        assert answer.status_code in (200, 409), (path, answer.text)  # 409: no seed left
        found[named or path] = answer.json()
        return answer.json()

    for path in ("/forecast-record", "/sowings", "/germination-tests", "/seed-to-save"):
        ask(path)
    for test in found["/germination-tests"]["items"][:2]:
        ask(f"/germination-tests/{test['id']}")
    lots = [one["code"] for one in ask("/lots")["items"]]
    for place, code in enumerate(lots[:4]):
        for about in ("viability", "verdict", "test-advice", "sowing-advice"):
            ask(f"/lots/{code}/{about}", f"/lots/{place}/{about}")
    for variety in ask("/varieties")["items"][:1]:
        ask(f"/varieties/{variety['id']}/sowing-advice")
print(json.dumps(found))
"""


def _answers(level: float, garden: Path) -> dict[str, Any]:
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            ANSWERS_AT_ANOTHER_LEVEL,
            str(level),
            f"sqlite:///{garden}",
        ],
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr
    answers: dict[str, Any] = json.loads(done.stdout)
    return answers


def _values(answer: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every value of an answer with where it stands."""
    if isinstance(answer, dict):
        for name, value in answer.items():
            yield from _values(value, f"{path}.{name}")
    elif isinstance(answer, list):
        for place, value in enumerate(answer):
            yield from _values(value, f"{path}.{place}")
    else:
        yield path, answer


@pytest.fixture(scope="module")
def at_two_levels(
    garden_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[dict[str, Any], ...]:
    garden = Path(shutil.copy(garden_file, tmp_path_factory.mktemp("levels")))
    return tuple(dict(_values(_answers(level, garden))) for level in (0.9, 0.7))


def test_every_answer_names_the_one_level(at_two_levels: tuple[dict[str, Any], ...]) -> None:
    for answers, level_pct in zip(at_two_levels, (90.0, 70.0), strict=True):
        named = {path: value for path, value in answers.items() if path.endswith("level_pct")}
        assert len(named) > 50
        assert {path for path, value in named.items() if value != level_pct} == set()


def test_every_interval_is_narrower_at_a_lower_level(
    at_two_levels: tuple[dict[str, Any], ...],
) -> None:
    wide, narrow = at_two_levels
    ends = {"low_pct": "high_pct", "low_90_pct": "high_90_pct", "low": "high", "low_g": "high_g"}
    compared = narrower = 0
    for path, low in wide.items():
        before, _, name = path.rpartition(".")
        other = f"{before}.{ends.get(name)}"
        if low is None or wide.get(other) is None or narrow.get(other) is None:
            continue
        if wide.get(f"{before}.pct") != narrow.get(f"{before}.pct"):
            continue  # how often bands of this level held: another number, not another interval
        width, less = wide[other] - low, narrow[other] - narrow[path]
        assert less <= width, path
        compared += width > 5
        narrower += width > 5 and less < width
    assert compared > 100
    assert narrower > 0.9 * compared


def test_no_probability_of_a_90_pct_interval_stands_in_code_but_as_a_named_choice() -> None:
    loose = []
    for file in sorted(PACKAGE.rglob("*.py")):
        tree = ast.parse(file.read_text("utf-8"))
        named = {
            id(part)
            for one in ast.walk(tree)
            if (isinstance(one, ast.Assign | ast.AnnAssign) and one in tree.body)
            or (isinstance(one, ast.keyword) and one.arg == "examples")
            for part in ast.walk(one)
        }
        loose += [
            f"{file.relative_to(PACKAGE)}:{one.lineno}: {one.value}"
            for one in ast.walk(tree)
            if isinstance(one, ast.Constant)
            and isinstance(one.value, float)
            and one.value in OF_90_PCT
            and id(one) not in named
        ]
    assert loose == []
