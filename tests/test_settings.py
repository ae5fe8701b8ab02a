"""Settings come from the environment, and their defaults serve a fresh machine."""

from datetime import date

import pytest
from pydantic import ValidationError

from seedbank.settings import Settings


def test_a_fresh_machine_keeps_its_collection_in_one_file_and_serves_itself_only(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for name in ("DATABASE_URL", "HOST", "PORT", "TODAY"):
        monkeypatch.delenv(f"SEEDBANK_{name}", raising=False)
    settings = Settings()
    assert settings.database_url == "sqlite:///seedbank.sqlite"
    assert (settings.host, settings.port, settings.today) == ("127.0.0.1", 8000, None)


def test_the_environment_decides(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEEDBANK_DATABASE_URL", "sqlite:///elsewhere.sqlite")
    monkeypatch.setenv("SEEDBANK_TODAY", "2027-03-01")
    monkeypatch.setenv("SEEDBANK_PORT", "8123")
    settings = Settings()
    assert settings.database_url == "sqlite:///elsewhere.sqlite"
    assert (settings.port, settings.today) == (8123, date(2027, 3, 1))


def test_a_setting_that_makes_no_sense_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SEEDBANK_PORT", "70000")
    with pytest.raises(ValidationError, match="port"):
        Settings()
