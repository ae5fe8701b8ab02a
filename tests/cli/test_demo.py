import json
import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest

from tests.signals import heeds_ctrl_c

ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+")
COMMAND = Path(sys.executable).parent / "seedbank"


@pytest.fixture(params=[signal.SIGINT, signal.SIGTERM], ids=["interrupted", "terminated"])
def served(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """``seedbank demo`` as anyone starts it, on a free port; its address once it is told.

    Stopped either way it leaves nothing behind.
    """
    environment = {k: v for k, v in os.environ.items() if not k.startswith("SEEDBANK_")}
    with (
        (tmp_path / "out").open("w") as out,
        subprocess.Popen(
            [COMMAND, "demo", "--port", "0"],
            stdout=out,
            stderr=subprocess.PIPE,
            text=True,
            env=environment | {"TMPDIR": str(tmp_path)},
            preexec_fn=heeds_ctrl_c,
        ) as process,
    ):
        assert process.stderr is not None
        told = ""
        for line in process.stderr:
            told += line
            if found := ADDRESS.search(line):
                yield found[0]
                break
        else:
            pytest.fail(f"no address was told: {told}")
        process.send_signal(request.param)
    assert process.returncode == 128 + request.param
    assert list(tmp_path.glob("seedbank-demo-*")) == []


def test_the_demo_says_what_needs_doing_and_answers_over_http(served: str, tmp_path: Path) -> None:
    answer = httpx2.get(f"{served}/seed-to-save", params={"other_keepers": "none"}, timeout=60)
    assert answer.status_code == 200
    rare = {one["variety"]["name"] for one in answer.json()["items"]}
    assert {"Fenwythe Greyhood", "Brackwin Dapple"} <= rare
    printed = (tmp_path / "out").read_text()
    assert "What needs doing in 2027" in printed
    assert "Save seed, the rarest first" in printed


def test_the_year_is_printed_for_programs_too(ask_demo) -> None:
    said = ask_demo("demo", "--no-serve", "--json")
    assert said.code == 0
    year = json.loads(said.out)
    assert year["on"] == "2027-02-20"
    verdicts = {one["verdict"] for one in year["verdicts"]}
    assert {"sow-as-usual", "towel-first", "grow-for-seed", "can-go"} <= verdicts
    keepers = [one["other_keepers"] for one in year["seed_to_save"]["items"]]
    assert keepers == sorted(keepers, key=["none", "few", "many"].index)


def test_how_alive_a_lot_is_is_never_told_without_its_interval(ask_demo) -> None:
    out = ask_demo("demo", "--no-serve").out
    tables = out[out.index("Towel first (") : out.index("are sown as usual")]
    alive = re.findall(r"\d+ % \(\d+ to \d+\)$", tables, re.MULTILINE)
    titled = sum(min(int(n), 8) for n in re.findall(r"\((\d+)\)$", tables, re.MULTILINE))
    assert len(alive) == titled > 0


def test_a_file_that_holds_a_collection_is_used_as_it_is(ask_demo) -> None:
    said = ask_demo("demo", "--no-serve")
    assert said.code == 0
    assert "holds a collection already" in said.err


def test_every_command_names_itself(type_in) -> None:
    said = type_in("--help")
    assert said.code == 0
    for name in ("demo", "serve", "import", "test", "sowing", "list"):
        assert re.search(rf"^  {name} ", said.out, re.MULTILINE)
    assert type_in().out == said.out
    assert shutil.which("seedbank", path=COMMAND.parent)
