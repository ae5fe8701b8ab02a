"""Each page's time against a bare route that returns the same bytes through the same middleware.

Both are asked over loopback of the same server (uvicorn), by turns. The bare route does nothing but
return; what lies between is the work: the session, the queries, the answer made and checked. How
many times the bare route's time that takes says what the page costs, however fast the machine or
busy: it is processor time, of server and client together, that a program waiting its turn doesn't
use. Milliseconds are only told. On the demonstration's garden, SQLite; on PostgreSQL too where
SEEDBANK_TEST_DATABASE_URL names one.
"""

import http.client
import json
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI, Response

from seedbank.database.engine import session_factory
from seedbank.interchange.folder.import_collection import import_collection
from seedbank.server.app import create_server
from seedbank.settings import Settings
from seedbank.upkeep.open_collection import open_collection
from tests.benchmarks.simulated import NOW, TODAY

pytestmark = pytest.mark.benchmark

DEMO = Path(__file__).parents[2] / "demo_data"
MEASURED = {
    "/lots/{code}": (3.4, 3.6), "/lots": (8.3, 9.2),
    "/": (3.8, 4.3), "/find": (8.1, 9.5), "/find?words=carrot": (8.0, 7.6),
    "/shelf": (15.0, 15.0), "/packets": (15.0, 15.0),
    "/season": (3.4, 4.4), "/season/last-chance": (3.0, 3.1), "/plan": (2.7, 2.6),
    "/supply": (4.8, 4.6), "/record": (4.6, 4.0), "/changes": (7.1, 8.2), "/dates": (8.0, 9.4),
    "/sowings": (5.5, 6.7), "/take-in": (4.7, 5.4), "/labels": (8.6, 9.7), "/lists": (2.3, 2.3),
    "/more": (1.9, 1.6), "/settings": (2.0, 1.8), "/lot/{code}": (12.9, 19.1),
    "/lot/{code}/sow": (15.0, 18.5), "/lot/{code}/test": (13.2, 18.4), "/variety/1": (9.6, 13.4),
}  # fmt: skip
"""Times the bare route's, on SQLite and on PostgreSQL, as measured while much else went on."""
MARGIN, SLACK = 1.5, 2.0
"""A page may take so many times what was measured, and so many bare routes more.

The slack is for pages of next to no work, where what is measured is mostly the server's own. A
query for each of the thirty lots of /find makes it 29.6 x the bare route.
"""
ROUNDS = 15


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


def _add_bare(app: FastAPI, bodies: list[tuple[bytes, str]]) -> None:
    """One more route of the same service, in a plain function that returns the bytes."""

    @app.get("/bare/{number}")
    def answer(number: int) -> Response:
        body, kind = bodies[number]
        return Response(body, media_type=kind)


def _ms(connection: http.client.HTTPConnection, address: str) -> float:
    start = time.process_time()
    _get(connection, address)
    return 1000 * (time.process_time() - start)


def _by_turns(connection: http.client.HTTPConnection, one: str, other: str) -> tuple[float, float]:
    """The least of so many requests of each, milliseconds of processor."""
    took = [(_ms(connection, one), _ms(connection, other)) for _ in range(ROUNDS)]
    return min(own for own, _ in took), min(bare for _, bare in took)


def _demo(url: str) -> tuple[FastAPI, str]:
    """The whole service on the demonstration's garden, and the code of a lot that holds seed."""
    engine = open_collection(url, now=NOW)
    with session_factory(engine)() as session:
        import_collection(session, DEMO, NOW)
    engine.dispose()
    app = create_server(Settings(database_url=url, today=TODAY))
    with _served(app) as connection:
        _, body, _ = _get(connection, "/lots?limit=100")
    return app, next(one["code"] for one in json.loads(body)["items"] if one["amount"]["seeds"])


@pytest.mark.parametrize("two_databases", ["sqlite", "postgresql"], indirect=True)
def test_requests_and_pages_against_a_bare_route(two_databases: tuple[str, str]) -> None:
    app, code = _demo(two_databases[0])
    engine = two_databases[0].split(":", 1)[0].split("+", 1)[0]
    at = ["sqlite", "postgresql"].index(engine)
    most = {page.format(code=code): MARGIN * times[at] + SLACK for page, times in MEASURED.items()}
    unlike, measured = {}, {}
    bodies: list[tuple[bytes, str]] = []
    _add_bare(app, bodies)
    with _served(app) as connection:
        for number, address in enumerate(most):
            status, _, _ = _get(connection, address)  # warm
            again, body, kind = _get(connection, address)
            bodies.append((body, kind))
            if (status, again) != (200, 200):
                unlike[address] = (status, again)
            measured[address] = _by_turns(connection, address, f"/bare/{number}")
    app.state.wiring.writing.kw["bind"].dispose()
    times = {address: own / bare for address, (own, bare) in measured.items()}
    for address, (body, _) in zip(most, bodies, strict=True):
        own, bare = measured[address]
        print(
            f"\n{engine}, {address}: {own:.1f} ms of processor, a bare route with the same "
            f"{len(body):,} bytes {bare:.2f} ms: {times[address]:.1f} x, "
            f"{most[address]:.1f} x at most"
        )
    assert not unlike
    assert {page: f"{taken:.1f} x" for page, taken in times.items() if taken > most[page]} == {}
