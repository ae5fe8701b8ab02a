"""``seedbank``: its commands, put together."""

from typing import Annotated

import typer

from seedbank import __version__
from seedbank.cli.command_table import ALIASES, COMMANDS
from seedbank.cli.commands import HELP_OPTIONS, group_of

app = typer.Typer(
    cls=group_of(COMMANDS, ALIASES),
    help="Seed lots, germination tests and sowing advice for a kitchen gardener.",
    context_settings={"help_option_names": list(HELP_OPTIONS)},
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _tell_version(asked: bool) -> None:
    if asked:
        typer.echo(f"seedbank {__version__}")
        raise typer.Exit


@app.callback()
def _seedbank(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_tell_version, is_eager=True, help="Tell the version."),
    ] = False,
) -> None:
    """What is asked of every command."""
