"""No code carries a sentence: with every word of the catalogue and of the templates made up, what
pages, the API and commands still say in English are names, notes, codes and citations.
"""

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bs4 import BeautifulSoup
from fastapi.testclient import TestClient
from sqlalchemy import inspect, text
from sqlalchemy.engine import make_url

from seedbank.common import catalogue
from seedbank.science.germination.germination import SeedClass
from seedbank.server.app import create_server
from seedbank.settings import Settings
from seedbank.web.pages import render
from tests import made_up_words
from tests.made_up_words import words_of
from tests.pages.addresses import ADDRESSES
from tests.pages.conftest import DEMO_DAY, import_demo

REPO = Path(__file__).parents[1]
DOCUMENT = json.loads((REPO / "api_docs/openapi.json").read_text(encoding="utf-8"))
SAMPLE = {"code": "RPR02", "number": "1", "slug": "carrot", "id": "1"}
BY_PATH = {
    "/problems/carrot": "busy",
    "/germination-tests/1": "130",
    "/sowings/1": "133",
    "/seed-crops/1": "58",
}
MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Sept Oct Nov Dec and"
STILL_ENGLISH: frozenset[str] = frozenset()
"""What still waits to be moved to the catalogue; may only grow shorter."""


@pytest.fixture(scope="module")
def spoken(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, set[str]]]:
    """The demonstration served in made-up words, and the words that are names, notes or codes."""
    file = tmp_path_factory.mktemp("made_up") / "demo.sqlite"
    import_demo(make_url(f"sqlite:///{file}"))
    app = create_server(Settings(database_url=f"sqlite:///{file}", today=DEMO_DAY))
    engine = app.state.wiring.writing.kw["bind"]
    own = words_of([MONTHS, *_enums(DOCUMENT), *SeedClass])
    with engine.connect() as connection:
        for table in inspect(engine).get_table_names():
            for row in connection.execute(text(f'SELECT * FROM "{table}"')):
                own |= words_of(value for value in row if isinstance(value, str))
    with pytest.MonkeyPatch.context() as patch:
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
