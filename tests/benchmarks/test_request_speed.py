"""Requests a second, and each page's milliseconds, against a bare route returning the same bytes.

Both are asked over loopback of the same server program (uvicorn), one after the other by turns.
The bare route does nothing but return; what lies between is the work: the guards, the session, the
queries, the answer made and checked. On the demonstration's garden, SQLite; on PostgreSQL too where
SEEDBANK_TEST_DATABASE_URL names one.
"""

import http.client
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI, Response

from seedbank.server.app import create_server
from seedbank.service.import_collection import import_collection
from seedbank.service.open_collection import open_collection
from seedbank.settings import Settings
from seedbank.stock.engine import session_factory
from tests.benchmarks.simulated import NOW, TODAY

pytestmark = pytest.mark.benchmark

DEMO = Path(__file__).parents[2] / "demo_data"
WANTED_MS = 50.0
PAGES = (
    "/", "/find", "/find?words=carrot", "/season", "/plan", "/supply", "/record", "/changes",
    "/dates", "/sowings", "/take-in", "/labels", "/lists", "/more", "/settings", "/lot/{code}",
    "/lot/{code}/sow", "/lot/{code}/test", "/variety/1", "/season/rescue",
)  # fmt: skip


@contextmanager
def _served(app: FastAPI) -> Iterator[http.client.HTTPConnection]:
    """A connection to ``app`` on a port of its own."""
    config = uvicorn.Config(app, port=0, log_level="warning", lifespan="off", access_log=False)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    port = server.servers[0].sockets[0].getsockname()[1]
    connection = http.client.HTTPConnection("127.0.0.1", port)
    yield connection
    connection.close()
    server.should_exit = True
    thread.join()


def _get(connection: http.client.HTTPConnection, address: str) -> tuple[int, bytes, str]:
    connection.request("GET", address, headers={"Host": f"127.0.0.1:{connection.port}"})
    answer = connection.getresponse()
    return answer.status, answer.read(), answer.headers.get("Content-Type", "")


def _bare(bodies: dict[str, tuple[bytes, str]]) -> FastAPI:
    """A server with one route for each address, in a plain function that returns the bytes."""
    app = FastAPI()

    @app.get("/{number}")
    def answer(number: int) -> Response:
        body, kind = list(bodies.values())[number]
        return Response(body, media_type=kind)

    return app


def _ms(connection: http.client.HTTPConnection, address: str, repeats: int) -> float:
    """The quickest of so many requests, milliseconds: what else the machine does isn't meant."""
    took = []
    for _ in range(repeats):
        start = time.perf_counter()
        _get(connection, address)
        took.append(1000 * (time.perf_counter() - start))
    return min(took)


def _demo(url: str) -> tuple[FastAPI, str]:
    """The whole service on the demonstration's garden, and the code of one of its lots."""
    engine = open_collection(url, now=NOW)
    with session_factory(engine)() as session:
        import_collection(session, DEMO, NOW)
    engine.dispose()
    app = create_server(Settings(database_url=url, today=TODAY))
    with _served(app) as connection:
        _, body, _ = _get(connection, "/lots?limit=1")
    return app, body.decode().split('"code":"', 1)[1].split('"', 1)[0]


@pytest.mark.parametrize("two_databases", ["sqlite", "postgresql"], indirect=True)
def test_requests_and_pages_against_a_bare_route(two_databases: tuple[str, str]) -> None:
    app, code = _demo(two_databases[0])
    engine = two_databases[0].split(":", 1)[0].split("+", 1)[0]
    addresses = [f"/lots/{code}", "/lots", *(page.format(code=code) for page in PAGES)]
    with _served(app) as own:
        bodies, unlike = {}, {}
        for address in addresses:
            status, _, _ = _get(own, address)  # warm
            again, body, kind = _get(own, address)
            bodies[address] = (body, kind)
            if (status, again) != (200, 200):
                unlike[address] = (status, again)
        with _served(_bare(bodies)) as bare:
            measured = {
                address: (_ms(own, address, 15), _ms(bare, f"/{number}", 15))
                for number, address in enumerate(addresses)
            }
            rates = _rates(own, bare, addresses)
    app.state.wiring.writing.kw["bind"].dispose()
    for address, (own_rate, bare_rate) in rates.items():
        print(
            f"\n{engine}, GET {address}: {own_rate:.0f} requests a second, a bare route with the "
            f"same {len(bodies[address][0]):,} bytes {bare_rate:.0f}: {bare_rate / own_rate:.1f} x"
        )
    told = ", ".join(
        f"{name} {own:.1f} ({own / bare:.0f} x)" for name, (own, bare) in measured.items()
    )
    slow = {name: round(own) for name, (own, _) in measured.items() if own >= WANTED_MS}
    print(f"{engine}, ms a page (and times the bare route): {told}")
    print(f"{engine}, over {WANTED_MS:.0f} ms: {slow or 'none'}")
    assert not unlike


def _rates(
    own: http.client.HTTPConnection, bare: http.client.HTTPConnection, addresses: list[str]
) -> dict[str, tuple[float, float]]:
    """Requests a second of one lot and of the front page, by turns."""
    rates = {}
    for address in (addresses[0], "/"):
        took = [0.0, 0.0]
        for _ in range(5):
            for at, (connection, path) in enumerate(
                ((own, address), (bare, f"/{addresses.index(address)}"))
            ):
                start = time.perf_counter()
                for _ in range(20):
                    _get(connection, path)
                took[at] += time.perf_counter() - start
        rates[address] = (100 / took[0], 100 / took[1])
    return rates
