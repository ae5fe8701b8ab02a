"""``seedbank backup``: everything in one file, proved, while the collection is in use."""

from pathlib import Path
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, settings_for
from seedbank.cli.screen import screen
from seedbank.common.clock import clock
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
) -> None:
    """Back the collection up into one file, also while it is served, and prove the backup."""
    settings = settings_for(database)
    with looked_into(settings) as engine:
        made = back_up(engine, to or settings.backup_folder or BACKUPS, now=clock())
    screen().print(f"Backed up to {made.file}: {told(made)}.", soft_wrap=True)
    if made.report is None:
        screen().print(f"It has the older schema {made.revision}, so it was compared, not checked.")
    elif made.report.holds:
        screen().print(
            f"It is the same as the collection, and its {made.report.claims} claims hold."
        )
    else:
        tell_faults(["The collection has faults, and so has its backup:", *made.faults])
        raise typer.Exit(FAULTY)


def told(made: Backup) -> str:
    """How much is in it."""
    return f"{made.rows:,} rows of {len(made.tables)} tables, {made.bytes / 1e6:,.1f} MB"
