"""Loads once what a server loads with its first requests, for the servers forked from here."""

from pathlib import Path
from tempfile import TemporaryDirectory

from fastapi.testclient import TestClient

from seedbank.server.app import create_server
from seedbank.settings import Settings


def write_one_of_each() -> None:
    """A test, a sowing and a movement, in a collection that is then thrown away."""
    with TemporaryDirectory() as folder:
        address = f"sqlite:///{Path(folder) / 'first.sqlite'}"
        app = create_server(Settings(database_url=address))
        with TestClient(app, "http://127.0.0.1") as client:

            def sent(path: str, **body: object) -> dict[str, object]:
                key = {"Idempotency-Key": path}
                found: dict[str, object] = client.post(path, json=body, headers=key).json()
                return found

            variety = sent("/varieties", kind="carrot", name="First")["id"]
            seeds = {"seeds": 100}
            lot = sent("/lots", variety_id=variety, origin="bought", amount=seeds)["code"]
            sent("/germination-tests", lot=lot, replicates=[3, 4])
            sent("/sowings", lot=lot, method="row", seeds_sown=5)
            sent(f"/lots/{lot}/movements", reason="given", amount={"seeds": 1})


write_one_of_each()
