"""60 kills (200 in full) at random moments under concurrent writers: nothing acknowledged is lost,
nothing is written by halves, and every ledger still adds up.

On SQLite, or on PostgreSQL where SEEDBANK_TEST_DATABASE_URL names one. ``SEEDBANK_KILLS`` sets
another number of kills for a quick look.
"""

import os
import random
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime

import httpx2
import pytest
from sqlmodel import col, select

from seedbank.database.audit import AnsweredRequest
from seedbank.database.engine import session_factory
from seedbank.emergence.tables import Sowing
from seedbank.germination.tables import GerminationTest
from seedbank.lots.tables.ledger import Movement
from seedbank.upkeep.check_collection import check_collection
from seedbank.upkeep.open_collection import open_collection
from tests.faults.conftest import ANSWER_S, post, running, stocked, wait_until
from tests.sizes import sized

KILLS = int(os.environ.get("SEEDBANK_KILLS") or sized(60, 200))
HANDS, LOTS, SEEDS = 6, 3, 1_000_000
LONGEST_LIFE_S = 0.5
SEED = 20_270_301

pytestmark = pytest.mark.fault


@dataclass
class Writer:
    """One hand that writes without pause and repeats, with its key, what wasn't answered."""

    address: str
    codes: list[str]
    number: int
    stop: threading.Event
    acknowledged: dict[str, str] = field(default_factory=dict)
    repeats: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)

    def run(self) -> None:
        with httpx2.Client(base_url=self.address, timeout=ANSWER_S) as client:
            for turn in range(10**9):
                if self.stop.is_set():
                    return
                self._write(client, turn)

    def _write(self, client: httpx2.Client, turn: int) -> None:
        key = f"hand-{self.number}-turn-{turn}"
        path, body = self._deed(turn, key)
        while not self.stop.is_set():
            try:
                answer = post(client, path, body, key)
            except httpx2.TransportError:
                self.repeats["cut off"] += 1
                time.sleep(0.02)
                continue
            if answer.status_code in (409, 503):
                self.repeats[str(answer.status_code)] += 1
                time.sleep(0.02)
                continue
            if answer.status_code != 201:
                self.faults.append(answer.text)
            if "Idempotent-Replay" in answer.headers:
                self.repeats["answered before it was cut off"] += 1
            self.acknowledged[key] = answer.text
            return

    def _deed(self, turn: int, key: str) -> tuple[str, dict[str, object]]:
        code = self.codes[turn % len(self.codes)]
        if turn % 5 == 1:
            test = {"lot": code, "replicates": [3, 4], "notes": key}
            return "/germination-tests", test
        if turn % 5 == 3:
            sowing = {"lot": code, "method": "row", "seeds_sown": 5, "notes": key}
            return "/sowings", sowing
        given = {"reason": "given", "amount": {"seeds": 1}, "note": key}
        return f"/lots/{code}/movements", given


def test_kills_at_random_moments_lose_nothing_and_leave_nothing_half_done(
    database_url: str, capsys: pytest.CaptureFixture[str]
) -> None:
    chance = random.Random(SEED)
    stop = threading.Event()
    with running(database_url) as server:
        with server.client() as client:
            codes = [stocked(client, SEEDS, f"Invented-{n}") for n in range(LOTS)]
        writers = [Writer(server.address, codes, number, stop) for number in range(HANDS)]
        threads = [threading.Thread(target=writer.run) for writer in writers]
        started = time.monotonic()
        try:
            for thread in threads:
                thread.start()
            for _ in range(KILLS):
                # Mostly at work, now and then while it is still starting.
                starting = chance.random() < 0.1
                if not starting:
                    server.wait()
                time.sleep(chance.uniform(0, LONGEST_LIFE_S))
                server.kill()
                server.start(wait=False)
            server.wait()
            # Everyone gets an answer to what was cut off last.
            before = [len(writer.acknowledged) for writer in writers]
            wait_until(
                lambda: all(len(w.acknowledged) > n for w, n in zip(writers, before, strict=True))
            )
        finally:
            stop.set()
            for thread in threads:
                thread.join(60)
    took_s = time.monotonic() - started
    assert [fault for writer in writers for fault in writer.faults] == []
    acknowledged = {key: text for writer in writers for key, text in writer.acknowledged.items()}
    repeats = sum((writer.repeats for writer in writers), Counter[str]())
    report = proved(database_url, acknowledged)
    with capsys.disabled():
        print(
            f"\n{KILLS} kills in {took_s:.0f} s: {len(acknowledged)} writes acknowledged, 0 lost, "
            f"0 half-written; repeats {dict(repeats)}; {report}"
        )
    assert len(acknowledged) > KILLS
    assert repeats["cut off"] > 0


def proved(database_url: str, acknowledged: dict[str, str]) -> str:
    """Read the database itself: what is there is what was acknowledged, whole, and adds up."""
    engine = open_collection(database_url, now=datetime(2027, 3, 1, tzinfo=UTC))
    try:
        with session_factory(engine, writes=False)() as session:
            kept = {row.key: row.body for row in session.exec(select(AnsweredRequest))}
            lost = [key for key, text in acknowledged.items() if kept.get(key) != text]
            assert lost == []
            movements = list(session.exec(select(Movement)))
            tests = list(session.exec(select(GerminationTest)))
            sowings = list(session.exec(select(Sowing)))
            done = [m.note for m in movements if m.note.startswith("hand-")]
            done += [t.notes for t in tests] + [s.notes for s in sowings]
            assert Counter(done).most_common(1)[0][1] == 1, "something was done twice"
            assert set(done) == {key for key in kept if key.startswith("hand-")}
            assert set(acknowledged) <= set(done)
            whole = {m.id: m for m in movements}
            assert all(whole[t.movement_id].seeds == -7 for t in tests)
            assert all(whole[s.movement_id].seeds == -5 for s in sowings)
            taken = -sum(m.seeds for m in movements if m.seeds < 0)
            left = {}
            for movement in session.exec(select(Movement).order_by(col(Movement.serial))):
                left[movement.lot_id] = movement.balance_seeds
            assert sum(left.values()) == LOTS * SEEDS - taken
        report = check_collection(engine)
        assert report.faults == []
        return f"{report.claims} claims of the collection hold over {len(movements)} movements"
    finally:
        engine.dispose()
