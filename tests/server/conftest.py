"""The whole service as others reach it, on an empty collection, and a hand with a token."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from seedbank.access.tables import Rights
from seedbank.access.tokens_and_trail import make_token
from seedbank.server.app import create_server
from seedbank.settings import Settings

TODAY = date(2027, 3, 1)
NOW = datetime(2027, 3, 1, 9, 30, tzinfo=UTC)
HERE, THERE = "http://127.0.0.1:8000", "http://seeds.example:8000"
VARIETY = {"kind": "carrot", "name": "Purple Lantern"}


_made: list[FastAPI] = []


def service(database_url: str, **given: Any) -> FastAPI:
    """A service, closed when the test is over."""
    app = create_server(Settings(database_url=database_url, today=TODAY, **given))
    _made.append(app)
    return app


@pytest.fixture(autouse=True)
def _closed(database_url: str) -> Iterator[None]:  # noqa: ARG001 - closed before it is dropped
    yield
    while _made:
        _made.pop().state.wiring.writing.kw["bind"].dispose()


def client_of(app: FastAPI, address: str, **more: Any) -> TestClient:
    return TestClient(app, address, raise_server_exceptions=False, follow_redirects=False, **more)


def token(app: FastAPI, name: str, rights: Rights) -> str:
    with app.state.wiring.writing() as session:
        return make_token(session, name, rights, now=NOW).shown


def bearer(shown: str, key: str = "k1") -> dict[str, str]:
    return {"Authorization": f"Bearer {shown}", "Idempotency-Key": key}


@pytest.fixture
def here(collection_url: str) -> TestClient:
    """Somebody at the machine itself."""
    return client_of(service(collection_url), HERE)


@pytest.fixture
def shared(collection_url: str) -> FastAPI:
    """A service at an address that others reach."""
    return service(collection_url, host="0.0.0.0", allowed_hosts=("seeds.example",))


@pytest.fixture
def there(shared: FastAPI) -> TestClient:
    """Somebody elsewhere."""
    return client_of(shared, THERE)
