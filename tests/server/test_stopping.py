"""A server told to stop is gone within 10 s, whoever hangs on, and keeps every write."""

import os
import re
import signal
import socket
import subprocess
import sys
import textwrap
import time
from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest

from seedbank.database.engine import open_for_reading
from tests.signals import heeds_ctrl_c

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="stops by signal")
AT_MOST_S = 10.0
MARGIN_S = 3.0  # for a machine that has other things to do
ADDRESS = re.compile(r"http://127\.0\.0\.1:(\d+)")
# The service as `seedbank serve` runs it, and calculations that take their time.
SERVE = textwrap.dedent("""
    import sys
    import time
    import seedbank.server.serving as serving
    from seedbank.settings import Settings

    made = serving.create_server

    def with_calculations(settings):
        app = made(settings)

        @app.get("/calculation/{seconds}")
        def calculate(seconds: int) -> str:
            time.sleep(seconds)
            return "done"

        return app

    serving.create_server = with_calculations
    serving.serve(Settings())
""")


class Served:
    """A server in a process of its own."""

    def __init__(self, file: Path, **environment: str) -> None:
        self.file = file
        kept = {k: v for k, v in os.environ.items() if not k.startswith("SEEDBANK_")}
        given = {"SEEDBANK_DATABASE_URL": f"sqlite:///{file}", "SEEDBANK_PORT": "0", **environment}
        self.process = subprocess.Popen(
            [sys.executable, "-c", SERVE],
            stderr=subprocess.PIPE,
            text=True,
            env=kept | given,
            preexec_fn=heeds_ctrl_c,
        )
        assert self.process.stderr is not None
        told = ""
        for line in self.process.stderr:
            told += line
            if found := ADDRESS.search(told):
                self.port = int(found[1])
                break
        else:
            pytest.fail(f"no address was told: {told}")
        self.address = f"http://127.0.0.1:{self.port}"

    def connect(self, sent: bytes) -> socket.socket:
        """A connection on which so much was sent, and no more is."""
        connection = socket.create_connection(("127.0.0.1", self.port))
        connection.sendall(sent)
        return connection

    def stop(self, number: int = signal.SIGTERM) -> tuple[int, float]:
        """Its exit code, and after how many seconds it was gone."""
        began = time.monotonic()
        self.process.send_signal(number)
        code = self.process.wait(60)
        return code, time.monotonic() - began

    def varieties(self) -> set[str]:
        engine = open_for_reading(f"sqlite:///{self.file}")
        with engine.connect() as connection:
            names = connection.exec_driver_sql("SELECT name FROM variety").scalars()
            found = set(names)
        engine.dispose()
        return found


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    server = Served(tmp_path / "c.sqlite", SEEDBANK_BACKUP_FOLDER=str(tmp_path / "backups"))
    yield server
    server.process.kill()
    server.process.wait()
    assert server.process.stderr is not None
    server.process.stderr.close()


def record(address: str, number: int) -> str:
    name = f"Invented {number}"
    body = {"kind": "carrot", "name": name}
    answer = httpx2.post(
        f"{address}/varieties", json=body, headers={"Idempotency-Key": f"k{number}"}, timeout=30
    )
    assert answer.status_code == 201
    return name


HOST = b"Host: 127.0.0.1\r\n"
HALF_A_BODY = (
    b"POST /varieties HTTP/1.1\r\n" + HOST + b"Content-Type: application/json\r\n"
    b'Idempotency-Key: half\r\nContent-Length: 1000\r\n\r\n{"kind": "carrot", "na'
)
HALF_A_FORM = (
    b"POST /enter HTTP/1.1\r\n" + HOST + b"Content-Type: application/x-www-form-urlencoded\r\n"
    b"Content-Length: 1000\r\n\r\ntoken=1-"
)
A_CHUNK = HALF_A_BODY.replace(
    b"Content-Length: 1000\r\n\r\n", b"Transfer-Encoding: chunked\r\n\r\n5\r\n"
)
HALF_THE_HEADERS = b"POST /varieties HTTP/1.1\r\n" + HOST + b"Content-Ty"
NEVER_READ = (b"GET /openapi.json HTTP/1.1\r\n" + HOST + b"\r\n") * 200
HANGING = {
    "requests sent by halves": [b"", HALF_THE_HEADERS, HALF_A_BODY, A_CHUNK, HALF_A_FORM],
    "answers never read": [NEVER_READ],
    "a long calculation": [b"GET /calculation/40 HTTP/1.1\r\n" + HOST + b"\r\n"],
}


@pytest.mark.parametrize("sent", HANGING.values(), ids=HANGING)
def test_it_stops_in_time_whoever_hangs_on_and_keeps_what_it_acknowledged(
    served: Served, sent: list[bytes]
) -> None:
    acknowledged = {record(served.address, 1)}
    hanging = [served.connect(one) for one in sent]
    acknowledged.add(record(served.address, 2))  # it serves others meanwhile
    code, took = served.stop()
    for connection in hanging:
        connection.close()
    assert took <= AT_MOST_S + MARGIN_S
    assert code == 128 + signal.SIGTERM
    assert served.varieties() == acknowledged


def test_ctrl_c_stops_it_just_as_soon(served: Served) -> None:
    with served.connect(HALF_A_BODY):
        code, took = served.stop(signal.SIGINT)
    assert took <= AT_MOST_S + MARGIN_S
    assert code in (128 + signal.SIGINT, -signal.SIGINT)


def test_a_request_under_way_is_still_answered(served: Served) -> None:
    with served.connect(b"GET /calculation/2 HTTP/1.1\r\n" + HOST + b"\r\n") as asking:
        time.sleep(0.5)  # until it is under way
        code, _ = served.stop()
        assert b"200 OK" in asking.recv(4096)
    assert code == 128 + signal.SIGTERM
