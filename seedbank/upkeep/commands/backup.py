"""``seedbank backup``: everything in one file, proved, while the collection is in use."""

import json as json_text
from pathlib import Path
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import screen, words
from seedbank.common.clock import clock
from seedbank.science.quantities import Value
from seedbank.upkeep.back_up import Backup, back_up
from seedbank.upkeep.command_session import looked_into
from seedbank.upkeep.commands.check import FAULTY, tell_faults

BACKUPS = Path("backups")


def run(
    database: DatabaseOption = None,
    to: Annotated[
        Path | None,
        typer.Option(
            help="A folder, or a file that isn't there yet. Left out: SEEDBANK_BACKUP_FOLDER, or "
            "the folder backups here."
        ),
    ] = None,
    json: JsonOption = False,
) -> None:
    """Back the collection up into one file, also while it is served, and prove the backup."""
    settings = settings_for(database)
    with looked_into(settings) as engine:
        made = back_up(engine, to or settings.backup_folder or BACKUPS, now=clock())
    if json:
        print(json_text.dumps(backup_document(made), indent=2))
        if made.report is not None and not made.report.holds:
            raise typer.Exit(FAULTY)
        return
    screen().print(words("backed-up", **backup_values(made)), soft_wrap=True)
    if made.report is None:
        screen().print(words("backup-compared", revision=made.revision))
    elif made.report.holds:
        screen().print(words("backup-checked", claims=made.report.claims))
    else:
        tell_faults([words("backup-faulty"), *made.faults])
        raise typer.Exit(FAULTY)


def backup_values(made: Backup) -> dict[str, Value]:
    """Where it is, and how much is in it."""
    megabytes = made.bytes / 1e6
    return {"file": str(made.file), "rows": made.rows, "tables": len(made.tables), "mb": megabytes}


def backup_document(made: Backup) -> dict[str, object]:
    """The same for programs; ``holds`` is null where only sameness could be proved."""
    holds = None if made.report is None else made.report.holds
    tables = len(made.tables)
    numbers = {"rows": made.rows, "tables": tables, "bytes": made.bytes}
    return {"file": str(made.file), "revision": made.revision, "holds": holds, **numbers}
