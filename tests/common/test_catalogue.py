"""The catalogue of sentences: every code has one message, and every message is used."""

import ast
import re
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import pytest
from fluent.runtime import FluentBundle
from fluent.syntax import FluentParser
from fluent.syntax import ast as fluent

from seedbank.common import catalogue
from seedbank.common.answers import FindingAnswer
from seedbank.common.catalogue import NoWordsError, codes, text_of
from seedbank.common.errors import Refused
from seedbank.common.local_format import Local
from seedbank.common.safe_text import KNOWN_LIMITS
from seedbank.science.quantities import Finding
from seedbank.science.verdicts.verdict_reasons import Cause
from seedbank.settings import Units
from seedbank.web.api.problem_types import PROBLEM_TYPES

PACKAGE = Path(catalogue.__file__).parents[1]
FILES = sorted((PACKAGE / "common/words/en").glob("*.ftl"))
BY_ENUM = {(cause.name or "").lower().replace("_", "-") for cause in Cause}
"""Codes made from the members of an enum."""
MADE_BY = {"Finding", "Refused", "Conflict", "BadValue", "BadDatabase", "Doubt", "WrongSign"} | {
    *("StockFault", "CannotReverse", "Misfit", "BadHeader", "MissingHeader", "SeedbankError")
}
"""What is made with its code first."""
BUILT_IN = {
    *("chance", "chance-about", "limit-name-itself", "limit-no-json"),
    *(f"problem-{one.slug}" for one in PROBLEM_TYPES),
    *(f"limit-{name.replace('_', '-')}" for name in KNOWN_LIMITS),
    *(f"http-{status}" for status in (400, 404, 405, 413)),
}
"""Codes made of others' names."""


def _strings() -> set[str]:
    """Every string in the package's code."""
    found: set[str] = set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value)
    return found


def _literal_codes() -> set[str]:
    """Codes written out where a finding is made."""
    found: set[str] = set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in MADE_BY:
                first = node.args[0] if node.args else None
                if isinstance(first, ast.Constant):
                    found.add(str(first.value))
    return found


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_every_file_is_read_whole(file: Path) -> None:
    body = FluentParser().parse(file.read_text(encoding="utf-8")).body
    junk = [one.content for one in body if isinstance(one, fluent.Junk)]
    assert not junk
    messages = {one.id.name for one in body if isinstance(one, fluent.Message)}
    assert messages <= codes()


def test_every_finding_has_a_message_and_every_message_a_finding() -> None:
    assert _literal_codes() | BY_ENUM <= codes()
    mentioned = set().union(*(re.findall(r"\{ ?(-?[a-z][\w-]*)", f.read_text()) for f in FILES))
    assert codes() <= _strings() | BY_ENUM | BUILT_IN | mentioned


def test_a_number_reads_as_its_reader_writes_it() -> None:
    american = Local(Units.US, "en-US")
    spent = Finding("spent", {"p_usable": 0.004, "viability_median": 0.125})
    assert "likely 12 % of it" in text_of(spent)
    little = Finding("row-short", {"rows": 0.25, "viability_median": 0.004, "other_keepers": 2.0})
    assert "Likely under 1 % of it" in text_of(little)
    outlived = Finding("outlived", {"age_years": 3.25})
    assert "3.2 years after" in text_of(outlived, american)


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.0, "0 %"),
        (1e-9, "under 1 %"),
        (0.01, "1 %"),
        (0.426, "43 %"),
        (0.99, "99 %"),
        (0.9999, "over 99 %"),
        (1.0, "100 %"),
    ],
)
def test_only_an_exact_certainty_reads_as_one(chance: float, words: str) -> None:
    told = text_of(Finding("open-test", {"p_usable": chance}))
    assert told.endswith(f"by what is known: {words}).")


def test_a_number_not_known_is_told_as_such_and_never_as_a_number() -> None:
    unknown = Finding("only-hope", {"balance_seeds": float("inf")})
    assert text_of(unknown).startswith("This seed is")
    assert FindingAnswer.of(unknown).numbers == {}
    known = FindingAnswer.of(Finding("only-hope", {"balance_seeds": 24.0}))
    assert known.text.startswith("These 24 seeds are")
    assert known.numbers == {"balance_seeds": 24.0}


def test_names_and_days_travel_beside_the_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    found = {
        "outer": "outer = { $name } on { DAY($on) }: { $inner }, { $several }; { CM($deep_cm) }.",
        "inner": "inner = { $seeds ->\n  [one] one seed\n *[other] { COUNT($seeds) } seeds\n }",
    }
    monkeypatch.setattr(catalogue, "_messages", lambda: found)
    catalogue._catalogue.cache_clear()
    finding = Finding(
        "outer",
        {
            "name": "Rainrib",
            "on": date(2027, 2, 20),
            "inner": Finding("inner", {"seeds": 1.0}),
            "several": ("Rainrib", Finding("inner", {"seeds": 1200.0})),
            "deep_cm": 2.54,
        },
    )
    answer = FindingAnswer.of(finding)
    american = answer.text_for(Local(Units.US, "en-US"))
    catalogue._catalogue.cache_clear()
    assert answer.text == "Rainrib on 2027-02-20: one seed, Rainrib and 1,200 seeds; 3 cm."
    assert american == "Rainrib on Feb 20, 2027: one seed, Rainrib and 1,200 seeds; 1 in."
    assert answer.names == {"name": "Rainrib", "on": "2027-02-20"}
    assert answer.numbers == {"deep_cm": 2.54}


@pytest.mark.parametrize("finding", [Finding("no-such-code"), Finding("spent", {"p_usable": 0.5})])
def test_what_cannot_be_said_is_a_fault(finding: Finding) -> None:
    with pytest.raises(NoWordsError, match=finding.code):
        text_of(finding)


def test_a_long_list_is_told_whole() -> None:
    lots = tuple(f"lot number {number}" for number in range(400))
    refusal = Refused("species-of-kinds", "CROPNAME", "kale", names=", ".join(lots))
    assert refusal.mend == f"Say which of these it is: {', '.join(lots)}."


def test_who_comes_while_a_message_is_read_gets_it_too(monkeypatch: pytest.MonkeyPatch) -> None:
    # Marked as read before it was there, it was missing for whoever came meanwhile.
    read, add = threading.Event(), FluentBundle.add_resource

    def slowly(bundle: FluentBundle, resource: object, **more: bool) -> object:
        read.set()
        time.sleep(0.2)
        return add(bundle, resource, **more)

    monkeypatch.setattr(FluentBundle, "add_resource", slowly)
    fresh = catalogue._Catalogue(Local())
    with ThreadPoolExecutor(2) as readers:
        first = readers.submit(fresh.text, Finding("viability-bought"))
        assert read.wait(10)
        second = readers.submit(fresh.text, Finding("viability-bought"))
        assert first.result() == second.result()


@pytest.mark.parametrize(
    ("years", "told"),
    [(0.01, "under a month"), (0.1, "1 month"), (0.6, "7 months"), (1.5, "18 months"),
     (2.5, "2.5 years")],
)  # fmt: skip
def test_a_short_life_is_told_in_months(years: float, told: str) -> None:
    assert f"planting stock, {told} old" in text_of(Finding("plant-again", {"age_years": years}))
