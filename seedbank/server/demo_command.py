"""``seedbank demo``: an invented collection to look at, on a day of its own."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated

import typer

import seedbank
from seedbank.cli.command_context import JsonOption, file_url, settings_for
from seedbank.cli.screen import aside, bar, words
from seedbank.database.queries import Paging
from seedbank.interchange.folder.commands.import_files import take_in
from seedbank.kinds.tables import VarietyFilter
from seedbank.lots.show_lots import list_varieties
from seedbank.season.commands.year import look_at_year, show_year
from seedbank.server.serve_command import PortOption
from seedbank.server.serving import serve
from seedbank.upkeep.command_session import Opened, opened

DEMO_DAY = date(2027, 2, 20)
"""The story ends on this day, so demonstrations are on it whenever they are run."""

FileOption = Annotated[
    Path | None, typer.Option(help="Keep the collection in this file; left out: for now only.")
]
ServeOption = Annotated[bool, typer.Option("--serve/--no-serve", help="Serve it afterwards.")]


def run(
    file: FileOption = None,
    port: PortOption = None,
    serving: ServeOption = True,
    json: JsonOption = False,
) -> None:
    """Load the demonstration collection, say what needs doing this year, and serve it."""
    with _place(file) as database:
        settings = settings_for(file_url(database), port=port, today=DEMO_DAY)
        with opened(settings, begins=True) as collection:
            _fill(collection, database)
            with bar(words("judging-every-lot")):
                year = look_at_year(collection)
        if json:
            print(year.model_dump_json(indent=2))
        else:
            show_year(year)
        if serving:
            serve(settings)


def demo_folder() -> Path:
    """The demonstration's files: packed with the program, or beside it in a clone."""
    packed = Path(seedbank.__file__).parent / "_demo_data"
    return packed if packed.is_dir() else packed.parents[1] / "demo_data"


@contextmanager
def _place(file: Path | None) -> Iterator[Path]:
    if file is not None:
        yield file
        return
    with TemporaryDirectory(prefix="seedbank-demo-") as folder:
        yield Path(folder) / "demo.sqlite"


def _fill(collection: Opened, database: Path) -> None:
    """Take in the demonstration, unless this file holds a collection already."""
    first = list_varieties(collection.session, VarietyFilter(), Paging(1))
    collection.session.rollback()
    if first.items:
        aside(words("demo-there-already", file=str(database)))
    else:
        take_in(collection, demo_folder())
