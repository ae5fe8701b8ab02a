"""``seedbank restore``: a collection made again from its backup."""

import json as json_text
from pathlib import Path
from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import screen, words
from seedbank.common.clock import clock
from seedbank.upkeep.commands.backup import BACKUPS, backup_document, backup_values
from seedbank.upkeep.restore import restore


def run(
    file: Annotated[Path, typer.Argument(help="The backup: a file that seedbank backup made.")],
    database: DatabaseOption = None,
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Replace a collection; what is there is backed up first."),
    ] = False,
    json: JsonOption = False,
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
    if json:
        replaced = done.replaced and backup_document(done.replaced)
        aside = done.set_aside and str(done.set_aside)
        numbers = {"rows": done.rows, "tables": len(done.tables)}
        document = {"file": str(file), **numbers, "replaced": replaced, "set_aside": aside}
        print(json_text.dumps(document, indent=2))
        return
    if done.replaced is not None:
        screen().print(words("replaced-backed-up", **backup_values(done.replaced)), soft_wrap=True)
    if done.set_aside is not None:
        screen().print(words("damaged-set-aside", file=str(done.set_aside)), soft_wrap=True)
    restored = words("restored", file=str(file), rows=done.rows, tables=len(done.tables))
    screen().print(restored, soft_wrap=True)
