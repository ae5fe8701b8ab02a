"""A client that a public generator makes of the OpenAPI document does the three main jobs."""

import importlib
import json
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from types import ModuleType
from typing import Any, get_args, get_type_hints

import pytest
import uvicorn

from seedbank.server.api import create_app
from seedbank.settings import Settings

DOCUMENT = Path(__file__).parents[2] / "api_docs/openapi.json"
NAME = "seedbank_client"
WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The generated package; made without one warning, and imported without one."""
    folder = tmp_path_factory.mktemp("generated")
    command = [sys.executable, "-m", "openapi_python_client", "generate", "--meta", "none"]
    config = folder / "config.yml"
    # It would format what no one reads, and knows bytes by their general name only.
    known = "application/octet-stream"
    overrides = f"{{application/zip: {known}, {WORKBOOK}: {known}}}"
    config.write_text(f"post_hooks: []\ncontent_type_overrides: {overrides}\n")
    made = subprocess.run(
        [*command, "--path", DOCUMENT, "--output-path", folder / NAME, "--config", config],
        capture_output=True,
        text=True,
        check=True,
    )
    assert made.stdout.strip() == f"Generating {folder / NAME}"
    assert made.stderr == ""
    sys.path.insert(0, str(folder))
    try:
        yield importlib.import_module(NAME)
    finally:
        sys.path.remove(str(folder))
        for name in [name for name in sys.modules if name.split(".")[0] == NAME]:
            del sys.modules[name]


@pytest.fixture
def address(database_url: str) -> Iterator[str]:
    """A server on loopback, on an empty collection."""
    app = create_app(Settings(database_url=database_url, today=date(2027, 3, 1)))
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="warning"))
    running = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    running.start()
    while not server.started and running.is_alive():
        time.sleep(0.01)
    yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    server.should_exit = True
    running.join()
    listening.close()


def part(name: str) -> ModuleType:
    return importlib.import_module(f"{NAME}.{name}")


def test_the_client_has_every_operation(client: ModuleType) -> None:
    document = json.loads(DOCUMENT.read_text("utf-8"))
    wanted = sum(len(methods) for methods in document["paths"].values())
    folder = Path(str(client.__file__)).parent
    modules = [file for file in folder.glob("api/*/*.py") if file.name != "__init__.py"]
    assert len(modules) == wanted > 100
    for file in modules:
        part(f"api.{file.parent.name}.{file.stem}")


def test_the_three_main_jobs_are_done_through_the_client(client: Any, address: str) -> None:
    models = part("models")
    keys = iter(f"by-client-{number}" for number in range(99))
    with client.Client(base_url=address, raise_on_unexpected_status=True) as hand:

        def post(operation: str, form: Any) -> Any:
            return part(f"api.{operation}").sync(client=hand, body=form, idempotency_key=next(keys))

        variety = post(
            "varieties.varieties_add",
            models.VarietyCreate(
                kind="carrot",
                name="Purple Lantern",
                other_keepers=models.OtherKeepers.NONE,
                plants_wanted=40,
            ),
        )
        assert isinstance(variety, models.VarietyAnswer)
        lot = post(
            "lots.lots_take_in",
            models.LotCreate(
                variety_id=variety.id,
                origin=models.Origin.BOUGHT,
                harvest_year=2021,
                acquired_on=date(2021, 12, 1),
                amount=models.FirstAmount(seeds=300),
            ),
        )
        assert isinstance(lot, models.LotAnswer)

        test = post(
            "germination_tests.germination_tests_record_whole",
            models.TestRecord(
                lot=lot.code,
                started_on=date(2027, 2, 1),
                finished_on=date(2027, 2, 15),
                replicates=[models.ReplicateResult(seeds_set=50, normal=31, dead=19)],
            ),
        )
        assert isinstance(test, models.TestAnswer)
        assert test.finished_on == date(2027, 2, 15)
        assert test.evaluation.germination.pct == 62.0
        assert test.evaluation.germination.low_pct < 62.0 < test.evaluation.germination.high_pct

        advice = part("api.sowing_advice.sowing_advice_for_lot").sync(
            lot.code, client=hand, plants=40
        )
        assert isinstance(advice, models.SowingAdviceAnswer)
        assert 40 < advice.seeds <= 250

        save = part("api.advice.advice_seed_to_save").sync(client=hand)
        assert isinstance(save, models.SeedToSaveAnswer)
        assert [one.variety.name for one in save.items] == ["Purple Lantern"]

        missing = part("api.varieties.varieties_show").sync(999, client=hand)
        assert isinstance(missing, models.Problem)
        assert missing.status == 404


@pytest.mark.parametrize(
    "name", ["TestAnswer", "SowingAdviceAnswer", "SeedToSaveAnswer", "LotAnswer", "VerdictAnswer"]
)
@pytest.mark.usefixtures("client")
def test_the_main_answers_are_typed_to_the_last_field(name: str) -> None:
    models = part("models")
    seen: set[type] = set()

    def typed(model: type) -> None:
        if model in seen:
            return
        seen.add(model)
        module = sys.modules[model.__module__]
        names = vars(models) | vars(module)
        for field, hint in get_type_hints(model, localns=names).items():
            if field == "additional_properties":
                continue
            parts = [hint]
            while parts:
                one = parts.pop()
                assert one is not Any, f"{model.__name__}.{field}"
                parts.extend(get_args(one))
                if isinstance(one, type) and one.__module__.startswith(NAME):
                    typed(one)

    typed(getattr(models, name))
    assert len(seen) > 2
