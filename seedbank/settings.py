"""Settings, from the environment (``SEEDBANK_…``) or given outright."""

from datetime import date
from enum import StrEnum
from pathlib import Path

from pydantic import Field
from pydantic_settings import BaseSettings, SettingsConfigDict


class Units(StrEnum):
    """Units that pages are written in; everything is kept in metric ones."""

    METRIC = "metric"
    US = "us"


class Settings(BaseSettings):
    """Where the collection is kept, where it is served, and what day it is."""

    model_config = SettingsConfigDict(env_prefix="SEEDBANK_", frozen=True)

    database_url: str = Field(
        default="sqlite:///seedbank.sqlite",
        description="sqlite:///path for one file, or postgresql://user@host/name",
    )
    host: str = Field(default="127.0.0.1", description="address to serve on")
    port: int = Field(default=8000, ge=0, le=65535, description="port to serve on")
    today: date | None = Field(
        default=None, description="the day to work on, for demonstrations; left out: today"
    )
    units: Units = Field(
        default=Units.METRIC,
        description="units of the pages until a reader chooses: metric, or us (inches, feet, "
        "ounces, °F)",
    )
    base_url: str | None = Field(
        default=None,
        pattern=r"^https?://[^\s/?#]+$",
        description="address at which phones reach this service, for the labels' QR codes; left "
        "out: the address the page was asked at",
    )
    allowed_hosts: tuple[str, ...] = Field(
        default=(),
        description='further names this service is reached by, as JSON: ["seeds.example"]',
    )
    require_tokens: bool = Field(
        default=False,
        description="ask for a token on this machine's own address too, as behind a proxy",
    )
    requests_a_minute: int = Field(
        default=1200,
        ge=1,
        le=1_000_000,
        description="most requests a minute of one token's holder, where tokens are asked for",
    )
    max_body_bytes: int = Field(
        default=2_000_000, ge=10_000, le=1_000_000_000, description="largest request taken"
    )
    backup_folder: Path | None = Field(
        default=None,
        description="folder that the service backs the collection up into by itself; left out: it "
        "does not, and seedbank backup writes to the folder backups here",
    )
    backup_every_hours: float = Field(
        default=24.0, gt=0, le=8760, description="hours from one such backup to the next"
    )
    backups_kept: int = Field(
        default=14, ge=1, le=100_000, description="how many of them are kept, the newest"
    )
