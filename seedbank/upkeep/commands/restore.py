"""``seedbank restore``: a collection made again from its backup."""

from pathlib import Path
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, settings_for
from seedbank.cli.screen import screen
from seedbank.common.clock import clock
from seedbank.upkeep.commands.backup import BACKUPS, told
from seedbank.upkeep.restore import restore


def run(
    file: Annotated[Path, typer.Argument(help="The backup: a file that seedbank backup made.")],
    database: DatabaseOption = None,
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Replace a collection; what is there is backed up first."),
    ] = False,
) -> None:
    """Make the collection what a backup holds; the service must be stopped meanwhile."""
    settings = settings_for(database)
    done = restore(
        file,
        settings.database_url,
        replace=replace,
        backups=settings.backup_folder or BACKUPS,
        now=clock(),
    )
    if done.replaced is not None:
        before = f"What was there is backed up in {done.replaced.file}: {told(done.replaced)}."
        screen().print(before, soft_wrap=True)
    if done.set_aside is not None:
        aside = f"What was there is damaged; it is kept as it is in {done.set_aside}."
        screen().print(aside, soft_wrap=True)
    screen().print(
        f"Restored from {file}: {done.rows:,} rows of {len(done.tables)} tables, the same as in "
        "the backup.",
        soft_wrap=True,
    )
