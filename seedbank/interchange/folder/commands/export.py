"""``seedbank export``: the whole collection written into one archive of CSV files."""

from pathlib import Path
from typing import Annotated

import typer
from pydantic import TypeAdapter

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.new_file import check_new, new_file
from seedbank.cli.screen import screen, table, words
from seedbank.interchange.folder.export_archive import Manifest, export_collection
from seedbank.upkeep.command_session import opened


def run(
    file: Annotated[Path, typer.Argument(help="The archive to write, a new file like all.zip.")],
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Write everything in the collection into one zip archive of CSV files."""
    check_new(file, "file")
    with opened(settings_for(database), writes=False) as collection, new_file(file) as out:
        manifest = export_collection(collection.session, out, now=collection.now)
    if json:
        print(TypeAdapter(Manifest).dump_json(manifest, indent=2).decode())
        return
    screen().print(words("exported", file=str(file), bytes=file.stat().st_size))
    rows = [(entry.name, str(entry.rows)) for entry in manifest.files if entry.table]
    table(("", "rows"), rows, numbers=1)
