"""``seedbank export``: the whole collection written into one archive of CSV files."""

import os
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Annotated

import typer
from pydantic import TypeAdapter

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.screen import screen, table, words
from seedbank.common.errors import Refused
from seedbank.interchange.folder.export_archive import Manifest, export_collection
from seedbank.upkeep.command_session import Opened, opened


def run(
    file: Annotated[Path, typer.Argument(help="The archive to write, a new file like all.zip.")],
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Write everything in the collection into one zip archive of CSV files."""
    if file.exists():
        raise Refused("file-exists", "file", str(file))
    if not file.parent.is_dir():
        raise Refused("folder-missing", "file", str(file), folder=str(file.parent))
    with opened(settings_for(database), writes=False) as collection:
        manifest = _write(file, collection)
    if json:
        print(TypeAdapter(Manifest).dump_json(manifest, indent=2).decode())
        return
    screen().print(words("exported", file=str(file), bytes=file.stat().st_size))
    rows = [(entry.name, str(entry.rows)) for entry in manifest.files if entry.table]
    table(("", "rows"), rows, numbers=1)


def _write(file: Path, collection: Opened) -> Manifest:
    """Under another name first, so that a half-written archive never bears the name asked for."""
    number, part = tempfile.mkstemp(prefix=f".{file.name}.", dir=file.parent)
    try:
        with os.fdopen(number, "wb") as out:
            manifest = export_collection(collection.session, out, now=collection.now)
            out.flush()
            os.fsync(out.fileno())
        os.link(part, file)  # unlike a rename it refuses to overwrite
    finally:
        with suppress(FileNotFoundError):
            os.unlink(part)
    return manifest
