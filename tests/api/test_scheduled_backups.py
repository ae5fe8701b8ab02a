"""The service backs itself up where a folder is set, and not otherwise."""

import shutil
import threading
from pathlib import Path
from time import monotonic, sleep

import pytest
from fastapi.testclient import TestClient

from seedbank.server.api import create_app
from seedbank.settings import Settings
from seedbank.upkeep.back_up import good_backups


def test_a_service_with_a_backup_folder_fills_it(database_url: str, tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    with TestClient(create_app(Settings(database_url=database_url, backup_folder=kept))):
        deadline = monotonic() + 120
        while not good_backups(kept) and monotonic() < deadline:
            sleep(0.1)
    assert len(good_backups(kept)) == 1


def test_a_service_without_one_makes_none(
    garden_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    shutil.copy(garden_file, "seedbank.sqlite")
    with TestClient(create_app(Settings(database_url="sqlite:///seedbank.sqlite"))):
        assert "backups" not in {thread.name for thread in threading.enumerate()}
    assert {one.name.split("-")[0] for one in tmp_path.iterdir()} == {"seedbank.sqlite"}
