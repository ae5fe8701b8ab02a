"""A PostgreSQL gone for a while: told with 503 and when to try again, then all goes on."""

import os
import shutil
import subprocess
import threading
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import mkdtemp

import pytest

from tests.faults.conftest import held_port, post, running, stocked, wait_until

PROGRAMS = sorted(Path("/usr/lib/postgresql").glob("*/bin"))


@dataclass
class Cluster:
    """A PostgreSQL of our own, to stop and start."""

    folder: Path
    port: int

    def run(self, program: str, *arguments: str) -> None:
        as_owner = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        command = [*as_owner, str(PROGRAMS[-1] / program), *arguments]
        patient = {**os.environ, "PGCTLTIMEOUT": "180"}
        subprocess.run(command, check=True, cwd="/", env=patient, stdout=subprocess.DEVNULL)

    def start(self) -> None:
        options = (
            f"-c listen_addresses=127.0.0.1 -c port={self.port} "
            f"-c unix_socket_directories={self.folder}"
        )
        self.run("pg_ctl", "-D", f"{self.folder}/data", "-w", "-l", f"{self.folder}/log",
                 "-o", options, "start")  # fmt: skip

    def stop(self) -> None:
        self.run("pg_ctl", "-D", f"{self.folder}/data", "-m", "immediate", "-w", "stop")


@pytest.fixture
def cluster() -> Iterator[Cluster]:
    if not PROGRAMS:
        pytest.skip("PostgreSQL's server is not on this machine (Debian: postgresql)")
    pytest.importorskip("psycopg", reason="the PostgreSQL driver is an extra")
    folder = Path(mkdtemp(prefix="seedbank-gone."))
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres")
    with held_port() as held:
        cluster = Cluster(folder, held.getsockname()[1])
        cluster.run("initdb", "-D", f"{folder}/data", "-A", "trust", "-U", "postgres", "-E", "UTF8")
        cluster.start()
        yield cluster
        cluster.stop()
    shutil.rmtree(folder)


@pytest.mark.either_engine  # a server of its own, whose programs are there where the others are
def test_a_database_gone_for_a_while_is_told_and_met_again_without_a_restart(
    cluster: Cluster, capsys: pytest.CaptureFixture[str]
) -> None:
    url = f"postgresql://postgres@127.0.0.1:{cluster.port}/postgres"
    with running(url) as server, server.client() as client:
        code = stocked(client, 100_000)
        stop = threading.Event()
        seen: Counter[int] = Counter()
        acknowledged: set[str] = set()

        def give(hand: int) -> None:
            with server.client() as own:
                for turn in range(10**6):
                    key = f"hand-{hand}-turn-{turn}"
                    body = {"reason": "given", "amount": {"seeds": 1}, "note": key}
                    while True:  # the same one until it is answered for
                        answer = post(own, f"/lots/{code}/movements", body, key)
                        seen[answer.status_code] += 1
                        if answer.status_code == 201:
                            acknowledged.add(key)
                            break
                        assert answer.status_code in (409, 503), answer.text
                        if stop.is_set():
                            return
                        time.sleep(0.05)
                    if stop.is_set():
                        return

        hands = [threading.Thread(target=give, args=(n,)) for n in range(4)]
        for hand in hands:
            hand.start()
        wait_until(lambda: len(acknowledged) >= 20)
        assert client.get("/health").status_code == 200
        cluster.stop()
        assert client.get("/health").status_code == 503
        body = {"reason": "given", "amount": {"seeds": 1}, "note": "while it was gone"}
        gone = post(client, f"/lots/{code}/movements", body, "while-gone")
        assert (gone.status_code, "can't be reached" in gone.json()["detail"]) == (503, True)
        assert int(gone.headers["Retry-After"]) > 0
        page = client.get("/find", headers={"Accept": "text/html"})
        assert page.status_code == 503
        assert int(page.headers["Retry-After"]) > 0
        wait_until(lambda: seen[503] >= 4)
        cluster.start()
        before = len(acknowledged)
        wait_until(lambda: len(acknowledged) >= before + 20)
        assert post(client, f"/lots/{code}/movements", body, "while-gone").status_code == 201
        stop.set()
        for hand in hands:
            hand.join()
        notes: list[str] = []
        address = f"/lots/{code}/movements?limit=200&reason=given"
        while address:
            answer = client.get(address).json()
            notes += [movement["note"] for movement in answer["items"]]
            address = answer["next"]
        held = client.get(f"/lots/{code}").json()["amount"]["seeds"]
    assert acknowledged | {"while it was gone"} <= set(notes)
    assert len(notes) == len(set(notes))
    assert held == 100_000 - len(notes)
    assert seen[503] > 0
    with capsys.disabled():
        print(f"\ndatabase gone for a while: answers {dict(seen)}, 0 acknowledged writes lost")
