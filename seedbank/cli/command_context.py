"""What every command is asked: which database, and whether to answer as JSON."""

from pathlib import Path
from typing import Annotated

import typer

from seedbank.settings import Settings

DatabaseOption = Annotated[
    str | None,
    typer.Option(
        help="An SQLite file, or an address like postgresql://user@host/name. "
        "Left out: SEEDBANK_DATABASE_URL, or seedbank.sqlite here."
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]


def settings_for(database: str | None, **given: object) -> Settings:
    """Settings from the environment, with what the command line gives put over them."""
    if database is not None:
        given["database_url"] = database if "://" in database else file_url(Path(database))
    return Settings.model_validate(
        {**Settings().model_dump(), **{k: v for k, v in given.items() if v is not None}}
    )


def file_url(path: Path) -> str:
    """The address of an SQLite file."""
    return f"sqlite:///{path}"
