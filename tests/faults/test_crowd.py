"""A crowd that asks for what takes long: worked out once, and light requests find room."""

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from itertools import islice
from types import ModuleType
from typing import Any

import pytest
from fastapi.testclient import TestClient
from httpx2 import Response
from sqlalchemy import Engine

import seedbank.database.cache as cache
import seedbank.database.lanes as lanes
import seedbank.plan.make_plan as plan_saving
import seedbank.verdicts.judge_lots as judge_stock
from seedbank.server.app import create_server
from seedbank.settings import Settings

TODAY = date(2027, 2, 20)
CROWD, THREADS = 20, 40
PATIENCE_S = 120  # of a test that would else hang
LIGHT = ("/lots?limit=5", "/problems", "/places", "/verdicts?limit=1", "/find", "/plan")


@dataclass
class Gate:
    """Heavy work that is counted, and goes on only when the gate is opened."""

    works: int = 0
    reached: threading.Event = field(default_factory=threading.Event)
    opened: threading.Event = field(default_factory=threading.Event)

    def before(self, work: Callable[..., Any]) -> Callable[..., Any]:
        def gated(*given: Any, **named: Any) -> Any:
            self.works += 1
            self.reached.set()
            assert self.opened.wait(PATIENCE_S)
            return work(*given, **named)

        return gated


@dataclass
class Crowd:
    """Requests sent all at once, each from a thread of its own."""

    client: TestClient
    senders: ThreadPoolExecutor
    waiting: threading.Semaphore

    def sends(self, path: str, number: int) -> list[Future[Response]]:
        return [self.senders.submit(self.client.get, path) for _ in range(number)]

    def waits(self, number: int) -> None:
        """Until so many wait for work of another."""
        for _ in range(number):
            assert self.waiting.acquire(timeout=PATIENCE_S)


@pytest.fixture
def crowd(
    garden_engine: Engine, database_url: str, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Crowd]:
    """A crowd at the demonstration's garden, right after something was written."""
    garden_engine.dispose()
    waiting, let_go = threading.Semaphore(0), cache.let_go

    def noted(session: Any) -> None:
        let_go(session)
        waiting.release()

    monkeypatch.setattr(cache, "let_go", noted)
    for module in (cache, lanes):
        monkeypatch.setattr(module, "LONGEST_WAIT_S", PATIENCE_S)
    app = create_server(Settings(database_url=database_url, today=TODAY))
    with (
        ThreadPoolExecutor(2 * THREADS) as senders,
        TestClient(app, "http://127.0.0.1", raise_server_exceptions=False) as client,
    ):
        lots = client.get("/lots").json()["items"]
        lot = next(one["code"] for one in lots if one["amount"]["seeds"] > 100)
        body = {"reason": "given", "amount": {"seeds": 1}}
        assert written(client, f"/lots/{lot}/movements", body).status_code == 201
        yield Crowd(client, senders, waiting)


def written(client: TestClient, path: str, body: dict[str, Any]) -> Response:
    answer: Response = client.post(path, json=body, headers={"Idempotency-Key": path})
    return answer


@contextmanager
def gated(monkeypatch: pytest.MonkeyPatch, module: ModuleType, name: str) -> Iterator[Gate]:
    """The gate before a piece of work, opened at the latest at the end."""
    gate = Gate()
    monkeypatch.setattr(module, name, gate.before(getattr(module, name)))
    try:
        yield gate
    finally:
        gate.opened.set()


def connections_taken(crowd: Crowd) -> int:
    pool = crowd.client.app.state.wiring.reading.kw["bind"].pool  # type: ignore[attr-defined]
    taken: int = pool.checkedout()
    return taken


@pytest.mark.parametrize(
    ("path", "module", "work"),
    [
        ("/saving-plan?horizon_years=1", plan_saving, "solve_plan"),
        ("/supplies", judge_stock, "judge_forecast"),
        ("/verdicts?limit=5", judge_stock, "judge_forecast"),
    ],
)
def test_what_a_crowd_asks_for_is_worked_out_once_and_nobody_holds_a_connection(
    crowd: Crowd, monkeypatch: pytest.MonkeyPatch, path: str, module: ModuleType, work: str
) -> None:
    number = CROWD if module is plan_saving else 8
    with gated(monkeypatch, module, work) as gate:
        answers = crowd.sends(path, number)
        crowd.waits(number - 1)
        assert gate.reached.wait(PATIENCE_S)
        assert connections_taken(crowd) == 0
        gate.opened.set()
        told = [answer.result(PATIENCE_S) for answer in answers]
    assert {answer.status_code for answer in told} == {200}
    assert len({answer.text for answer in told}) == 1
    assert gate.works == 1


def test_light_requests_are_answered_while_twenty_wait_for_a_plan(
    crowd: Crowd, monkeypatch: pytest.MonkeyPatch
) -> None:
    with gated(monkeypatch, plan_saving, "solve_plan") as gate:
        answers = crowd.sends("/saving-plan?horizon_years=1", CROWD)
        crowd.waits(CROWD - 1)
        assert gate.reached.wait(PATIENCE_S)
        for path in LIGHT:
            assert crowd.client.get(path).status_code == 200, path
        assert written(crowd.client, "/places", {"name": "Shed"}).status_code == 201
        assert not any(answer.done() for answer in answers)
        gate.opened.set()
        assert {answer.result(PATIENCE_S).status_code for answer in answers} == {200}


def test_more_than_may_wait_are_told_to_come_back_at_once(
    crowd: Crowd, monkeypatch: pytest.MonkeyPatch
) -> None:
    room = 24
    with gated(monkeypatch, plan_saving, "solve_plan") as gate:
        answers = [
            *crowd.sends("/saving-plan?horizon_years=1", THREADS),
            *crowd.sends("/saving-plan?horizon_years=2", THREADS),
        ]
        turned_away = [
            one.result() for one in islice(as_completed(answers, PATIENCE_S), 2 * THREADS - room)
        ]
        for answer in turned_away:
            assert (answer.status_code, answer.json()["type"]) == (503, "/problems/busy")
            assert int(answer.headers["Retry-After"]) > 0
        page = crowd.client.get("/supply?work=1", headers={"Accept": "text/html"})
        assert (page.status_code, page.headers["Retry-After"]) == (503, "10")
        assert "Too many are asking" in page.text
        for path in LIGHT:
            assert crowd.client.get(path).status_code == 200, path
        gate.opened.set()
        served = [answer.result(PATIENCE_S).status_code for answer in answers]
    assert served.count(200) == room
    assert gate.works == len(
        {answer.result().text for answer in answers if answer.result().is_success}
    )
