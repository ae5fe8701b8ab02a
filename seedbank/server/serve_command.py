"""``seedbank serve``: the collection over HTTP."""

from typing import Annotated

import typer

from seedbank.cli.command_context import DatabaseOption, settings_for
from seedbank.server.serving import serve

PortOption = Annotated[
    int | None, typer.Option(min=0, max=65535, help="Left out: SEEDBANK_PORT, or 8000. 0: any.")
]


def run(
    database: DatabaseOption = None,
    host: Annotated[
        str | None,
        typer.Option(help="Left out: SEEDBANK_HOST, or this machine alone (127.0.0.1)."),
    ] = None,
    port: PortOption = None,
) -> None:
    """Serve your collection over HTTP."""
    serve(settings_for(database, host=host, port=port))
