"""Many at once: fifty take from one lot, two edit one lot, and the clock goes back."""

import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import date

import pytest
from fastapi.testclient import TestClient

from seedbank.server.app import create_server
from seedbank.settings import Settings
from tests.faults.conftest import post, running, stocked

CLIENTS, EACH, HELD = 50, 7, 100


def test_fifty_clients_taking_from_one_lot_at_once_never_overdraw_it(
    database_url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with running(database_url) as server, server.client() as client:
        code = stocked(client, HELD)
        together = threading.Barrier(CLIENTS)

        def take(number: int) -> int:
            with server.client() as own:
                together.wait()
                body = {"reason": "given", "amount": {"seeds": EACH}}
                for _ in range(100):
                    answer = post(own, f"/lots/{code}/movements", body, f"taker-{number}")
                    busy = answer.headers["content-type"].endswith("problem+json") and (
                        "still-answering" in answer.json()["type"] or answer.status_code == 503
                    )
                    if not busy:
                        return answer.status_code
            raise AssertionError("never answered")

        with ThreadPoolExecutor(CLIENTS) as pool:
            answers = list(pool.map(take, range(CLIENTS)))
        assert sorted(set(answers)) == [201, 409]
        assert answers.count(201) == HELD // EACH
        assert client.get(f"/lots/{code}").json()["amount"]["seeds"] == HELD % EACH
    with capsys.disabled():
        print(f"\n{CLIENTS} takers of {EACH} seeds from {HELD}: {answers.count(201)} served")


@contextmanager
def on_day(database_url: str, today: date) -> Iterator[TestClient]:
    """A client of the service on a day, closed afterwards."""
    app = create_server(Settings(database_url=database_url, today=today))
    yield TestClient(app, "http://127.0.0.1", raise_server_exceptions=False)
    app.state.wiring.writing.kw["bind"].dispose()


@pytest.fixture
def client(database_url: str) -> Iterator[TestClient]:
    with on_day(database_url, date(2027, 3, 1)) as client:
        yield client


def made_lot(client: TestClient) -> str:
    key = {"Idempotency-Key": "v"}
    variety = {"kind": "carrot", "name": "Purple Lantern"}
    number = client.post("/varieties", json=variety, headers=key).json()["id"]
    lot = {"variety_id": number, "origin": "bought", "amount": {"seeds": 100}}
    code: str = client.post("/lots", json=lot, headers={"Idempotency-Key": "l"}).json()["code"]
    return code


def test_two_who_edit_one_lot_do_not_overwrite_each_other(client: TestClient) -> None:
    code = made_lot(client)
    seen = client.get(f"/lots/{code}").headers["ETag"]
    first = client.patch(f"/lots/{code}", json={"notes": "first"}, headers={"If-Match": seen})
    second = client.patch(f"/lots/{code}", json={"notes": "second"}, headers={"If-Match": seen})
    assert (first.status_code, second.status_code) == (200, 412)
    assert client.get(f"/lots/{code}").json()["notes"] == "first"
    fresh = client.get(f"/lots/{code}").headers["ETag"]
    third = client.patch(f"/lots/{code}", json={"notes": "second"}, headers={"If-Match": fresh})
    assert third.json()["notes"] == "second"


def test_a_clock_gone_back_breaks_no_ledger(database_url: str) -> None:
    give = {"reason": "given", "amount": {"seeds": 10}}
    with on_day(database_url, date(2027, 3, 1)) as later:
        code = made_lot(later)
        path = f"/lots/{code}/movements"
        later.post(path, json=give, headers={"Idempotency-Key": "a"})
    with on_day(database_url, date(2025, 1, 1)) as earlier:
        gone_back = earlier.post(path, json=give, headers={"Idempotency-Key": "b"})
        assert gone_back.status_code == 201, gone_back.text
        serials = [(m["serial"], m["balance_seeds"]) for m in earlier.get(path).json()["items"]]
        assert serials == [(1, 100), (2, 90), (3, 80)]
        future = {**give, "on_date": "2027-03-01"}  # which this clock has not reached
        refused = earlier.post(path, json=future, headers={"Idempotency-Key": "c"})
        assert (refused.status_code, refused.json()["errors"][0]["field"]) == (422, "on_date")
        replay = earlier.post(path, json=give, headers={"Idempotency-Key": "a"})
        assert replay.headers["Idempotent-Replay"] == "true"
