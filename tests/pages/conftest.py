"""The demonstration garden behind the whole service, and a visitor reading and filling forms."""

import os
import re
import shutil
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from bs4 import BeautifulSoup, Tag
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import URL, event, make_url

from seedbank.database.engine import open_engine, session_factory
from seedbank.interchange.folder.import_collection import import_collection
from seedbank.server.app import create_server
from seedbank.settings import Settings
from seedbank.upkeep.check_collection import check_collection
from seedbank.upkeep.open_collection import open_collection

DEMO = Path(__file__).parents[2] / "demo_data"
DEMO_DAY = date(2027, 2, 20)
NOW = datetime(2027, 2, 20, 12, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Page:
    """What came back, as a browser would read it."""

    status: int
    address: str
    soup: BeautifulSoup

    @property
    def text(self) -> str:
        """All that is said, on one line."""
        return " ".join(self.soup.get_text(" ").split())

    def form(self, action: str) -> Tag:
        """The one form sent to ``action``; that for finding packets stands above every page."""
        found = self.soup.select(f'main form[action="{action}"]')
        assert len(found) == 1, [f.get("action") for f in self.soup.select("form")]
        return found[0]


@dataclass
class Visitor:
    """Reads pages and sends the forms it finds there, as a browser without script would."""

    app: FastAPI
    client: TestClient

    def get(self, address: str) -> Page:
        """The page at ``address``."""
        return self._page(self.client.get(address, headers={"Accept": "text/html"}))

    def send(self, page: Page, action: str, **typed: Any) -> Page:
        """Send the page's form for ``action`` with ``typed`` in place of what it holds.

        ``__`` in a name stands for a dot; ``None`` leaves a field out.
        """
        return self.send_fields(page, action, {k.replace("__", "."): v for k, v in typed.items()})

    def send_fields(self, page: Page, action: str, typed: dict[str, Any]) -> Page:
        """As ``send``, the fields named as they are."""
        form = page.form(action)
        fields = held(form) | {name: str(v) for name, v in typed.items() if v is not None}
        for name in (name for name, value in typed.items() if value is None):
            fields.pop(name, None)
        if (form.get("method") or "get") == "get":
            return self._page(self.client.get(action, params=fields))
        return self._page(self.client.post(action, data=fields))

    @staticmethod
    def _page(response: Any) -> Page:
        soup = BeautifulSoup(response.text, "html.parser")
        return Page(response.status_code, str(response.url.path), soup)


def held(form: Tag) -> dict[str, str]:
    """What a form holds as it is shown."""
    fields: dict[str, str] = {}
    for one in form.select("input[name], select[name], textarea[name]"):
        name = str(one["name"])
        if one.name == "select":
            chosen = one.select("option[selected]") or one.select("option")
            fields[name] = str(chosen[0].get("value", "")) if chosen else ""
        elif one.name == "textarea":
            fields[name] = one.text
        elif one.get("type") not in ("checkbox", "radio") or one.has_attr("checked"):
            fields[name] = str(one.get("value", ""))
    return fields


@pytest.fixture(scope="session")
def demo(garden_file: Path) -> Iterator[URL]:
    """The demonstration imported once, on the database asked for; never written to."""
    server = os.environ.get("SEEDBANK_TEST_DATABASE_URL")
    if server is None:
        yield make_url(f"sqlite:///{garden_file}")
        return
    name = f"demo_{uuid.uuid4().hex}"
    _run_on(server, f"CREATE DATABASE {name}")
    url = make_url(server).set(database=name)
    import_demo(url)
    yield url
    _run_on(server, f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def garden_url(demo: URL, tmp_path: Path) -> Iterator[str]:
    """A copy of the demonstration to write to."""
    with copied(demo, tmp_path) as url:
        yield url


@contextmanager
def copied(demo: URL, folder: Path) -> Iterator[str]:
    """A copy of a database on the same engine, gone afterwards; nobody may be in the first."""
    if demo.get_backend_name() == "sqlite":
        yield f"sqlite:///{shutil.copy(str(demo.database), folder / 'garden.sqlite')}"
        return
    name = f"garden_{uuid.uuid4().hex}"
    server = os.environ["SEEDBANK_TEST_DATABASE_URL"]
    _run_on(server, f"CREATE DATABASE {name} TEMPLATE {demo.database}")
    yield demo.set(database=name).render_as_string(hide_password=False)
    _run_on(server, f"DROP DATABASE {name} WITH (FORCE)")


def import_demo(url: URL) -> None:
    """Put the demonstration into an empty database."""
    engine = open_collection(url.render_as_string(hide_password=False), now=NOW)
    with session_factory(engine)() as session:
        import_collection(session, DEMO, NOW)
    engine.dispose()


def _run_on(server: str, command: str) -> None:
    engine = open_engine(server)
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.exec_driver_sql(command)
    engine.dispose()


@contextmanager
def visiting(url: str) -> Iterator[Visitor]:
    """A visitor to a garden on the demonstration's day; what is written there must hold."""
    app = create_server(Settings(database_url=url, today=DEMO_DAY))
    engine = app.state.wiring.writing.kw["bind"]
    written: list[str] = []
    with TestClient(app, "http://127.0.0.1:8000", raise_server_exceptions=False) as client:
        event.listen(engine, "before_cursor_execute", lambda *said: note_writing(said[2], written))
        yield Visitor(app, client)
    report = check_collection(engine) if written else None  # what was only read still holds
    engine.dispose()
    assert report is None or report.holds, report.faults


@pytest.fixture
def visitor(garden_url: str) -> Iterator[Visitor]:
    """A visitor to the demonstration garden on its own day."""
    with visiting(garden_url) as visitor:
        yield visitor


@pytest.fixture
def bare(collection_url: str) -> Iterator[Visitor]:
    """A visitor to a collection nobody has put anything in."""
    with visiting(collection_url) as visitor:
        yield visitor


READING = re.compile(
    r"\s*(SELECT|BEGIN|PRAGMA|EXPLAIN|SHOW|SET|SAVEPOINT|RELEASE|ROLLBACK)\b", re.IGNORECASE
)
WRITING = re.compile(r"\b(INSERT|UPDATE|DELETE)\b", re.IGNORECASE)


def note_writing(statement: str, written: list[str]) -> None:
    """Note a statement unless it surely only reads."""
    if not READING.match(statement) or WRITING.search(statement):
        written.append(statement)
