"""``seedbank import FILE.zip``: an exported collection, zip or folder, into an empty one."""

from pathlib import Path
from typing import Annotated

import typer
from pydantic import TypeAdapter

from seedbank.cli.command_context import settings_for
from seedbank.cli.screen import bar, screen, table, words
from seedbank.interchange.archive.containers import export_in
from seedbank.interchange.archive.import_archive import ArchiveReport, import_archive
from seedbank.upkeep.command_session import opened

DryRunOption = Annotated[
    bool, typer.Option("--dry-run", help="Only see whether it could be taken in; keep nothing.")
]


def take_in_archive(file: Path, *, database: str | None, dry_run: bool, json: bool) -> None:
    """Take it in and say how much it was. Raises ArchiveRefused, Conflict."""
    with (
        opened(settings_for(database), begins=True, keeps=not dry_run) as collection,
        export_in(file) as brought,
        bar(words("taking-in", choice="archive")) as tell,
    ):
        report = import_archive(
            collection.session, brought, name=file.name, dry_run=dry_run, on_progress=tell
        )
    if json:
        print(TypeAdapter(ArchiveReport).dump_json(report, indent=2).decode())
        return
    code = "archive-could-be-taken-in" if dry_run else "archive-taken-in"
    screen().print(words(code, file=str(file), made=str(report.made_at)))
    table(("", "rows"), [(name, str(rows)) for name, rows in report.rows.items()], numbers=1)
