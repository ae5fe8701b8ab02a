"""A collection that is busy says so: 503 and when to come back, never 409 or 500."""

import sqlite3
import uuid
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from datetime import date
from typing import Any

import pytest
from fastapi.testclient import TestClient
from httpx2 import Response
from sqlalchemy import Engine, make_url, text

import seedbank.database.engine as stock_engine
from seedbank.database.engine import open_engine, sqlite_file
from seedbank.server.app import create_server
from seedbank.settings import Settings

TODAY = date(2027, 3, 1)
SOON_MS = 200


@pytest.fixture
def client(database_url: str, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    """A client of a service that waits shortly for locks, and for connections, which are few."""
    monkeypatch.setattr(stock_engine, "BUSY_TIMEOUT_MS", SOON_MS)
    monkeypatch.setattr(stock_engine, "MOST_CONNECTIONS", 2)
    monkeypatch.setattr(stock_engine, "_KEPT_CONNECTIONS", 1)
    monkeypatch.setattr(stock_engine, "_CONNECTION_WAIT_S", SOON_MS / 1000)
    app = create_server(Settings(database_url=database_url, today=TODAY))
    with TestClient(app, "http://127.0.0.1", raise_server_exceptions=False) as client:
        yield client


def engine_of(client: TestClient) -> Engine:
    engine = client.app.state.wiring.writing.kw["bind"]  # type: ignore[attr-defined]
    assert isinstance(engine, Engine)
    return engine


def told_to_come_back(answer: Response, said: str) -> None:
    assert answer.status_code == 503, answer.text
    assert int(answer.headers["Retry-After"]) > 0
    assert said in answer.text
    assert "Nothing was changed" in answer.text
    kind = "text/html" if "html" in answer.request.headers["accept"] else "application/problem"
    assert answer.headers["content-type"].startswith(kind)


@contextmanager
def written_elsewhere(database_url: str) -> Iterator[None]:
    """Another program holds the lock on an SQLite file."""
    file = sqlite_file(database_url)
    if file is None:
        pytest.skip("PostgreSQL locks rows, not the whole database")
    other = sqlite3.connect(file, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    try:
        yield
    finally:
        other.close()


def place(client: TestClient, name: str, key: str) -> Response:
    body = {"name": name}
    answer: Response = client.post("/places", json=body, headers={"Idempotency-Key": key})
    return answer


def names(client: TestClient) -> list[str]:
    return [one["name"] for one in client.get("/places").json()["items"]]


def test_a_fresh_key_under_a_held_lock_is_told_to_come_back_and_works_afterwards(
    client: TestClient, database_url: str
) -> None:
    with written_elsewhere(database_url):
        told_to_come_back(place(client, "Shed", "k"), "busy with other changes")
        assert names(client) == [], "reading goes on"
    again = place(client, "Shed", "k")
    assert (again.status_code, again.headers.get("Idempotent-Replay")) == (201, None)
    assert names(client) == ["Shed"]


def test_a_form_under_a_held_lock_is_told_to_come_back_and_works_afterwards(
    client: TestClient, database_url: str
) -> None:
    form, page = {"key": str(uuid.uuid4())}, {"Accept": "text/html"}
    with written_elsewhere(database_url):
        sent = client.post("/plan", data=form, headers=page)
        told_to_come_back(sent, "busy with other changes")
    done = client.post("/plan", data=form, headers=page, follow_redirects=False)
    assert done.status_code == 303


def test_with_every_connection_taken_it_is_told_to_come_back(client: TestClient) -> None:
    with ExitStack() as taken:
        for _ in range(2):
            taken.enter_context(engine_of(client).connect())
        told_to_come_back(client.get("/lots"), "answer at once")
        told_to_come_back(client.get("/find", headers={"Accept": "text/html"}), "answer at once")
        told_to_come_back(place(client, "Shed", "k"), "answer at once")
    assert place(client, "Shed", "k").status_code == 201
    assert client.get("/find", headers={"Accept": "text/html"}).status_code == 200


@pytest.mark.usefixtures("client")
def test_with_every_connection_taken_tokens_are_told_to_come_back_too(database_url: str) -> None:
    asked = Settings(database_url=database_url, require_tokens=True)
    app = create_server(asked)
    with TestClient(app, "http://127.0.0.1", raise_server_exceptions=False) as guarded:
        with ExitStack() as taken:
            for _ in range(2):
                taken.enter_context(engine_of(guarded).connect())
            bearer = {"Authorization": "Bearer 1-none"}
            told_to_come_back(guarded.get("/lots", headers=bearer), "answer at once")
        assert guarded.get("/lots", headers=bearer).status_code == 401


@contextmanager
def held_elsewhere(database_url: str, statement: str, **values: Any) -> Iterator[None]:
    """Another program's transaction on PostgreSQL, in the middle of it."""
    other = open_engine(database_url)
    with other.connect() as connection:
        connection.execute(text(statement), values)
        yield
        connection.rollback()
    other.dispose()


@pytest.mark.usefixtures("needs_postgresql")
def test_a_row_that_is_locked_is_told_to_come_back(client: TestClient, database_url: str) -> None:
    number = place(client, "Shed", "k").json()["id"]
    path = f"/places/{number}"
    version = {"If-Match": client.get(path).headers["ETag"]}
    with held_elsewhere(database_url, "SELECT * FROM place FOR UPDATE"):
        answer = client.patch(path, json={"name": "Cellar"}, headers=version)
        told_to_come_back(answer, "busy with other changes")
        assert names(client) == ["Shed"]
    assert client.patch(path, json={"name": "Cellar"}, headers=version).status_code == 200


@pytest.mark.usefixtures("needs_postgresql")
def test_a_key_that_another_holds_for_long_is_told_to_come_back(
    client: TestClient, database_url: str
) -> None:
    claim = (
        "INSERT INTO answered_request (key, fingerprint, status, location, etag, body, answered_at)"
        " VALUES ('k', 'f', 0, '', '', '', now())"
    )
    with held_elsewhere(database_url, claim):
        told_to_come_back(place(client, "Shed", "k"), "busy with other changes")
    assert place(client, "Shed", "k").status_code == 201


@pytest.mark.usefixtures("needs_postgresql")
def test_a_statement_that_takes_too_long_is_stopped_and_told_to_come_back(
    database_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(stock_engine, "STATEMENT_TIMEOUT_MS", SOON_MS)
    app = create_server(Settings(database_url=database_url, today=TODAY))

    def slow() -> None:
        with app.state.wiring.reading() as session:
            session.execute(text("SELECT pg_sleep(20)"))

    app.add_api_route("/slow", slow)
    with TestClient(app, "http://127.0.0.1", raise_server_exceptions=False) as client:
        told_to_come_back(client.get("/slow"), "busy with other changes")


@pytest.mark.usefixtures("needs_postgresql")
def test_migrations_and_backups_take_their_time(
    database_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(stock_engine, "STATEMENT_TIMEOUT_MS", SOON_MS)
    engine = open_engine(database_url)
    with stock_engine.one_moment(engine) as connection:
        connection.execute(text("SELECT pg_sleep(:s)"), {"s": 2 * SOON_MS / 1000})
    engine.dispose()


@pytest.mark.usefixtures("needs_postgresql")
def test_a_limit_that_the_address_sets_stands(database_url: str) -> None:
    url = make_url(database_url).update_query_dict({"options": "-clock_timeout=123"})
    engine = open_engine(url.render_as_string(hide_password=False))
    with engine.connect() as connection:
        assert connection.execute(text("SHOW lock_timeout")).scalar_one() == "123ms"
        assert connection.execute(text("SHOW statement_timeout")).scalar_one() == "30s"
    engine.dispose()
