"""``seedbank import``: a folder of CSV files, an archive or a sheet, all of it or nothing."""

from pathlib import Path
from typing import Annotated

import typer
from pydantic import TypeAdapter

from seedbank.cli.command_context import DatabaseOption, JsonOption, settings_for
from seedbank.cli.form_options import fill_form
from seedbank.cli.screen import bar, screen, table, words
from seedbank.common.errors import Refused
from seedbank.database.transaction import tried
from seedbank.interchange.descriptors.command import take_in_file
from seedbank.interchange.folder.containers import export_in, folder_in, holds_export
from seedbank.interchange.folder.import_archive import ArchiveReport, import_archive
from seedbank.interchange.folder.import_collection import ImportReport, import_collection
from seedbank.interchange.spreadsheet.command import (
    SheetOptions,
    is_sheet,
    show_or_take_in,
    spreadsheet_of,
)
from seedbank.upkeep.command_session import Opened, opened

DryRunOption = Annotated[
    bool, typer.Option("--dry-run", help="Only see whether it could be taken in; keep nothing.")
]


@fill_form
def run(
    folder: Annotated[
        Path,
        typer.Argument(
            help="Your own spreadsheet (.csv, .xlsx, .ods), a folder of CSV files as in demo_data/ "
            "or a zip of them, an archive from export, or a CSV file of passport descriptors."
        ),
    ],
    sheet: SheetOptions,
    database: DatabaseOption = None,
    dry_run: DryRunOption = False,
    json: JsonOption = False,
) -> None:
    """Take in a collection written down in CSV files, all of it or nothing.

    Your own spreadsheet is only shown as it was read, unless you say --yes.
    """
    if is_sheet(folder):
        yes = sheet.yes and not dry_run
        form = spreadsheet_of(folder, sheet)
        show_or_take_in(form, database=database, yes=yes, json=json)
        return
    if folder.is_file() and folder.suffix.lower() == ".csv":
        take_in_file(folder, database=database, dry_run=dry_run, json=json)
        return
    if not folder.exists():
        raise Refused("not-a-folder", "folder", str(folder))
    if holds_export(folder):
        take_in_archive(folder, database=database, dry_run=dry_run, json=json)
        return
    with (
        folder_in(folder) as files,
        opened(settings_for(database), begins=True, keeps=not dry_run) as collection,
        tried(collection.session, dry_run=dry_run),
    ):
        report = take_in(collection, files)
    if json:
        print(TypeAdapter(ImportReport).dump_json(report, indent=2).decode())
        return
    code = "folder-could-be-taken-in" if dry_run else "folder-taken-in"
    screen().print(words(code, folder=str(folder)))
    show_report(report)


def take_in(collection: Opened, folder: Path) -> ImportReport:
    """Import with a progress bar. Raises ImportRefused."""
    with bar(words("taking-in", choice="folder")) as tell:
        return import_collection(collection.session, folder, collection.now, tell)


def show_report(report: ImportReport) -> None:
    """How many of each."""
    counts = TypeAdapter(ImportReport).dump_python(report)
    table(("", "added"), [(name, str(number)) for name, number in counts.items()], numbers=1)


def take_in_archive(file: Path, *, database: str | None, dry_run: bool, json: bool) -> None:
    """Take it in and say how much it was. Raises ArchiveRefused, Conflict."""
    with (
        opened(settings_for(database), begins=True, keeps=not dry_run) as collection,
        export_in(file) as brought,
        bar(words("taking-in", choice="archive")) as tell,
    ):
        report = import_archive(
            collection.session, brought, name=file.name, dry_run=dry_run, on_progress=tell
        )
    if json:
        print(TypeAdapter(ArchiveReport).dump_json(report, indent=2).decode())
        return
    code = "archive-could-be-taken-in" if dry_run else "archive-taken-in"
    screen().print(words(code, file=str(file), made=str(report.made_at)))
    table(("", "rows"), [(name, str(rows)) for name, rows in report.rows.items()], numbers=1)
