"""``seedbank export``: the whole collection written into one archive of CSV files."""

from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer
from pydantic import TypeAdapter

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.new_file import check_new, new_file
from seedbank.cli.screen import screen, table, words
from seedbank.common.errors import Refused
from seedbank.interchange.folder.export_archive import Manifest, export_collection
from seedbank.upkeep.command_session import opened

FileArgument = Annotated[
    Path | None, typer.Argument(help="The archive to write, a new file like all.zip.")
]
WorkbookOption = Annotated[
    Path | None,
    typer.Option(help="Or a workbook of lots, tests and sowings, a new file like seed.xlsx."),
]


def run(
    file: FileArgument = None,
    workbook: WorkbookOption = None,
    database: DatabaseOption = None,
    json: JsonOption = False,
) -> None:
    """Write everything in the collection into one zip archive of CSV files, or a workbook."""
    if (file is None) == (workbook is None):
        raise Refused("archive-or-workbook", "file", None)
    if workbook is not None:
        _write_workbook(workbook, database, json)
        return
    assert file is not None  # one of them is named
    check_new(file, "file")
    with opened(settings_for(database), writes=False) as collection, new_file(file, "file") as out:
        manifest = export_collection(collection.session, out, now=collection.now)
    if json:
        print(TypeAdapter(Manifest).dump_json(manifest, indent=2).decode())
        return
    screen().print(words("exported", file=str(file), bytes=file.stat().st_size))
    rows = [(entry.name, str(entry.rows)) for entry in manifest.files if entry.table]
    table(("", "rows"), rows, numbers=1)


def _write_workbook(file: Path, database: str | None, json: bool) -> None:
    from seedbank.interchange.workbook.write_workbook import WorkbookReport, write_workbook

    check_new(file, "workbook")
    with (
        opened(settings_for(database), writes=False) as collection,
        new_file(file, "workbook") as out,
    ):
        session, today, now = collection.session, collection.today, collection.now
        report = write_workbook(session, out, today=today, now=now)
    if json:
        print(TypeAdapter(WorkbookReport).dump_json(report, indent=2).decode())
        return
    screen().print(words("exported", file=str(file), bytes=file.stat().st_size))
    table(("", "rows"), [(name, str(rows)) for name, rows in asdict(report).items()], numbers=1)
