"""No code carries a sentence: with every word of the catalogue and of the templates made up, what
pages, the API and commands still say in English are names, notes, codes and citations.
"""

import ast
import json
import re
import shutil
import sqlite3
from calendar import month_abbr, month_name
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from bs4 import BeautifulSoup
from fastapi.testclient import TestClient
from sqlalchemy import inspect, text
from typer.testing import CliRunner

from seedbank.cli.commands import each_command
from seedbank.common import catalogue
from seedbank.facts.overrides import RULES
from seedbank.interchange.folder.rows import ROWS
from seedbank.lots.tables.lot_codes import code_for
from seedbank.main import ALIASES, COMMANDS, app
from seedbank.science.germination.germination import SeedClass
from seedbank.server.app import create_server
from seedbank.settings import Settings
from seedbank.web.pages import render
from tests import made_up_words
from tests.made_up_words import words_of
from tests.pages.addresses import ADDRESSES
from tests.pages.conftest import DEMO_DAY
from tests.shared_answers import SHARED

REPO = Path(__file__).parents[1]
PACKAGE = REPO / "seedbank"
TELLS_PROBLEMS = ("complain", "_complain", "add", "refuse", "LineRefused")
DOCUMENT = json.loads((REPO / "api_docs/openapi.json").read_text(encoding="utf-8"))
SAMPLE = {"code": "RPR02", "number": "1", "slug": "carrot", "id": "1"}
BY_PATH = {
    "/problems/carrot": "busy",
    "/germination-tests/1": "130",
    "/sowings/1": "133",
    "/seed-crops/1": "58",
}
MONTHS = f"{' '.join(month_abbr)} {' '.join(month_name)} Sept and"
STILL_ENGLISH: frozenset[str] = frozenset()
"""What still waits to be moved to the catalogue; may only grow shorter."""


@pytest.fixture(scope="module")
def spoken(
    garden_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[TestClient, set[str]]]:
    """The demonstration served in made-up words, and the words that are names, notes or codes."""
    file = Path(shutil.copy(garden_file, tmp_path_factory.mktemp("made_up") / "demo.sqlite"))
    app = create_server(Settings(database_url=f"sqlite:///{file}", today=DEMO_DAY))
    engine = app.state.wiring.writing.kw["bind"]
    own = words_of([MONTHS, *_enums(DOCUMENT), *SeedClass])
    with engine.connect() as connection:
        for table in inspect(engine).get_table_names():
            own |= words_of([table])
            for row in connection.execute(text(f'SELECT * FROM "{table}"')):
                own |= words_of(value for value in row if isinstance(value, str))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(SHARED, "entries", {})  # such answers are shared among each other alone
        messages = made_up_words.messages()
        patch.setattr(catalogue, "_messages", lambda: messages)
        templates = made_up_words.environment(render._environment())
        patch.setattr(render, "_environment", lambda: templates)
        catalogue._catalogue.cache_clear()
        with TestClient(app, "http://127.0.0.1:8000", raise_server_exceptions=False) as client:
            yield client, own | made_up_words.facts_words() | made_up_words.template_words()
    catalogue._catalogue.cache_clear()
    engine.dispose()
    shutil.rmtree(file.parent)


def _enums(node: Any) -> Iterator[str]:
    """The codes the API answers with."""
    if isinstance(node, dict):
        for name, value in node.items():
            if name in ("enum", "const"):
                yield from (str(one) for one in (value if isinstance(value, list) else [value]))
            yield from _enums(value)
    elif isinstance(node, list):
        for value in node:
            yield from _enums(value)


def _sentences(node: Any) -> Iterator[str]:
    """What an answer says; where a figure is from is a citation."""
    if isinstance(node, dict):
        if node.keys() == {"text", "confidence"}:
            return
        for name, value in node.items():
            if name not in ("source", "REMARKS"):
                yield from _sentences(value)
    elif isinstance(node, list):
        for value in node:
            yield from _sentences(value)
    elif isinstance(node, str) and " " in node:
        yield node


def _english(texts: Iterator[str], known: set[str]) -> set[str]:
    return {one for one in texts if not words_of([one]) <= known} - STILL_ENGLISH


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_page_says_nothing_but_what_the_catalogue_and_its_template_say(
    spoken: tuple[TestClient, set[str]], address: str
) -> None:
    client, known = spoken
    page = client.get(address)
    assert page.status_code == 200
    assert "ø" in page.text
    soup = BeautifulSoup(page.text, "html.parser")
    for gone in soup(["script", "style", "title"]):
        gone.decompose()
    for source in soup.select("details.sources, .sources"):
        source.decompose()
    assert not _english(iter(soup.stripped_strings), known)


@pytest.mark.parametrize(
    "path", sorted(path for path, methods in DOCUMENT["paths"].items() if "get" in methods)
)
def test_an_answer_says_nothing_but_what_the_catalogue_says(
    spoken: tuple[TestClient, set[str]], path: str
) -> None:
    client, known = spoken
    address = re.sub(r"\{(\w+)\}", lambda found: SAMPLE.get(found[1], "1"), path)
    for start, number in BY_PATH.items():
        address = address.replace(start, f"{start.rpartition('/')[0]}/{number}")
    answer = client.get(address)
    if "json" in answer.headers.get("content-type", ""):
        assert not _english(_sentences(answer.json()), known)


COMMAND_LINES = {
    "backup": [],
    "batch": ["throw-out", "YMY4K"],
    "check": [],
    "climate show": [],
    "climate state": [],
    "demo": ["--no-serve"],
    "lot descriptors": ["YMY4K"],
    "lot doubts": [],
    "export": ["all.zip"],
    "import": ["messy.csv", "--dry-run"],
    "kind add": ["nonesuch weed", "--kept-as", "tubers"],
    "kind season": ["carrot"],
    "lot mix": ["Salad", "YMY4K:5", "26YPM:5"],
    "plan make": [],
    "variety keepers": [],
    "restore": ["missing.sqlite"],
    "crop advise": [],
    "lot list": ["--words", "brackwin daple"],
    "sowing advise": ["YMY4K", "--plants", "5"],
    "plan orders": [],
    "plan supplies": [],
    "test record": ["YMY4K", "--started-on", "2027-02-06", "--set", "50", "--normal", "41"],
    "test fault": ["1", "mould"],
    "lot add": ["Nonesuch", "--kind", "carrot", "--origin", "gift", "--new-place", "nonesuch"],
    "lot find": ["carrot"],
    "lot show": ["YMY4K"],
    "lot history": ["YMY4K"],
    "lot label": ["YMY4K", "--out", "labels.pdf"],
    "lot move": ["YMY4K", "26YPM", "--place", "cellar"],
    "lot count": ["YMY4K:180"],
    "lot change": ["YMY4K", "--notes", "nonesuch"],
    "lot give": ["YMY4K", "--seeds", "5"],
    "lot discard": ["YMY4K", "--seeds", "5"],
    "lot keepers": ["YMY4K", "--others", "few"],
    "lot undo": ["1"],
    "test list": [],
    "test show": ["136"],
    "test start": ["26YPM", "--set", "5"],
    "test count": ["136", "--rep", "5"],
    "test finish": ["136", "--rest-dead"],
    "test undo": ["136"],
    "sowing list": [],
    "sowing show": ["133"],
    "sowing record": ["26YPM:5", "--method", "row"],
    "sowing emerged": ["133", "90"],
    "sowing lost": ["133", "5", "eaten"],
    "sowing finish": ["133"],
    "sowing undo": ["133"],
    "crop list": [],
    "crop show": ["58"],
    "crop check": ["58"],
    "crop begin": ["26YPM", "--purpose", "keep", "--site", "2"],
    "crop sow": ["58"],
    "crop change": ["58", "--parents-kept", "8"],
    "crop harvest": ["58", "--seeds", "900"],
    "crop fail": ["58", "--why", "voles took it"],
    "crop undo": ["58"],
    "plan show": [],
    "list week": [],
    "list to-do": [],
    "list dates": [],
    "list season": ["test"],
    "place list": [],
    "place add": ["nonesuch tin"],
    "place change": ["cellar", "--temp-winter-c", "5"],
    "site list": [],
    "site add": ["nonesuch garden"],
    "kind list": [],
    "kind show": ["carrot"],
    "variety list": [],
    "variety show": ["1"],
    "variety add": ["Invented Amber", "--kind", "carrot"],
    "variety change": ["1", "--plants-wanted", "5"],
    "token list": [],
    "token add": ["bench"],
    "token revoke": ["1"],
    "test advise": [],
}
"""What is typed after each command; ``serve`` answers to nobody at the terminal."""
REFUSED_LINES = [
    ["sow", "NOPE1", "--plants", "5"],
    ["sow", "YMY4K", "--plants", "0"],
    ["test", "YMY4K", "--started-on", "2028-02-06", "--set", "50", "--normal", "41"],
    ["test", "YMY4K", "--started-on", "2027-02-06", "--set", "50", "--normal", "61"],
    ["kind", "carrot", "--kept-as", "tubers"],
    ["kind", "nonesuch weed", "--fact", "depth_cm=nine"],
    ["token", "revoke", "9"],
    ["batch", "give", "YMY4K", "--seeds", "900000"],
    ["batch", "move", "NOPE1", "--place", "1"],
    ["batch"],
    ["batch", "--undo", "9"],
    ["import", "messy.csv", "--yes"],
    ["import", "folder"],
    ["lot", "count", "YMY4K:some"],
    ["lot", "move", "YMY4K", "--place", "nonesuch"],
    ["test", "count", "YMY4K", "--rep", "5"],
    ["test", "count", "136", "--rep", "5;5"],
    ["sowing", "emerged", "26YPM", "5"],
    ["crop", "harvest", "26YPM", "--seeds", "5"],
    ["crop", "begin", "26YPM", "--purpose", "keep"],
    ["import", "headless"],
]
MESSY = """Crop,Variety,How many,Year,Bought,Sow by,Whatever,Place
carrot,Purple Lantern,approx 50,2019?,12/3/2019,2030,odd,shed
pea,Low,3 g,'19,spring 2020,,,"cellar, tin 3"
nonesuch,Foo,lots,before 2010,31/31/2020,,,
beetroot,Old one,2 packets,,2029-01-01,,,
tomato,Red,half a packet,2009-10,3/4/2021,exp 2024,,
leek,Blue,-3,1850,yesterday,,,
bean,,20-30,Autumn '21,,,,
"""
FOLDER = {
    "varieties.csv": "kind,variety\ncarrot,Invented Amber\ncarrot,Invented Amber\nnonesuch,Foo\n",
    "places.csv": "place,winter_temperature_c,winter_rh_pct\nshed,900,40\n",
    "kinds.csv": "kind,fact,value,source\ncarrot,depth_cm,nine,me\n!!!,depth_cm,1,me\n",
    "lots.csv": "label,kind,variety,origin,acquired_on\na,carrot,Nope,gift,2028-01-01\n"
    "a,carrot,Invented Amber,gift,=1+1\n",
    "tests.csv": "test,lot,replicate_seeds,started_on\n1,a,50,2020-01-01\n1,z,50,2020-01-01\n",
    "movements.csv": "lot,date,reason,seeds\na,2020-01-01,given,5\nz,2020-01-01,tested,5\n",
}
HEADLESS = {"varieties.csv": "sort,variety\ncarrot,Invented Amber\n", "sites.csv": "site\n\0\n"}
REFUSALS = [
    ("POST", "/v1/lots", {}),
    ("POST", "/v1/lots", {"variety_id": 0, "origin": "found", "acquired_on": "2027-13-01"}),
    ("POST", "/v1/kinds", {"slug": "carrot", "name": "Carrot"}),
    ("POST", "/v1/lots/RPR02/movements", {"reason": "given", "amount": {"seeds": -10_000_000}}),
    ("POST", "/v1/sowings", {"lot": "RPR02", "sown_on": "2028-01-01", "seeds_sown": 5}),
    ("POST", "/v1/germination-tests", {"lot": "nothing", "started_on": "2027-02-01"}),
    ("GET", "/v1/lots?limit=many", None),
    ("GET", "/v1/lots/NOPE1", None),
    ("DELETE", "/v1/lots", None),
    ("GET", "/v1/nothing-here", None),
]


@pytest.fixture(scope="module")
def typed(
    spoken: tuple[TestClient, set[str]], garden_file: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Path, set[str]]]:
    """A folder with a demonstration in ``demo.sqlite`` and things to import, and words known."""
    folder = tmp_path_factory.mktemp("typed")
    shutil.copy(garden_file, folder / "demo.sqlite")
    (folder / "messy.csv").write_text(MESSY, encoding="utf-8")
    for name, files in (("folder", FOLDER), ("headless", HEADLESS)):
        (folder / name).mkdir()
        for file, text_of_it in files.items():
            (folder / name / file).write_text(text_of_it, encoding="utf-8")
    lines = [*COMMAND_LINES.items(), *((line[0], line[1:]) for line in REFUSED_LINES)]
    given = [MESSY, *FOLDER.values(), *HEADLESS.values(), *FOLDER, *HEADLESS, str(folder)]
    given += [
        "backups",
        "labels.pdf",
        "--meant",
        *(word for name, words in lines for word in (name, *words)),
    ]
    columns = [
        name for row in ROWS for name in (row.table, row.was, *row.model_fields, *row.before)
    ]
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SEEDBANK_TODAY", DEMO_DAY.isoformat())
        patch.setenv("COLUMNS", "10000")
        patch.chdir(folder)
        yield folder, spoken[1] | words_of([*given, *columns, *RULES])


def _said_at_the_terminal(folder: Path, name: str, words: list[str]) -> Iterator[str]:
    where = "--file" if name == "demo" else "--database"
    answer = CliRunner().invoke(app, [*name.split(), *words, where, str(folder / "demo.sqlite")])
    assert answer.exit_code in (0, 2), answer.output
    assert "ø" in answer.output
    told = re.sub(r"1-[\w-]{43}", "", answer.output)  # a token
    for line in re.sub(r"(?<!\w)'|'(?!\w)", " ", told).splitlines():
        if not re.search(r"\((read|memory|computed|own)\)$", line):  # where a figure is from
            yield line


@pytest.mark.parametrize("name", COMMAND_LINES)
def test_a_command_says_nothing_but_what_the_catalogue_says(
    typed: tuple[Path, set[str]], name: str
) -> None:
    """Help texts are no part of it: they are the commands' and options' own declarations, read
    before any message is.
    """
    folder, known = typed
    made = words_of(code_for(number) for number in range(200))  # codes of lots a command makes
    assert not _english(_said_at_the_terminal(folder, name, COMMAND_LINES[name]), known | made)


def test_every_command_is_typed() -> None:
    own_aliases = {name for name, one in ALIASES.items() if not isinstance(one, str)}
    assert {*COMMAND_LINES, "serve"} == {*each_command(COMMANDS), *own_aliases}


@pytest.mark.parametrize("line", REFUSED_LINES, ids=" ".join)
def test_a_refusal_at_the_terminal_says_nothing_but_what_the_catalogue_says(
    typed: tuple[Path, set[str]], line: list[str]
) -> None:
    folder, known = typed
    assert not _english(_said_at_the_terminal(folder, line[0], line[1:]), known)


def test_check_of_a_damaged_collection_says_nothing_but_what_the_catalogue_says(
    typed: tuple[Path, set[str]],
) -> None:
    folder, known = typed
    damaged = folder / "damaged.sqlite"
    shutil.copy(folder / "demo.sqlite", damaged)
    with closing(sqlite3.connect(damaged)) as connection, connection:
        connection.execute("UPDATE movement SET balance_seeds = balance_seeds + 1 WHERE id = 3")
        connection.execute("UPDATE lot SET variety_id = 99999 WHERE id = 2")
        connection.execute("UPDATE germination_test SET normal_seeds = 1 WHERE id = 1")
    answer = CliRunner().invoke(app, ["check", "--database", str(damaged)])
    assert answer.exit_code == 1
    assert not _english(iter(answer.output.splitlines()), known)


@pytest.mark.parametrize(("method", "path", "body"), REFUSALS, ids=lambda one: str(one)[:40])
def test_a_refusal_over_http_says_nothing_but_what_the_catalogue_says(
    spoken: tuple[TestClient, set[str]], method: str, path: str, body: dict[str, Any] | None
) -> None:
    client, known = spoken
    key = {"Idempotency-Key": f"made-up-{method}-{path}-{body}"[:60]}
    answer = client.request(method, path, json=body, headers=key)
    assert answer.status_code >= 400
    assert not _english(_sentences(answer.json()), known | words_of([path]))


def test_what_an_import_refuses_is_told_by_codes() -> None:
    """Words of notes are known words, so that a sentence could hide among them: no text that
    reads as one is handed on as a problem.
    """
    found = [
        f"{file.name}:{node.lineno}"
        for file in (PACKAGE / "interchange").rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] in TELLS_PROBLEMS
        for part in ast.walk(node)
        if isinstance(part, ast.Constant) and re.search(r"[a-z]{2} [a-z]{2}", str(part.value))
    ]
    assert not found
