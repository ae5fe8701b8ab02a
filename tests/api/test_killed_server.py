"""A server killed while it writes keeps every write it acknowledged, and none by halves."""

import os
import signal
import socket
import subprocess
import sys
import textwrap
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx2
import pytest

_SERVE = textwrap.dedent("""
    import sys
    import uvicorn
    from seedbank.api.app import create_app
    from seedbank.settings import Settings

    uvicorn.run(create_app(Settings()), port=int(sys.argv[1]), log_level="error")
""")


class Server:
    """A real server in a process of its own, on a port of its own."""

    def __init__(self, database: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        environment = {**os.environ, "SEEDBANK_DATABASE_URL": f"sqlite:///{database}"}
        self.process = subprocess.Popen(
            [sys.executable, "-c", _SERVE, str(self.port)], env=environment
        )
        for _ in range(300):
            try:
                httpx2.get(f"{self.address}/problems")
            except httpx2.TransportError:
                time.sleep(0.1)
            else:
                return
        self.kill()
        raise TimeoutError("the server did not start")

    def kill(self) -> None:
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


def give_until_dead(address: str, code: str, hand: int) -> list[tuple[str, str]]:
    """Give seed one by one; returns key and answer of what was acknowledged."""
    acknowledged = []
    with httpx2.Client(base_url=address) as client:
        for number in range(10_000):
            key = f"hand-{hand}-gift-{number}"
            try:
                answer = give(client, code, key)
            except httpx2.TransportError:
                break
            assert answer.status_code == 201, answer.text
            acknowledged.append((key, answer.text))
    return acknowledged


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
    server = Server(tmp_path / "killed.sqlite")
    try:
        with httpx2.Client(base_url=server.address) as client:
            variety = {"kind": "carrot", "name": "Purple Lantern"}
            client.post("/varieties", json=variety, headers={"Idempotency-Key": "v"})
            lot = {"variety_id": 1, "origin": "bought", "amount": {"seeds": 100_000}}
            made = client.post("/lots", json=lot, headers={"Idempotency-Key": "l"})
            code = made.json()["code"]
        with ThreadPoolExecutor(4) as pool:
            hands = [pool.submit(give_until_dead, server.address, code, n) for n in range(4)]
            time.sleep(1.0)
            server.kill()
            acknowledged = [gift for hand in hands for gift in hand.result(timeout=60)]
    finally:
        server.kill()
    assert len(acknowledged) > 4  # it was killed in the thick of it

    again = Server(tmp_path / "killed.sqlite")
    try:
        with httpx2.Client(base_url=again.address) as client:
            notes = booked(client, code)
            assert {key for key, _ in acknowledged} <= set(notes)
            assert len(notes) == len(set(notes))
            held = client.get(f"/lots/{code}").json()["amount"]["seeds"]
            assert held == 100_000 - len(notes)
            for key, answer in acknowledged[:20]:
                replay = give(client, code, key)
                assert (replay.text, replay.headers["Idempotent-Replay"]) == (answer, "true")
            assert booked(client, code) == notes
    finally:
        again.kill()
