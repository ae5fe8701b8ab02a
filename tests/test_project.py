"""What the project promises of itself: its top level, its README, its tables and its methods."""

import ast
import csv
import re
import subprocess
from pathlib import Path

import pytest

from seedbank.cli.commands import each_command
from seedbank.facts.sources import Confidence
from seedbank.main import COMMANDS

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "seedbank",
    "tests",
    "demo_data",
    "api_docs",
}
# Broken up here, so that this file doesn't find itself.
FORBIDDEN = [
    r"\b" + "TO" + r"DO\b",
    r"\b" + "FIX" + r"ME\b",
    r"\b" + "XX" + r"X\b",
    r"\b" + "HA" + r"CK\b",
    "type: " + r"ignore(?!\[)",
    "NotImplemented" + "Error",
    "lorem " + "ipsum",
    "breakpoint" + r"\(",
]
TABLES = sorted((ROOT / "seedbank/facts/tables").glob("*.csv"))
SCIENCE = sorted((ROOT / "seedbank/science").rglob("*.py"))
# Value types, the shape of inputs, words for a chance: nothing to hold against a source.
NO_METHOD = {
    "__init__.py",
    "plan_problem.py",
    "quantities.py",
    "reasons.py",
    "verdict_inputs.py",
}


def kept_files() -> list[str]:
    """Paths under version control."""
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return [line for line in listed.stdout.splitlines() if (ROOT / line).is_file()]


def test_the_top_level_holds_the_agreed_few() -> None:
    top = {path.split("/")[0] for path in kept_files()}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL
    assert {"README.md", "pyproject.toml", "seedbank", "tests", ".ci", ".gitignore"} <= top


@pytest.mark.parametrize("word", FORBIDDEN)
def test_nothing_half_done_is_left_lying_about(word: str) -> None:
    text = re.compile(word, re.IGNORECASE)
    readable = [p for p in kept_files() if p.endswith((".py", ".md", ".toml")) or "/" not in p]
    assert [path for path in readable if text.search((ROOT / path).read_text("utf-8"))] == []


@pytest.mark.parametrize("table", TABLES, ids=lambda path: path.stem)
def test_every_packaged_row_has_its_source_and_says_how_sure_it_is(table: Path) -> None:
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows
    for row in rows:
        assert row["source"].strip(), row
        assert row["confidence"] in {*Confidence}, row


def test_the_readme_has_one_line_to_run_and_one_line_to_test() -> None:
    lines = (ROOT / "README.md").read_text("utf-8").splitlines()
    run, test = [line for line in lines if line.startswith("python3 -m venv")]
    assert run.endswith("seedbank demo")
    assert test.endswith("pytest")
    assert "grep '^python3 -m venv' README.md | sed -n 2p" in (ROOT / ".ci/run").read_text("utf-8")


def test_the_readme_names_no_command_that_is_not_there() -> None:
    named = re.findall(r"\bseedbank ([a-z]+)(?: ([a-z]+))?\b", commands_in_readme())
    assert named
    every = each_command(COMMANDS)
    assert {one for one in named if one[0] not in every and " ".join(one) not in every} == set()


def commands_in_readme() -> str:
    """What the README shows to be typed: its code blocks, of which ``$ `` marks a command."""
    blocks = re.findall(r"```\w*\n(.*?)```", (ROOT / "README.md").read_text("utf-8"), re.DOTALL)
    return "\n".join(
        line
        for block in blocks
        for line in block.splitlines()
        if line.startswith(("$ ", "python3 "))
    )


def public_docstrings(path: Path) -> str:
    tree = ast.parse(path.read_text("utf-8"))
    documented = ast.Module | ast.ClassDef | ast.FunctionDef
    return "\n".join(
        ast.get_docstring(node) or ""
        for node in [tree, *tree.body]
        if isinstance(node, documented) and not getattr(node, "name", "").startswith("_")
    )


@pytest.mark.parametrize("path", SCIENCE, ids=lambda path: path.stem)
def test_every_method_names_the_outside_check_it_passed(path: Path) -> None:
    if path.name in NO_METHOD:
        assert not re.search(r"scipy|ndtr", path.read_text("utf-8")), "then it has a method"
    else:
        assert re.search(r"\bcheck", public_docstrings(path), re.IGNORECASE)
