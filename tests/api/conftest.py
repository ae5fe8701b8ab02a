"""An application on a database of its own, and a gardener's hand to call it with."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from itertools import count
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlmodel import SQLModel, select

from seedbank.server.api import create_app
from seedbank.settings import Settings
from tests.arrivals import came_on

TODAY = date(2027, 3, 1)


@dataclass
class Hand:
    """Sends requests; each POST gets a fresh key unless told otherwise."""

    app: FastAPI
    client: TestClient
    _keys: Iterator[int] = field(default_factory=count)

    def get(self, path: str, **headers: str) -> Any:
        return self.client.get(path, headers=_dashed(headers))

    def post(self, path: str, body: Any = None, *, key: str | None = None) -> Any:
        headers = {"Idempotency-Key": key or f"fresh-{next(self._keys)}"}
        return self.client.post(path, json=body, headers=headers)

    def patch(self, path: str, body: Any, *, if_match: str | None) -> Any:
        return self.client.patch(path, json=body, headers=_if_match(if_match))

    def put(self, path: str, body: Any, *, if_match: str | None) -> Any:
        return self.client.put(path, json=body, headers=_if_match(if_match))

    def delete(self, path: str, *, if_match: str | None) -> Any:
        return self.client.delete(path, headers=_if_match(if_match))

    def made(self, path: str, body: Any = None) -> dict[str, Any]:
        """The body of a POST that must succeed."""
        response = self.post(path, body)
        assert response.status_code in (200, 201), response.text
        answer: dict[str, Any] = response.json()
        return answer

    def dump(self) -> dict[str, list[tuple[Any, ...]]]:
        """Every row of every table."""
        with self.app.state.wiring.reading() as session:
            return {
                table.name: sorted((tuple(row) for row in session.execute(select(table))), key=repr)
                for table in SQLModel.metadata.sorted_tables
            }

    # -- things to work on -------------------------------------------------------------------

    def variety(self, kind: str = "carrot", name: str = "Purple Lantern", **more: Any) -> int:
        number: int = self.made("/varieties", {"kind": kind, "name": name, **more})["id"]
        return number

    def lot(self, seeds: int = 250, *, variety_id: int | None = None, **more: Any) -> str:
        body = {
            "variety_id": variety_id or self.variety(name=f"Invented {next(self._keys)}"),
            "origin": "bought",
            "amount": {"seeds": seeds},
            "acquired_on": came_on(TODAY, **more),
            **more,
        }
        code: str = self.made("/lots", body)["code"]
        return code

    def balance(self, code: str) -> int:
        seeds: int = self.get(f"/lots/{code}").json()["amount"]["seeds"]
        return seeds


def _dashed(headers: dict[str, str]) -> dict[str, str]:
    return {name.replace("_", "-"): value for name, value in headers.items()}


def _if_match(etag: str | None) -> dict[str, str]:
    return {} if etag is None else {"If-Match": etag}


@pytest.fixture
def app(collection_url: str) -> Iterator[FastAPI]:
    app = create_app(Settings(database_url=collection_url, today=TODAY))
    yield app
    app.state.wiring.writing.kw["bind"].dispose()


@pytest.fixture
def hand(app: FastAPI) -> Iterator[Hand]:
    with TestClient(app, raise_server_exceptions=False) as client:
        yield Hand(app, client)
