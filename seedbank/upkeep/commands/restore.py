"""``seedbank restore``: a collection made again from its backup."""

from pathlib import Path
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, settings_for
from seedbank.cli.screen import screen, words
from seedbank.common.clock import clock
from seedbank.upkeep.commands.backup import BACKUPS, backup_values
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
        screen().print(words("replaced-backed-up", **backup_values(done.replaced)), soft_wrap=True)
    if done.set_aside is not None:
        screen().print(words("damaged-set-aside", file=str(done.set_aside)), soft_wrap=True)
    restored = words("restored", file=str(file), rows=done.rows, tables=len(done.tables))
    screen().print(restored, soft_wrap=True)
