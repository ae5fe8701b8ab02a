"""Settings, from the environment (``SEEDBANK_…``) or given outright."""

from datetime import date

from pydantic import Field
from pydantic_settings import BaseSettings, SettingsConfigDict


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
