"""Real servers to be killed, starved and cut off, each in a process of its own."""

import multiprocessing
import os
import signal
import socket
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.context import ForkServerContext
from multiprocessing.process import BaseProcess
from typing import Any

import httpx2
import pytest

START_S = 180  # a few at rest; many where other work goes on beside it
ANSWER_S = 120


def _forks() -> ForkServerContext:
    context = multiprocessing.get_context("forkserver")
    # Loaded once; each server then starts, and writes, in a tenth of the time.
    context.set_forkserver_preload(["tests.faults.preloaded", "uvicorn", "psycopg"])
    return context


def serve(database_url: str, port: int) -> None:
    """What a server's process does: serve until it is killed."""
    import uvicorn

    from seedbank.server.app import create_server
    from seedbank.settings import Settings

    app = create_server(Settings(database_url=database_url))
    uvicorn.run(app, host="127.0.0.1", port=port, log_level="critical")


def held_port() -> socket.socket:
    """A port kept from all others while nothing listens on it: close it when done.

    It is bound and never listened on. The system gives it to nobody who asks for any port, and a
    server that names it may have it, since both let the address be used again.
    """
    held = socket.socket()
    held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    held.bind(("127.0.0.1", 0))
    return held


@pytest.fixture(autouse=True)
def every_commit_on_the_disk(waits_for_the_disk: None) -> None:
    """Faults are met by connections as a gardener's are."""


@dataclass
class Server:
    """A server on a port of its own, started and killed as often as asked."""

    database_url: str
    port: int
    process: BaseProcess | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def client(self) -> httpx2.Client:
        """Who calls it, and waits for its answers; close it when done."""
        return httpx2.Client(base_url=self.address, timeout=ANSWER_S)

    def start(self, *, wait: bool = True) -> None:
        """Start it, and wait until it answers unless told not to."""
        given = (self.database_url, self.port)
        self.process = _forks().Process(target=serve, args=given, daemon=True)
        self.process.start()
        if wait:
            self.wait()

    def wait(self) -> None:
        """Until it answers. Raises RuntimeError: it ended instead."""
        assert self.process is not None
        deadline = time.monotonic() + START_S
        while time.monotonic() < deadline:
            try:
                httpx2.get(f"{self.address}/problems", timeout=5)
            except httpx2.TransportError:
                if self.process.exitcode is not None:
                    raise RuntimeError(f"the server ended: {self.process.exitcode}") from None
                time.sleep(0.02)
            else:
                return
        raise TimeoutError("the server did not start")

    def kill(self) -> None:
        """SIGKILL: no warning, no tidying."""
        if self.process is not None and self.process.pid is not None:
            os.kill(self.process.pid, signal.SIGKILL)
            self.process.join()


@contextmanager
def running(database_url: str) -> Iterator[Server]:
    """A server that is gone afterwards, whatever happens."""
    with held_port() as held:
        server = Server(database_url, held.getsockname()[1])
        try:
            server.start()
            yield server
        finally:
            server.kill()


def wait_until(true: Callable[[], object]) -> None:
    """Wait for what must come, however busy the machine. Raises TimeoutError: it never came."""
    deadline = time.monotonic() + START_S
    while not true():
        if time.monotonic() > deadline:
            raise TimeoutError("what was waited for never came")
        time.sleep(0.02)


def post(client: httpx2.Client, path: str, body: Any, key: str) -> httpx2.Response:
    """A keyed POST."""
    return client.post(path, json=body, headers={"Idempotency-Key": key})


def stocked(client: httpx2.Client, seeds: int, name: str = "Lantern") -> str:
    """Code of a new lot with this many seeds."""
    variety = post(client, "/varieties", {"kind": "carrot", "name": name}, f"v-{name}").json()
    lot = {"variety_id": variety["id"], "origin": "bought", "amount": {"seeds": seeds}}
    code: str = post(client, "/lots", lot, f"l-{name}").json()["code"]
    return code


@pytest.fixture
def needs_postgresql() -> str:
    """Address of the PostgreSQL to test on."""
    address = os.environ.get("SEEDBANK_TEST_DATABASE_URL")
    if address is None:
        pytest.skip("no PostgreSQL: SEEDBANK_TEST_DATABASE_URL names none")
    return address
