"""Lot passports over HTTP: written by one service, taken in by another."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from seedbank.server.api import create_app
from seedbank.settings import Settings
from tests.api.conftest import TODAY, Hand


@pytest.fixture
def other(tmp_path: Path) -> Iterator[Hand]:
    """Another keeper's service, on a database of its own."""
    app = create_app(Settings(database_url=f"sqlite:///{tmp_path / 'other.db'}", today=TODAY))
    with TestClient(app, raise_server_exceptions=False) as client:
        yield Hand(app, client)
    app.state.wiring.writing.kw["bind"].dispose()


def given(hand: Hand) -> dict[str, Any]:
    place = hand.made("/places", {"name": "Shelf", "temp_winter_c": 8.0, "temp_summer_c": 24.0})
    code = hand.lot(400, harvest_date="2024-09-01", place_id=place["id"], origin="self-saved")
    hand.made(
        "/germination-tests/finished",
        {
            "lot": code,
            "started_on": "2026-02-01",
            "finished_on": "2026-02-15",
            "replicates": [{"seeds_set": 50, "normal": 41}, {"seeds_set": 50, "normal": 43}],
        },
    )
    before = hand.dump()
    response = hand.get(f"/lots/{code}/passport?seeds=60&keeper=garden%20no.%209")
    assert response.status_code == 200, response.text
    assert hand.dump() == before
    passport: dict[str, Any] = response.json()
    return passport


def test_a_passport_goes_from_one_service_to_another(hand: Hand, other: Hand) -> None:
    passport = given(hand)
    assert (passport["given_seeds"], passport["given_on"]) == (60, TODAY.isoformat())
    response = other.post("/lot-passports", {"passport": passport}, key="arrived")
    assert response.status_code == 201, response.text
    lot = response.json()["lot"]
    assert response.headers["location"] == f"/lots/{lot['code']}"
    assert lot["amount"]["seeds"] == 60
    assert other.get(f"/lots/{lot['code']}").json()["harvest_date"] == "2024-09-01"
    tests = other.get(f"/germination-tests?lot={lot['code']}").json()["items"]
    assert len(tests) == 1
    # A retry is replayed; the passport under another key makes no second lot.
    before = other.dump()
    again = other.post("/lot-passports", {"passport": passport}, key="arrived")
    assert again.headers["idempotent-replay"] == "true"
    assert other.dump() == before
    twice = other.post("/lot-passports", {"passport": passport})
    assert twice.json()["already"] is True
    assert twice.json()["lot"]["code"] == lot["code"]


def test_a_hostile_passport_is_refused_with_the_field_named(hand: Hand, other: Hand) -> None:
    passport = given(hand)
    before = other.dump()
    odd = passport | {"harvest_year": "2024; DROP TABLE lot"}
    response = other.post("/lot-passports", {"passport": odd})
    assert response.status_code == 422
    assert response.json()["errors"][0]["field"] == "passport.harvest_year"
    more = other.post("/lot-passports", {"passport": passport | {"given_seeds": 61}})
    assert more.status_code == 422
    assert more.json()["errors"][0]["field"] == "passport.digest"
    many = passport | {"tests": passport["tests"] * 201}
    assert other.post("/lot-passports", {"passport": many}).status_code == 422
    assert other.dump() == before


def test_a_lot_that_is_not_there_has_no_passport(hand: Hand) -> None:
    hand.lot(10)
    assert hand.get("/lots/00000/passport?seeds=5").status_code in (404, 422)
    code = hand.lot(10)
    assert hand.get(f"/lots/{code}/passport").json()["given_seeds"] is None
    assert hand.get(f"/lots/{code}/passport?seeds=0").status_code == 422
