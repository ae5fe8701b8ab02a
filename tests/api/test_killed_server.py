"""A server killed while it writes keeps every write it acknowledged, and none by halves."""

import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx2
import pytest

from tests.faults.conftest import Server, running, stocked, wait_until


def give_until_dead(server: Server, code: str, hand: int, acknowledged: dict[str, str]) -> None:
    """Give seed one by one; what was acknowledged is noted, by key."""
    with server.client() as client:
        for number in range(10_000):
            key = f"hand-{hand}-gift-{number}"
            try:
                answer = give(client, code, key)
            except httpx2.TransportError:
                break
            assert answer.status_code == 201, answer.text
            acknowledged[key] = answer.text


def give(client: httpx2.Client, code: str, key: str) -> httpx2.Response:
    body = {"reason": "given", "amount": {"seeds": 1}, "note": key}
    return client.post(f"/lots/{code}/movements", json=body, headers={"Idempotency-Key": key})


def booked(client: httpx2.Client, code: str) -> list[str]:
    """Notes of the lot's gifts."""
    notes: list[str] = []
    address = f"/lots/{code}/movements?limit=200&reason=given"
    while address:
        page = client.get(address).json()
        notes += [movement["note"] for movement in page["items"]]
        address = page["next"]
    return notes


@pytest.mark.skipif(sys.platform == "win32", reason="kills by signal")
def test_killing_the_server_mid_write_loses_no_acknowledged_write(tmp_path: Path) -> None:
    acknowledged: dict[str, str] = {}
    with running(f"sqlite:///{tmp_path}/killed.sqlite") as server:
        with server.client() as client:
            code = stocked(client, 100_000)
        with ThreadPoolExecutor(4) as pool:
            hands = [pool.submit(give_until_dead, server, code, n, acknowledged) for n in range(4)]
            wait_until(lambda: len(acknowledged) > 20)  # it is killed in the thick of it
            server.kill()
            for hand in hands:
                hand.result()
        server.start()
        with server.client() as client:
            notes = booked(client, code)
            assert acknowledged.keys() <= set(notes)
            assert len(notes) == len(set(notes))
            held = client.get(f"/lots/{code}").json()["amount"]["seeds"]
            assert held == 100_000 - len(notes)
            for key, answer in list(acknowledged.items())[:20]:
                replay = give(client, code, key)
                assert (replay.text, replay.headers["Idempotent-Replay"]) == (answer, "true")
            assert booked(client, code) == notes
